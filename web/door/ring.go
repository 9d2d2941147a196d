package door

import (
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"rigtally/journal"
)

// Ring is a folder that holds the hashes of keys and of the cookies that they became, each as the name of an empty
// file. Removing a file is done by exactly one, so that a key opens once, whichever process made it.
type Ring struct{ dir string }

const (
	keyLasts    = 24 * time.Hour       // before it is used
	cookieLasts = 400 * 24 * time.Hour // after it was used last; browsers keep none longer
	mostCookies = 32                   // browsers let in; the one used least lately makes room
)

// NewRing is the ring in a folder, which is made where it is missing, for its owner alone.
func NewRing(dir string) (Ring, error) {
	r := Ring{dir}
	for _, sub := range []string{r.keys(), r.cookies()} {
		if err := os.MkdirAll(sub, 0o700); err != nil {
			return r, fmt.Errorf("make the folder of keys: %w", err)
		}
	}
	// Whoever could read a hash learns nothing by it; whoever could add one would let themselves in.
	if err := os.Chmod(dir, 0o700); err != nil {
		return r, fmt.Errorf("keep the folder of keys to its owner: %w", err)
	}
	return r, nil
}

func (r Ring) keys() string    { return filepath.Join(r.dir, "keys") }
func (r Ring) cookies() string { return filepath.Join(r.dir, "cookies") }

// NewKey cuts a key and returns the path of the address that it opens.
func (r Ring) NewKey() (path string, err error) {
	if err := keepNewest(r.keys(), mostCookies, time.Now().Add(-keyLasts)); err != nil {
		return "", err
	}
	key, err := add(r.keys())
	return keyPath + key, err
}

// use takes a key off the ring, and reports whether it was there.
func (r Ring) use(key string) bool {
	file := filepath.Join(r.keys(), nameOf(key))
	info, err := os.Stat(file)
	return err == nil && os.Remove(file) == nil && time.Since(info.ModTime()) < keyLasts
}

// cut makes the secret of a cookie.
func (r Ring) cut() (secret string, err error) {
	if err := keepNewest(r.cookies(), mostCookies-1, time.Time{}); err != nil {
		return "", err
	}
	return add(r.cookies())
}

// admits reports whether a secret is that of a cookie, and notes once a day that it is used.
func (r Ring) admits(secret string) bool {
	file := filepath.Join(r.cookies(), nameOf(secret))
	info, err := os.Stat(file)
	if err != nil || time.Since(info.ModTime()) > cookieLasts {
		return false
	}
	if time.Since(info.ModTime()) > 24*time.Hour {
		_ = os.Chtimes(file, time.Time{}, time.Now()) // it lets in all the same
	}
	return true
}

// nameOf is a file's name for a secret. To look one up by its hash tells nothing by the time it takes.
func nameOf(secret string) string { return hex.EncodeToString(journal.HashSecret(secret)) }

func add(dir string) (secret string, err error) {
	secret = journal.NewSecret()
	if err := os.WriteFile(filepath.Join(dir, nameOf(secret)), nil, 0o600); err != nil {
		return "", fmt.Errorf("keep a key: %w", err)
	}
	return secret, nil
}

// keepNewest removes the files of a folder but the newest, and those from before a time.
func keepNewest(dir string, most int, from time.Time) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return fmt.Errorf("list the keys: %w", err)
	}
	var files []os.FileInfo
	for _, e := range entries {
		if info, err := e.Info(); err == nil { // else it is gone already
			files = append(files, info)
		}
	}
	slices.SortFunc(files, func(a, b os.FileInfo) int { return b.ModTime().Compare(a.ModTime()) })
	for i, f := range files {
		if i >= most || f.ModTime().Before(from) {
			_ = os.Remove(filepath.Join(dir, f.Name())) // somebody else may have been quicker
		}
	}
	return nil
}
