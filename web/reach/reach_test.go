package reach

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// limit is how long anything may take on a machine that is busy with much else.
const limit = 2 * time.Minute

func welcome(context.Context) error { return nil }

// opened is a way in that serves the pages of an empty journal.
type opened struct {
	*Way
	t    *testing.T
	site *webtest.Site
}

func open(t *testing.T, s Settings) *opened {
	t.Helper()
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	w, err := Open(t.Context(), s, welcome, log)
	if err != nil {
		t.Fatal(err)
	}
	site := webtest.New(t)
	everybody := door.Open{Outfit: site.Store.OutfitID(), Who: site.Store.Who()} // who comes in is not what is tried here
	server, err := web.New(site.Store, web.Options{Logger: log, Place: w.Place, Door: everybody})
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ended, told := make(chan error, 1), make(chan struct{})
	go func() { ended <- w.Serve(ctx, server.Serve, func() { close(told) }) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Errorf("the way in ended with %v", err)
		}
	})
	select {
	case <-told:
	case err := <-ended:
		ended <- nil
		t.Fatalf("the way in ended: %v", err)
	case <-time.After(limit):
		t.Fatal("nobody was told that the pages are there")
	}
	return &opened{w, t, site}
}

// visitor is a client that finds every name on this machine and trusts some roots.
func (o *opened) visitor(roots []byte) *http.Client {
	pool := x509.NewCertPool()
	if !pool.AppendCertsFromPEM(roots) {
		o.t.Fatal("no root to trust")
	}
	transport := &http.Transport{
		TLSClientConfig:   &tls.Config{RootCAs: pool},
		ForceAttemptHTTP2: true,
		DialContext: func(ctx context.Context, network, addr string) (net.Conn, error) {
			_, port, err := net.SplitHostPort(addr)
			if err != nil {
				return nil, err
			}
			switch port {
			case "443":
				port = strconv.Itoa(portOf(o.pages))
			case "80":
				port = strconv.Itoa(portOf(o.plain))
			}
			return new(net.Dialer).DialContext(ctx, network, "127.0.0.1:"+port)
		},
	}
	o.t.Cleanup(transport.CloseIdleConnections)
	return &http.Client{Transport: transport, Timeout: limit,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
}

// dialer leads everybody to a port of this machine.
func dialer(port int) func(context.Context, string, string) (net.Conn, error) {
	return func(ctx context.Context, network, _ string) (net.Conn, error) {
		return new(net.Dialer).DialContext(ctx, network, fmt.Sprintf("127.0.0.1:%d", port))
	}
}

// answer is what came back.
type answer struct {
	*http.Response
	text string
}

func (o *opened) get(client *http.Client, address string, change ...func(*http.Request)) answer {
	o.t.Helper()
	r, err := http.NewRequestWithContext(o.t.Context(), http.MethodGet, address, nil)
	if err != nil {
		o.t.Fatal(err)
	}
	for _, c := range change {
		c(r)
	}
	res, err := client.Do(r)
	if err != nil {
		o.t.Fatal(err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		o.t.Fatal(err)
	}
	return answer{res, string(text)}
}

func asHost(host string) func(*http.Request) { return func(r *http.Request) { r.Host = host } }

// freePort is a port that was free a moment ago.
func freePort(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return portOf(l)
}

// visitorAsIs is a client that goes where an address leads.
func (o *opened) visitorAsIs(roots []byte) *http.Client {
	client := o.visitor(roots)
	client.Transport.(*http.Transport).DialContext = nil
	return client
}

func TestNobodyIsLetInBeforeTheOwnerCanSignIn(t *testing.T) {
	t.Parallel()
	refused := errors.New("nobody can sign in yet")
	for _, s := range []Settings{
		{Address: "https://journal.example.org", Listen: "127.0.0.1:0", Dir: t.TempDir()},
		{Address: "https://journal.example.org", Listen: "127.0.0.1:0", Proxies: []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32")}},
		{LocalNetwork: true, Listen: ":0", ListenHTTP: ":0", Dir: t.TempDir()},
	} {
		w, err := Open(t.Context(), s, func(context.Context) error { return refused }, nil)
		if w != nil || !errors.Is(err, refused) {
			t.Errorf("%+v: %v, %v", s, w, err)
		}
		if left, err := os.ReadDir(s.Dir); s.Dir != "" && (err != nil || len(left) != 0) {
			t.Errorf("%+v left %v, %v", s, left, err)
		}
	}
}

func TestSettingsThatMakeNoSense(t *testing.T) {
	t.Parallel()
	proxy := []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32")}
	for _, c := range []struct {
		s    Settings
		want string // "" for none
	}{
		{Settings{}, ""},
		{Settings{Address: "https://journal.example.org"}, ""},
		{Settings{Address: "https://Journal.Example.Org:8443/"}, ""},
		{Settings{LocalNetwork: true, Listen: ":8443"}, ""},
		{Settings{Address: "https://journal.example.org", Certificate: "a", Key: "b"}, ""},
		{Settings{Address: "https://192.0.2.7", Certificate: "a", Key: "b"}, ""},
		{Settings{Address: "https://journal.example.org", Proxies: proxy}, ""},
		{Settings{Address: "http://journal.example.org"}, "write https:// and a name"},
		{Settings{Address: "journal.example.org"}, "write https:// and a name"},
		{Settings{Address: "https://journal.example.org/pages"}, "write https:// and a name"},
		{Settings{Address: "https://felt@journal.example.org"}, "write https:// and a name"},
		{Settings{Address: "https://journal.example.org."}, "write https:// and a name"},
		{Settings{Address: "https://*.example.org"}, "write https:// and a name"},
		{Settings{Address: "https://jøurnal.example.org"}, "beginning with xn--"},
		{Settings{Address: "https://192.0.2.7"}, "or --local-network"},
		{Settings{Address: "https://boat"}, "use a whole name"},
		{Settings{Listen: ":8443"}, "say how with --address"},
		{Settings{Proxies: proxy}, "say at which address the proxy shows the pages"},
		{Settings{Certificate: "a", Key: "b"}, "say which of the certificate's names"},
		{Settings{Address: "https://journal.example.org", Certificate: "a"}, "give both"},
		{Settings{Address: "https://journal.example.org", Certificate: "a", Key: "b", Proxies: proxy}, "leave --certificate and --key out"},
		{Settings{Address: "https://journal.example.org", Proxies: proxy, ListenHTTP: ":80"}, "leave --listen-http out"},
		{Settings{Address: "https://journal.example.org", LocalNetwork: true}, "leave --address"},
	} {
		err := c.s.Check()
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v, want %q", c.s, err, c.want)
		}
	}
	for list, want := range map[string]string{
		"127.0.0.1": "", "10.0.0.0/8, ::1": "", "": "", "proxy": "is not the address of a proxy", "0.0.0.0/0": "is everybody", "::/0": "is everybody",
	} {
		if _, err := ParseProxies(list); (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("proxies %q: %v, want %q", list, err, want)
		}
	}
}

func TestPortInUse(t *testing.T) {
	t.Parallel()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	s := Settings{Address: "https://journal.example.org", Listen: l.Addr().String(), Dir: t.TempDir()}
	if _, err := Open(t.Context(), s, welcome, nil); err == nil || !strings.Contains(err.Error(), "in use by another program") {
		t.Errorf("got %v", err)
	}
}

// A proxy of this machine brings visitors; who comes past it is led to the public address, whatever its headers say.
func TestBehindProxy(t *testing.T) {
	t.Parallel()
	o := open(t, Settings{Address: "https://journal.example.org", Listen: "127.0.0.1:0", Proxies: []netip.Prefix{netip.MustParsePrefix("127.0.0.2/32")}})
	from := func(ip string) *http.Client {
		dialer := &net.Dialer{LocalAddr: &net.TCPAddr{IP: net.ParseIP(ip)}}
		transport := &http.Transport{DialContext: func(ctx context.Context, network, _ string) (net.Conn, error) {
			return dialer.DialContext(ctx, network, o.pages.Addr().String())
		}}
		t.Cleanup(transport.CloseIdleConnections)
		return &http.Client{Transport: transport, Timeout: limit, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	}
	headers := func(pairs ...string) func(*http.Request) {
		return func(r *http.Request) {
			for i := 0; i < len(pairs); i += 2 {
				r.Header.Set(pairs[i], pairs[i+1])
			}
		}
	}
	const there = "http://journal.example.org/"
	https := headers("X-Forwarded-Proto", "https")
	for _, c := range []struct {
		name, from string
		change     []func(*http.Request)
		want       int
	}{
		{"the proxy", "127.0.0.2", []func(*http.Request){https}, http.StatusOK},
		{"the proxy with a host of its own", "127.0.0.2", []func(*http.Request){https, asHost("127.0.0.1:7337"), headers("X-Forwarded-Host", "journal.example.org")}, http.StatusOK},
		{"the proxy for another name", "127.0.0.2", []func(*http.Request){https, asHost("evil.example")}, http.StatusMisdirectedRequest},
		{"the proxy with two hosts", "127.0.0.2", []func(*http.Request){https, asHost("evil.example"), headers("X-Forwarded-Host", "evil.example, journal.example.org")}, http.StatusMisdirectedRequest},
		{"the proxy for plain http", "127.0.0.2", []func(*http.Request){headers("X-Forwarded-Proto", "http")}, http.StatusPermanentRedirect},
		{"the proxy that leaves it out", "127.0.0.2", nil, http.StatusBadRequest},
		{"a stranger", "127.0.0.1", nil, http.StatusPermanentRedirect},
		{"a stranger who says https", "127.0.0.1", []func(*http.Request){https}, http.StatusPermanentRedirect},
		{"a stranger who says another host", "127.0.0.1", []func(*http.Request){https, asHost("evil.example"), headers("X-Forwarded-Host", "journal.example.org")}, http.StatusMisdirectedRequest},
	} {
		got := o.get(from(c.from), there, c.change...)
		if got.StatusCode != c.want {
			t.Errorf("%s: %s, want %d", c.name, got.Status, c.want)
		}
		if to := got.Header.Get("Location"); c.want == http.StatusPermanentRedirect && to != "https://journal.example.org/" {
			t.Errorf("%s: led to %q", c.name, to)
		}
	}
	form := o.get(from("127.0.0.2"), there+"settings", https, headers("Origin", "https://evil.example"), func(r *http.Request) { r.Method = http.MethodPost })
	if form.StatusCode != http.StatusForbidden {
		t.Errorf("a form from another site: %s", form.Status)
	}
}
