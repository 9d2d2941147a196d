package reach

import (
	"crypto/tls"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"sync"
	"time"
)

// files is a certificate that is read again when its files have changed.
type files struct {
	certificate, key string
	log              *slog.Logger

	mu   sync.Mutex
	last *tls.Certificate
	seen [2]stamp // of the files when they were last read
}

// stamp tells whether a file has changed.
type stamp struct {
	size  int64
	mtime time.Time
}

// get is the certificate for a visitor. While its files cannot be read, or do not belong together, the one before serves.
func (f *files) get(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if now, err := f.stamps(); err != nil || now == f.seen {
		return f.last, nil
	}
	if _, err := f.load(); err != nil {
		f.log.Warn("the certificate before is used on", "err", err)
	}
	return f.last, nil
}

func (f *files) read() (*tls.Certificate, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.load()
}

func (f *files) load() (*tls.Certificate, error) {
	seen, err := f.stamps()
	if err != nil {
		return nil, fmt.Errorf("the certificate cannot be read: %w; correct --certificate or --key", err)
	}
	f.seen = seen // before the reading: a change meanwhile is seen the next time
	pair, err := tls.LoadX509KeyPair(f.certificate, f.key)
	if err != nil {
		return nil, fmt.Errorf("the certificate in %s with the key in %s: %w; both must be PEM files that belong together", f.certificate, f.key, err)
	}
	f.last = &pair
	return f.last, nil
}

func (f *files) stamps() (now [2]stamp, err error) {
	of := func(name string) (stamp, error) {
		info, err := os.Stat(name)
		if err != nil {
			if errors.Is(err, fs.ErrPermission) {
				err = fmt.Errorf("%w; let the user that runs rigtally read it", err)
			}
			return stamp{}, err
		}
		return stamp{info.Size(), info.ModTime()}, nil
	}
	if now[0], err = of(f.certificate); err == nil {
		now[1], err = of(f.key)
	}
	return now, err
}
