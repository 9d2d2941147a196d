package reach

import (
	"context"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"rigtally/web/webtest/acmetest"
)

// byAuthority opens a public name with a certificate of a test's authority, which may look over plain http alone. Tests
// that run side by side need names of their own, for certmagic keeps what authorities ask of a name once a process.
func byAuthority(t *testing.T, name string, httpAlone bool, lasting, lookEvery time.Duration) (*opened, *acmetest.Authority, Settings) {
	t.Helper()
	pages, plain := freePort(t), freePort(t)
	looks := acmetest.Options{HTTPPort: plain, TLSPort: pages, Lasting: lasting}
	if httpAlone {
		looks.TLSPort = plain // where nobody speaks TLS
	}
	authority := acmetest.Start(t, looks)
	s := Settings{
		Address: "https://" + name, Listen: "127.0.0.1:" + strconv.Itoa(pages), ListenHTTP: "127.0.0.1:" + strconv.Itoa(plain),
		Directory: authority.Directory, Root: authority.TrustFile, Dir: filepath.Join(t.TempDir(), "certificates"), lookEvery: lookEvery,
	}
	return open(t, s), authority, s
}

func TestACMECertificate(t *testing.T) {
	t.Parallel()
	o, authority, s := byAuthority(t, "journal.example.org", false, 0, 0)
	client := o.visitor(authority.Root)

	page := o.get(client, "https://journal.example.org/")
	if page.StatusCode != http.StatusOK || !strings.Contains(page.text, "rigtally") || page.ProtoMajor != 2 {
		t.Errorf("the first page: %s, HTTP/%d", page.Status, page.ProtoMajor)
	}
	if got := page.Header.Get("Strict-Transport-Security"); got != "max-age=31536000" {
		t.Errorf("Strict-Transport-Security %q", got)
	}
	if got := page.Header.Get("Content-Security-Policy"); !strings.Contains(got, "default-src 'none'") {
		t.Errorf("Content-Security-Policy %q", got)
	}

	// A name that another site points at this machine, and the machine's own, are not the journal's.
	for _, host := range []string{"evil.example", "journal.example.org.evil.example", "127.0.0.1", "localhost", "journal.example.org:8443"} {
		if got := o.get(client, "https://journal.example.org/", asHost(host)); got.StatusCode != http.StatusMisdirectedRequest {
			t.Errorf("host %q: %s", host, got.Status)
		}
	}
	if _, err := client.Get("https://evil.example/"); err == nil {
		t.Error("a certificate was shown to a visitor of another name")
	}

	// Plain http leads to https, under this name alone, and shows nothing.
	moved := o.get(client, "http://journal.example.org/sessions?by=day")
	if moved.StatusCode != http.StatusPermanentRedirect || moved.Header.Get("Location") != "https://journal.example.org/sessions?by=day" {
		t.Errorf("plain http: %s to %q", moved.Status, moved.Header.Get("Location"))
	}
	if got := o.get(client, "http://journal.example.org/", asHost("evil.example")); got.StatusCode != http.StatusMisdirectedRequest || got.Header.Get("Location") != "" {
		t.Errorf("plain http under another name: %s to %q", got.Status, got.Header.Get("Location"))
	}

	err := filepath.WalkDir(s.Dir, func(name string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err == nil && info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s may be read by others: %v", name, info.Mode())
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}

func TestACMERenewsWithoutRestart(t *testing.T) {
	t.Parallel()
	o, authority, _ := byAuthority(t, "renewed.example.org", false, 20*time.Second, time.Second)
	shown := map[string]bool{}
	for end := time.Now().Add(limit); len(shown) < 2; time.Sleep(100 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("the certificate was not renewed; shown were %v", shown)
		}
		client := o.visitor(authority.Root) // a new connection each time
		res, err := client.Get("https://renewed.example.org/")
		if err != nil {
			continue // on a machine so busy that the certificate ended first
		}
		if shown[res.TLS.PeerCertificates[0].SerialNumber.String()] = true; res.StatusCode != http.StatusOK {
			t.Error(res.Status)
		}
		_ = res.Body.Close()
	}
}

func TestACMEOverPlainHTTP(t *testing.T) {
	t.Parallel()
	o, authority, _ := byAuthority(t, "plain.example.org", true, 0, 0)
	if page := o.get(o.visitor(authority.Root), "https://plain.example.org/"); page.StatusCode != http.StatusOK {
		t.Error(page.Status)
	}
}

// An authority that does not find the program says why, and the way in waits for a better time.
func TestACMERefused(t *testing.T) {
	t.Parallel()
	nobody := freePort(t)
	authority := acmetest.Start(t, acmetest.Options{HTTPPort: nobody, TLSPort: nobody})
	said := make(lines, 100)
	w, err := Open(t.Context(), Settings{
		Address: "https://refused.example.org", Listen: "127.0.0.1:0", ListenHTTP: "127.0.0.1:0",
		Directory: authority.Directory, Root: authority.TrustFile, Dir: t.TempDir(),
	}, welcome, slog.New(slog.NewTextHandler(said, nil)))
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	pages := func(ctx context.Context, _ net.Listener) error { <-ctx.Done(); return nil }
	go func() {
		ended <- w.Serve(ctx, pages, func() { t.Error("told that the pages are there") })
	}()
	for late := time.After(limit); ; {
		select {
		case line := <-said:
			if !strings.Contains(line, "no certificate came; check that the name leads to this machine") || !strings.Contains(line, "refused.example.org") {
				continue
			}
		case err := <-ended:
			t.Fatalf("the way in ended: %v", err)
		case <-late:
			t.Fatal("nothing was said")
		}
		break
	}
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}

// lines are what was logged.
type lines chan string

func (l lines) Write(line []byte) (int, error) {
	select {
	case l <- string(line):
	default:
	}
	return len(line), nil
}
