package reach

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

func TestAuthorityIsKeptAndConstrained(t *testing.T) {
	t.Parallel()
	dir, now := filepath.Join(t.TempDir(), "certificates", "local-network"), time.Now()
	a, err := openAuthority(dir, "drift-boat", now)
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]os.FileMode{dir: os.ModeDir | 0o700, filepath.Join(dir, authorityFile): 0o600} {
		if info, err := os.Stat(name); err != nil || info.Mode() != want {
			t.Errorf("%s: %v, %v; want %v", name, info.Mode(), err, want)
		}
	}
	again, err := openAuthority(dir, "drift-boat", now)
	if err != nil || !again.cert.Equal(a.cert) || !again.key.Equal(a.key) {
		t.Errorf("opened again it is another one: %v", err)
	}
	if years := a.cert.NotAfter.Sub(now).Hours() / 24 / 365; years < 9.9 || years > 10.1 {
		t.Errorf("it lasts %.1f years", years)
	}

	// What it may vouch for, by Go's verifier (RFC 5280, section 4.2.1.10).
	roots := x509.NewCertPool()
	roots.AddCert(a.cert)
	for _, c := range []struct {
		name string
		addr string
		good bool
	}{
		{name: "drift-boat", good: true}, {name: "drift-boat.local", good: true}, {name: "localhost", good: true},
		{addr: "192.168.7.20", good: true}, {addr: "10.1.2.3", good: true}, {addr: "172.31.0.9", good: true}, {addr: "fd00::7", good: true}, {addr: "127.0.0.1", good: true},
		{name: "journal.example.org"}, {name: "other-boat.local"}, {addr: "192.0.2.7"}, {addr: "172.32.0.1"}, {addr: "2001:db8::7"},
	} {
		var names []string
		var addrs []netip.Addr
		if c.name != "" {
			names = []string{c.name}
		} else {
			addrs = []netip.Addr{netip.MustParseAddr(c.addr)}
		}
		_, der, err := a.issue(names, addrs, now)
		if err != nil {
			t.Fatal(err)
		}
		leaf, err := x509.ParseCertificate(der)
		if err != nil {
			t.Fatal(err)
		}
		for _, wrong := range []time.Duration{0, -24 * time.Hour, 24 * time.Hour} { // by which a clock is
			_, err = leaf.Verify(x509.VerifyOptions{Roots: roots, DNSName: c.name + c.addr, CurrentTime: now.Add(wrong), KeyUsages: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}})
			if (err == nil) != c.good {
				t.Errorf("a certificate for %s%s by a clock that is wrong by %v: %v", c.name, c.addr, wrong, err)
			}
		}
		if days := leaf.NotAfter.Sub(leaf.NotBefore).Hours() / 24; days > 398 { // what phones accept
			t.Errorf("a certificate lasts %.0f days", days)
		}
	}

	// Near its end it gives way to another.
	if later, err := openAuthority(dir, "drift-boat", now.AddDate(9, 6, 0)); err != nil || later.cert.Equal(a.cert) {
		t.Errorf("near its end it is still used: %v", err)
	}
}

