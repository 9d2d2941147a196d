package reach

import (
	"cmp"
	"context"
	"crypto/x509"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"

	"github.com/caddyserver/certmagic"
	"github.com/mholt/acmez/v3"
	"go.uber.org/zap"
	"go.uber.org/zap/zapcore"
)

// openACME listens with a certificate that is asked for at a certificate authority, and renewed before its end.
func (w *Way) openACME(s Settings) (err error) {
	if w.Place, err = byName(s); err != nil {
		return err
	}
	name, _, _ := s.host()
	if w.pages, err = listen(s.Listen, s.port()); err != nil {
		return err
	}
	if err = w.openRedirect(s); err != nil {
		return err
	}
	dir := filepath.Join(s.Dir, "acme")
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("make the folder of certificates: %w", err)
	}
	roots, err := s.roots()
	if err != nil {
		return err
	}
	log := problems(w.log)
	got := make(chan struct{})
	first := sync.OnceFunc(func() { close(got) })
	var made atomic.Pointer[certmagic.Config]
	cache := certmagic.NewCache(certmagic.CacheOptions{
		GetConfigForCert: func(certmagic.Certificate) (*certmagic.Config, error) {
			if cfg := made.Load(); cfg != nil {
				return cfg, nil
			}
			return nil, errors.New("the program is only beginning")
		},
		RenewCheckInterval: s.lookEvery,
		Logger:             log,
	})
	w.end = cache.Stop
	cfg := certmagic.New(cache, certmagic.Config{
		Storage: &certmagic.FileStorage{Path: dir},
		Logger:  log,
		OnEvent: func(_ context.Context, event string, about map[string]any) error {
			switch event {
			case "cached_managed_cert":
				first()
			case "cert_failed":
				w.log.Warn("no certificate came; check that the name leads to this machine, and port 443 or 80 to the program; it is tried again, later each time",
					"name", name, "err", about["error"])
			}
			return nil
		},
	})
	template := certmagic.ACMEIssuer{
		CA:                   cmp.Or(s.Directory, certmagic.LetsEncryptProductionCA),
		TrustedRoots:         roots,
		Email:                s.Email,
		Agreed:               true, // the command's help says so
		ListenHost:           hostOf(w.pages),
		AltTLSALPNPort:       portOf(w.pages),
		DisableHTTPChallenge: w.plain == nil,
		Logger:               log,
	}
	if w.plain != nil {
		template.AltHTTPPort = portOf(w.plain)
	}
	issuer := certmagic.NewACMEIssuer(cfg, template)
	cfg.Issuers = []certmagic.Issuer{issuer}
	made.Store(cfg)
	w.beside = issuer.HTTPChallengeHandler(w.beside)
	w.pages = secured(w.pages, cfg.GetCertificate, acmez.ACMETLS1Protocol)
	w.begin = func(ctx context.Context) error {
		if err := cfg.ManageAsync(ctx, []string{name}); err != nil {
			return fmt.Errorf("get a certificate for %s: %w", name, err)
		}
		select {
		case <-got:
		case <-ctx.Done():
		}
		return nil
	}
	return nil
}

// roots are the certificates that the directory's own may rest on; nil for those the system knows.
func (s Settings) roots() (*x509.CertPool, error) {
	if s.Root == "" {
		return nil, nil
	}
	text, err := os.ReadFile(s.Root)
	if err != nil {
		return nil, fmt.Errorf("the certificate that the ACME directory's rests on cannot be read: %w; correct the setting acme_root", err)
	}
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM(text) {
		return nil, fmt.Errorf("%s holds no certificate in PEM; correct the setting acme_root", s.Root)
	}
	return roots, nil
}

// problems passes on what certmagic calls an error.
func problems(log *slog.Logger) *zap.Logger {
	text := zapcore.NewConsoleEncoder(zapcore.EncoderConfig{MessageKey: "problem"})
	to := zapcore.AddSync(slog.NewLogLogger(log.Handler(), slog.LevelWarn).Writer())
	return zap.New(zapcore.NewCore(text, to, zap.ErrorLevel))
}

// hostOf is the address that a listener is bound to, "" for all that the machine has.
func hostOf(l net.Listener) string {
	if ip := l.Addr().(*net.TCPAddr).IP; !ip.IsUnspecified() {
		return ip.String()
	}
	return ""
}

func portOf(l net.Listener) int { return l.Addr().(*net.TCPAddr).Port }
