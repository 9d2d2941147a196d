package reach

import (
	"crypto/ecdsa"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// paper makes certificates for journal.example.org and writes them to files.
type paper struct {
	t         *testing.T
	authority *authority
	cert, key string
}

func newPaper(t *testing.T) *paper {
	t.Helper()
	dir := t.TempDir()
	// A machine of this name: its authority may vouch for it.
	a, err := openAuthority(filepath.Join(dir, "authority"), "journal.example.org", time.Now())
	if err != nil {
		t.Fatal(err)
	}
	return &paper{t, a, filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")}
}

func (p *paper) root() []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: p.authority.cert.Raw})
}

func (p *paper) make() (key *ecdsa.PrivateKey, der []byte) {
	p.t.Helper()
	key, der, err := p.authority.issue([]string{"journal.example.org"}, []netip.Addr{}, time.Now())
	if err != nil {
		p.t.Fatal(err)
	}
	return key, der
}

// write puts a file in the place of another at once, as programs that renew certificates do.
func (p *paper) write(name, kind string, der []byte) {
	p.t.Helper()
	if err := writeWhole(name, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der})); err != nil {
		p.t.Fatal(err)
	}
}

func (p *paper) writeKey(key *ecdsa.PrivateKey) {
	p.t.Helper()
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		p.t.Fatal(err)
	}
	p.write(p.key, "PRIVATE KEY", der)
}

func TestCertificateFilesAreReadAgain(t *testing.T) {
	t.Parallel()
	p := newPaper(t)
	key, first := p.make()
	p.write(p.cert, "CERTIFICATE", first)
	p.writeKey(key)
	o := open(t, Settings{Address: "https://journal.example.org", Listen: "127.0.0.1:0", ListenHTTP: "127.0.0.1:0", Certificate: p.cert, Key: p.key})
	shown := func() string {
		t.Helper()
		res := o.get(o.visitor(p.root()), "https://journal.example.org/")
		if res.StatusCode != http.StatusOK || res.Header.Get("Strict-Transport-Security") == "" {
			t.Errorf("%s, Strict-Transport-Security %q", res.Status, res.Header.Get("Strict-Transport-Security"))
		}
		return string(res.TLS.PeerCertificates[0].Raw)
	}
	if shown() != string(first) {
		t.Error("another certificate than the one in the file")
	}
	key, second := p.make()
	p.write(p.cert, "CERTIFICATE", second)
	if shown() != string(first) {
		t.Error("while the files do not belong together, the certificate before does not serve")
	}
	p.writeKey(key)
	if shown() != string(second) {
		t.Error("the exchanged certificate is not used")
	}
	if err := os.Remove(p.cert); err != nil {
		t.Fatal(err)
	}
	if shown() != string(second) {
		t.Error("without the file the certificate before does not serve")
	}
	if moved := o.get(o.visitor(p.root()), "http://journal.example.org/"); moved.Header.Get("Location") != "https://journal.example.org/" {
		t.Errorf("plain http: %s", moved.Status)
	}
}

func TestCertificateOfAnotherName(t *testing.T) {
	t.Parallel()
	p := newPaper(t)
	key, der := p.make()
	p.write(p.cert, "CERTIFICATE", der)
	p.writeKey(key)
	_, err := Open(t.Context(), Settings{Address: "https://other.example.org", Listen: "127.0.0.1:0", Certificate: p.cert, Key: p.key}, welcome, nil)
	if err == nil || !strings.Contains(err.Error(), "is not for other.example.org") {
		t.Errorf("got %v", err)
	}
}

// TLS as RFC 9325 has it: 1.3 where the visitor speaks it, 1.2 with forward secrecy and authenticated encryption, nothing older.
func TestTLSVersions(t *testing.T) {
	t.Parallel()
	p := newPaper(t)
	key, der := p.make()
	p.write(p.cert, "CERTIFICATE", der)
	p.writeKey(key)
	o := open(t, Settings{Address: "https://journal.example.org", Listen: "127.0.0.1:0", ListenHTTP: "127.0.0.1:0", Certificate: p.cert, Key: p.key})
	speak := func(oldest, newest uint16, ciphers ...uint16) (tls.ConnectionState, error) {
		client := o.visitor(p.root())
		cfg := client.Transport.(*http.Transport).TLSClientConfig
		cfg.MinVersion, cfg.MaxVersion, cfg.CipherSuites = oldest, newest, ciphers
		res, err := client.Get("https://journal.example.org/")
		if err != nil {
			return tls.ConnectionState{}, err
		}
		return *res.TLS, res.Body.Close()
	}
	if got, err := speak(0, 0); err != nil || got.Version != tls.VersionTLS13 {
		t.Errorf("a browser of today: version %x, %v", got.Version, err)
	}
	if got, err := speak(tls.VersionTLS12, tls.VersionTLS12); err != nil || got.CipherSuite != tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256 && got.CipherSuite != tls.TLS_ECDHE_ECDSA_WITH_CHACHA20_POLY1305_SHA256 {
		t.Errorf("TLS 1.2: cipher %x, %v", got.CipherSuite, err)
	}
	if _, err := speak(tls.VersionTLS12, tls.VersionTLS12, tls.TLS_ECDHE_ECDSA_WITH_AES_128_CBC_SHA, tls.TLS_ECDHE_ECDSA_WITH_AES_256_CBC_SHA); err == nil {
		t.Error("a cipher that does not authenticate is spoken")
	}
	if _, err := speak(tls.VersionTLS10, tls.VersionTLS11); err == nil {
		t.Error("TLS 1.1 is spoken")
	}
}
