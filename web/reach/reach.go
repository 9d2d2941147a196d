package reach

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"golang.org/x/sync/errgroup"

	"rigtally/web"
)

// Way is a way in that is open: what listens, and what is served beside the pages.
type Way struct {
	Place web.Place
	Words []string // what to tell whoever opened it, a line each

	pages  net.Listener
	plain  net.Listener // for plain http beside the pages; nil for none
	beside http.Handler // what answers there
	log    *slog.Logger

	begin func(ctx context.Context) error // waits until there is a certificate
	end   func()
}

// Open opens the way that the settings name, once ready has nothing against it: it says whether the owner can sign in,
// for nobody is let in where nobody can be told from anybody else. The way ends with Serve or Close.
func Open(ctx context.Context, s Settings, ready func(context.Context) error, log *slog.Logger) (*Way, error) {
	if err := errors.Join(s.Check(), ParseListen(s.Listen), ParseListen(s.ListenHTTP)); err != nil {
		return nil, err
	}
	if !s.Beyond() {
		return nil, errors.New("no way in was asked for")
	}
	if err := ready(ctx); err != nil {
		return nil, err
	}
	w := &Way{log: log, begin: func(context.Context) error { return nil }, end: func() {}}
	open := w.openCertificate
	switch {
	case s.LocalNetwork:
		open = w.openLocal
	case len(s.Proxies) > 0:
		open = w.openProxied
	case s.byACME():
		open = w.openACME
	}
	if err := open(s); err != nil {
		w.Close()
		return nil, err
	}
	return w, nil
}

// Serve has pages served until ctx ends. Once visitors can come, it calls told.
func (w *Way) Serve(ctx context.Context, pages func(context.Context, net.Listener) error, told func()) error {
	defer w.Close()
	work, ctx := errgroup.WithContext(ctx)
	work.Go(func() error { return pages(ctx, w.pages) })
	if w.plain != nil {
		work.Go(func() error { return w.servePlain(ctx) })
	}
	work.Go(func() error {
		if err := w.begin(ctx); err != nil {
			return err
		}
		if ctx.Err() == nil {
			told()
		}
		return nil
	})
	return work.Wait()
}

// Close closes what was opened.
func (w *Way) Close() {
	for _, l := range []net.Listener{w.pages, w.plain} {
		if l != nil {
			_ = l.Close() // again, if it was served
		}
	}
	w.end()
	w.end = func() {}
}

// servePlain answers plain http until ctx ends.
func (w *Way) servePlain(ctx context.Context) error {
	srv := &http.Server{
		Handler:        w.beside,
		ReadTimeout:    10 * time.Second,
		WriteTimeout:   10 * time.Second,
		IdleTimeout:    10 * time.Second,
		MaxHeaderBytes: 16 << 10,
		ErrorLog:       slog.NewLogLogger(w.log.Handler(), slog.LevelWarn),
	}
	stop := context.AfterFunc(ctx, func() { _ = srv.Close() })
	defer stop()
	if err := srv.Serve(w.plain); !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("answer plain http: %w", err)
	}
	return nil
}

// byName is the place of a public name.
func byName(s Settings) (web.Place, error) {
	name, withPort, err := s.host()
	if err != nil {
		return web.Place{}, err
	}
	return web.Place{Origin: "https://" + withPort, Hosts: []string{withPort}, Strict: net.ParseIP(name) == nil && len(s.Proxies) == 0}, nil
}

// openCertificate listens with a certificate from files.
func (w *Way) openCertificate(s Settings) (err error) {
	if w.Place, err = byName(s); err != nil {
		return err
	}
	name, _, _ := s.host()
	files := &files{certificate: s.Certificate, key: s.Key, log: w.log}
	leaf, err := files.read()
	if err != nil {
		return err
	}
	if err := leaf.Leaf.VerifyHostname(name); err != nil {
		return fmt.Errorf("the certificate in %s is not for %s: %w", s.Certificate, name, err)
	}
	if w.pages, err = listen(s.Listen, s.port()); err != nil {
		return err
	}
	w.pages = secured(w.pages, files.get)
	return w.openRedirect(s)
}

// openProxied listens for proxies, which have the certificate.
func (w *Way) openProxied(s Settings) (err error) {
	if w.Place, err = byName(s); err != nil {
		return err
	}
	w.Place.Proxies = s.Proxies
	w.pages, err = listen(s.Listen, "127.0.0.1:7337")
	return err
}

// openRedirect answers plain http by leading to https. At the usual port it does so only where it may.
func (w *Way) openRedirect(s Settings) (err error) {
	w.beside = http.HandlerFunc(func(rw http.ResponseWriter, r *http.Request) {
		if name, _, _ := s.host(); !strings.EqualFold((&url.URL{Host: r.Host}).Hostname(), name) {
			http.Error(rw, "Not this address.", http.StatusMisdirectedRequest)
			return
		}
		http.Redirect(rw, r, w.Place.Origin+r.URL.RequestURI(), http.StatusPermanentRedirect)
	})
	if w.plain, err = listen(s.ListenHTTP, ":80"); err != nil && s.ListenHTTP == "" {
		w.plain = nil
		w.Words = append(w.Words, "Plain http is not answered: "+err.Error()+".")
		return nil
	}
	return err
}

// secured has a listener speak TLS 1.3, or 1.2 with the ciphers of RFC 9325, 4.2, and their like with ChaCha20: secrets
// that come out later open nothing that was sent before.
func secured(l net.Listener, certificate func(*tls.ClientHelloInfo) (*tls.Certificate, error), protocols ...string) net.Listener {
	return tls.NewListener(l, &tls.Config{GetCertificate: certificate, NextProtos: append([]string{"h2", "http/1.1"}, protocols...), MinVersion: tls.VersionTLS12, CipherSuites: []uint16{
		tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256, tls.TLS_ECDHE_ECDSA_WITH_AES_256_GCM_SHA384, tls.TLS_ECDHE_ECDSA_WITH_CHACHA20_POLY1305_SHA256,
		tls.TLS_ECDHE_RSA_WITH_AES_128_GCM_SHA256, tls.TLS_ECDHE_RSA_WITH_AES_256_GCM_SHA384, tls.TLS_ECDHE_RSA_WITH_CHACHA20_POLY1305_SHA256}})
}