func TestAuthorityThatOthersMayHaveRead(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if _, err := openAuthority(dir, "drift-boat", time.Now()); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(dir, authorityFile)
	if err := os.Chmod(name, 0o640); err != nil {
		t.Fatal(err)
	}
	if _, err := openAuthority(dir, "drift-boat", time.Now()); err == nil || !strings.Contains(err.Error(), "may have read the key") {
		t.Errorf("got %v", err)
	}
	if err := os.WriteFile(name, []byte("-----BEGIN"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(name, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := openAuthority(dir, "drift-boat", time.Now()); err == nil || !strings.Contains(err.Error(), "cut short") {
		t.Errorf("got %v", err)
	}
}

func TestCertificateIsMadeAnewNearItsEnd(t *testing.T) {
	t.Parallel()
	now := time.Now()
	a, err := openAuthority(t.TempDir(), "drift-boat", now)
	if err != nil {
		t.Fatal(err)
	}
	c := &localCertificate{authority: a, names: hostNames("drift-boat"), now: func() time.Time { return now }}
	if err := c.renew([]netip.Addr{netip.MustParseAddr("127.0.0.1")}); err != nil {
		t.Fatal(err)
	}
	client, server := net.Pipe()
	t.Cleanup(func() { _ = client.Close() })
	hello := &tls.ClientHelloInfo{Conn: cameTo{server, "127.0.0.1:7337"}}
	first, err := c.get(hello)
	if err != nil {
		t.Fatal(err)
	}
	now = now.AddDate(0, 10, 0)
	if same, err := c.get(hello); err != nil || same != first {
		t.Errorf("after ten months: another certificate, %v", err)
	}
	now = now.AddDate(0, 1, 15)
	if next, err := c.get(hello); err != nil || next == first || !next.Leaf.NotAfter.After(first.Leaf.NotAfter) {
		t.Errorf("two weeks before its end: the same certificate, %v", err)
	}
	if _, err := c.get(&tls.ClientHelloInfo{Conn: cameTo{server, "192.0.2.7:7337"}}); err == nil {
		t.Error("a visitor from beyond the local network was shown a certificate")
	}
}

// cameTo is a connection that came to an address.
type cameTo struct {
	net.Conn
	local string
}

func (c cameTo) LocalAddr() net.Addr {
	return net.TCPAddrFromAddrPort(netip.MustParseAddrPort(c.local))
}

func TestLocalNetwork(t *testing.T) {
	t.Parallel()
	if addrs, err := localAddrs(); err != nil || !slices.ContainsFunc(addrs, func(a netip.Addr) bool { return !a.IsLoopback() }) {
		t.Skipf("this machine is in no local network: %v, %v", addrs, err)
	}
	s := Settings{LocalNetwork: true, Listen: ":0", ListenHTTP: ":0", Dir: t.TempDir()}
	o := open(t, s)
	plain := "http://127.0.0.1:" + strconv.Itoa(portOf(o.plain))

	// The phone takes the certificate, and nothing else.
	offered := o.get(http.DefaultClient, plain+"/")
	fingerprint := strings.TrimSpace(o.Words[2])
	for _, want := range []string{"iPhone", "Android", fingerprint, `href="/rigtally.crt"`, o.Place.Origin + "/"} {
		if !strings.Contains(offered.text, want) {
			t.Errorf("the offer lacks %q", want)
		}
	}
	for _, path := range []string{"/sessions", "/api/known", "/static/", "/rigtally.crt/", "/authority.pem"} {
		if got := o.get(http.DefaultClient, plain+path); got.StatusCode != http.StatusNotFound {
			t.Errorf("%s: %s", path, got.Status)
		}
	}
	taken := o.get(http.DefaultClient, plain+"/rigtally.crt")
	if got := taken.Header.Get("Content-Type"); got != "application/x-x509-ca-cert" {
		t.Errorf("the certificate comes as %s", got)
	}
	root, err := x509.ParseCertificate([]byte(taken.text))
	if err != nil {
		t.Fatal(err)
	}

	// With it the pages open, by address and by name, and under no other name.
	roots := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: root.Raw})
	client := o.visitor(roots)
	port := strconv.Itoa(portOf(o.pages))
	for _, host := range []string{"127.0.0.1", "localhost"} {
		got := o.get(client, "https://"+host+":"+port+"/")
		if got.StatusCode != http.StatusOK || got.Header.Get("Strict-Transport-Security") != "" {
			t.Errorf("%s: %s, Strict-Transport-Security %q", host, got.Status, got.Header.Get("Strict-Transport-Security"))
		}
	}
	mine := o.get(o.visitorAsIs(roots), o.Place.Origin+"/")
	if mine.StatusCode != http.StatusOK {
		t.Errorf("%s: %s", o.Place.Origin, mine.Status)
	}
	for _, host := range []string{"evil.example:" + port, "192.0.2.7:" + port, "127.0.0.1:1", "127.0.0.2:" + port} {
		if got := o.get(client, "https://127.0.0.1:"+port+"/", asHost(host)); got.StatusCode != http.StatusMisdirectedRequest {
			t.Errorf("host %s: %s", host, got.Status)
		}
	}

	// An address that the machine gets later is in the certificate from the first visit on.
	if slices.ContainsFunc(mine.TLS.PeerCertificates[0].IPAddresses, net.IPv4(127, 0, 0, 2).Equal) {
		t.Fatal("the certificate holds the address already")
	}
	if got := o.get(o.visitorAsIs(roots), "https://127.0.0.2:"+port+"/"); got.StatusCode != http.StatusOK {
		t.Errorf("by a new address: %s", got.Status)
	}
}
