package browsertest

import (
	"context"
	"encoding/pem"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"rigtally/web"
	"rigtally/web/door"
	"rigtally/web/reach"
	"rigtally/web/webtest"
	"rigtally/web/webtest/acmetest"
)

// public is a journal that others reach, by a certificate of an authority of the test's own.
type public struct {
	address string
	port    int    // on this machine
	rules   string // how a browser finds it
	root    []byte
}

// servePublic serves a site at a public name until the test ends, behind a door.
func servePublic(t *testing.T, s *webtest.Site, name string, doorAt func(web.Place) door.Door) public {
	t.Helper()
	pages, plain := freePort(t), freePort(t)
	authority := acmetest.Start(t, acmetest.Options{HTTPPort: plain, TLSPort: pages})
	way := serveOthers(t, s, reach.Settings{
		Address: "https://" + name, Listen: "127.0.0.1:" + strconv.Itoa(pages), ListenHTTP: "127.0.0.1:" + strconv.Itoa(plain),
		Directory: authority.Directory, Root: authority.TrustFile, Dir: t.TempDir(),
	}, doorAt)
	return public{way.Place.Origin, pages, leading(name, pages), authority.Root}
}

// leading is how a browser finds a name at a port of this machine, and nothing else anywhere.
func leading(name string, port int) string {
	return fmt.Sprintf("MAP %s:443 127.0.0.1:%d, MAP * ~NOTFOUND", name, port)
}

// everybody is a door for where who comes in is not what is tried.
func everybody(s *webtest.Site) func(web.Place) door.Door {
	return func(web.Place) door.Door { return door.Open{Outfit: s.Store.OutfitID(), Who: s.Store.Who()} }
}

// serveOthers serves a site in a way that is open to others, until the test ends, behind a door.
func serveOthers(t *testing.T, s *webtest.Site, settings reach.Settings, doorAt func(web.Place) door.Door) *reach.Way {
	t.Helper()
	findChromium(t)
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	way, err := reach.Open(t.Context(), settings, func(context.Context) error { return nil }, log)
	if err != nil {
		t.Fatal(err)
	}
	server, err := web.New(s.Store, web.Options{Logger: log, Place: way.Place, Address: way.Place.Origin, Door: doorAt(way.Place)})
	if err != nil {
		way.Close()
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ended, told := make(chan error, 1), make(chan struct{})
	go func() { ended <- way.Serve(ctx, server.Serve, func() { close(told) }) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Errorf("the way in ended with %v", err)
		}
	})
	select {
	case <-told:
	case <-time.After(patience):
		t.Fatal("no certificate came")
	}
	return way
}

func freePort(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}

// open opens a browser of its own, as on a device that trusts the authority and finds the name.
func (p public) open(t *testing.T, on screen) context.Context {
	t.Helper()
	path, err := exec.LookPath("certutil")
	if err != nil {
		t.Skip("no certutil on PATH (libnss3-tools): what a browser does over https is left out; install it to try that")
	}
	home := t.TempDir()
	root, store := filepath.Join(home, "root.pem"), filepath.Join(home, ".pki", "nssdb")
	if err := os.WriteFile(root, p.root, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(store, 0o700); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"-N", "--empty-password"}, {"-A", "-t", "C,,", "-n", "authority of the test", "-i", root}} {
		if out, err := exec.CommandContext(t.Context(), path, append(args, "-d", "sql:"+store)...).CombinedOutput(); err != nil {
			t.Fatalf("certutil: %v: %s", err, out)
		}
	}
	options := append(chromium(findChromium(t)), chromedp.Env("HOME="+home, "XDG_DATA_HOME="+home),
		chromedp.Flag("host-resolver-rules", p.rules))
	all, end := chromedp.NewExecAllocator(context.WithoutCancel(t.Context()), options...)
	t.Cleanup(end)
	ctx, cancel := context.WithTimeout(all, browserLimit)
	t.Cleanup(cancel)
	ctx, _ = chromedp.NewContext(ctx)
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(on.width, on.height)); err != nil {
		t.Fatalf("open a browser: %v", err)
	}
	failOnPageErrors(t, ctx, false)
	t.Cleanup(func() {
		browsers.close(t)
		_ = chromedp.Cancel(ctx) // the test has passed or failed already
	})
	return ctx
}

// keptBy waits for the worker of the page at hand, and says where it is from.
func keptBy(t *testing.T, ctx context.Context) string {
	t.Helper()
	ready, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	at, err := chromedp.Run(ready, chromedp.Evaluate[string](`navigator.serviceWorker.ready.then((r) => r.active.scriptURL.split("?")[0])`, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// At a public name, with a certificate that the browser trusts, the pages are as at home: their worker keeps them.
func TestBrowserOverHTTPS(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	p := servePublic(t, s, "journal.example.org", everybody(s))
	ctx := p.open(t, phone)
	do(t, ctx, chromedp.Navigate(p.address+"/"))
	if at := keptBy(t, ctx); at != "https://journal.example.org/sw.js" {
		t.Errorf("kept by %s", at)
	}
}

// In the local network, a browser that took the certificate offered to phones trusts the machine's bare address.
func TestBrowserInLocalNetwork(t *testing.T) {
	t.Parallel()
	pages, plain := freePort(t), freePort(t)
	if addrs, err := net.InterfaceAddrs(); err != nil || !slices.ContainsFunc(addrs, func(a net.Addr) bool { return a.(*net.IPNet).IP.IsPrivate() }) {
		t.Skipf("this machine is in no local network: %v, %v", addrs, err)
	}
	s := webtest.New(t)
	way := serveOthers(t, s, reach.Settings{LocalNetwork: true, Listen: fmt.Sprintf(":%d", pages), ListenHTTP: fmt.Sprintf(":%d", plain), Dir: t.TempDir()}, everybody(s))
	offer := fmt.Sprintf("http://127.0.0.1:%d", plain)
	res, err := http.Get(offer + "/rigtally.crt")
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	taken, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	p := public{address: way.Place.Origin, root: pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: taken})}
	ctx := p.open(t, phone)
	lookAt(t, ctx, offer, "/", axe(t), len(looks))
	do(t, ctx, chromedp.Navigate(p.address+"/"))
	if at := keptBy(t, ctx); at != p.address+"/sw.js" {
		t.Errorf("kept by %s", at)
	}
}
