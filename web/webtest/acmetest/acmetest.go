// Package acmetest runs a certificate authority for tests: Pebble, as ACME has it, on this machine alone.
package acmetest

import (
	"bytes"
	"encoding/pem"
	"log"
	"net"
	"net/http/httptest"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/letsencrypt/pebble/v2/ca"
	"github.com/letsencrypt/pebble/v2/db"
	"github.com/letsencrypt/pebble/v2/va"
	"github.com/letsencrypt/pebble/v2/wfe"
	"github.com/miekg/dns"
)

// Authority is a certificate authority. It looks for every name on this machine.
type Authority struct {
	Directory string // the address of its ACME directory
	TrustFile string // holds the certificate of the directory's server, in PEM
	Root      []byte // what its certificates rest on, in PEM
}

// Options say what an authority does.
type Options struct {
	HTTPPort int           // where it looks for answers over plain http
	TLSPort  int           // where it looks for answers over TLS
	Lasting  time.Duration // how long its certificates last; 0 for 90 days
}

// Start starts an authority that ends with the test.
func Start(t testing.TB, opt Options) *Authority {
	t.Helper()
	for name, value := range map[string]string{"PEBBLE_VA_NOSLEEP": "1", "PEBBLE_WFE_NONCEREJECT": "5"} {
		if err := os.Setenv(name, value); err != nil { // the same for every test, so it may stay
			t.Fatal(err)
		}
	}
	quiet := log.New(&bytes.Buffer{}, "", 0)
	store := db.NewMemoryStore()
	profiles := map[string]ca.Profile{"default": {Description: "of the test", ValidityPeriod: uint64(opt.Lasting / time.Second)}}
	issuer := ca.New(quiet, store, "", "ecdsa", 0, 1, profiles)
	checks := va.New(quiet, opt.HTTPPort, opt.TLSPort, false, names(t), store)
	front := wfe.New(quiet, store, checks, issuer, []string{"pebble.invalid"}, false, false, 1, 1)
	ts := httptest.NewTLSServer(front.Handler())
	t.Cleanup(ts.Close)
	trust := filepath.Join(t.TempDir(), "directory.pem")
	if err := os.WriteFile(trust, inPEM(ts.Certificate().Raw), 0o600); err != nil {
		t.Fatal(err)
	}
	return &Authority{Directory: ts.URL + wfe.DirectoryPath, TrustFile: trust, Root: inPEM(issuer.GetRootCert(0).DER)}
}

func inPEM(der []byte) []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
}

// names serves a name service that leads every name to this machine, and returns its address.
func names(t testing.TB) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	srv := &dns.Server{Listener: l, Handler: dns.HandlerFunc(func(w dns.ResponseWriter, asked *dns.Msg) {
		answer := new(dns.Msg).SetReply(asked)
		if q := asked.Question[0]; q.Qtype == dns.TypeA {
			answer.Answer = []dns.RR{&dns.A{Hdr: dns.RR_Header{Name: q.Name, Rrtype: dns.TypeA, Class: dns.ClassINET}, A: net.IPv4(127, 0, 0, 1)}}
		}
		_ = w.WriteMsg(answer) // who asked has gone
	})}
	go func() { _ = srv.ActivateAndServe() }()
	t.Cleanup(func() { _ = srv.Shutdown() })
	return l.Addr().String()
}
