package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// file is one of an archive.
type file struct {
	name string
	mode int64
	body []byte
}

// packer is an archive that is being filled.
type packer interface {
	add(f file, made time.Time) error
	Close() error
}

// archive packs the program and its notices, as people of its system expect.
func (p program) archive(to string) (err error) {
	body, err := os.ReadFile(p.path)
	if err != nil {
		return err
	}
	folder := fmt.Sprintf("rigtally-%s-%s-%s", p.version, p.system, p.arch)
	ending := ".tar.gz"
	if p.system == "windows" {
		ending = ".zip"
	}
	out, err := os.Create(filepath.Join(to, folder+ending))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, out.Close()) }()
	var pack packer = newTarball(out)
	if p.system == "windows" {
		pack = zipped{zip.NewWriter(out)}
	}
	files := []file{
		{folder + "/NOTICES.txt", 0o644, p.notices},
		{folder + "/" + p.name(), 0o755, body},
	}
	if p.system != "windows" {
		manual, err := filesBelow(p.manual, folder)
		if err != nil {
			return err
		}
		files = append(files, manual...)
	}
	for _, f := range files {
		if err := pack.add(f, p.made); err != nil {
			return err
		}
	}
	return pack.Close()
}

// filesBelow are the files of a folder, in the order of their names, as they are called in an archive.
func filesBelow(dir, as string) (files []file, err error) {
	err = fs.WalkDir(os.DirFS(dir), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		body, err := os.ReadFile(filepath.Join(dir, name))
		files = append(files, file{as + "/" + name, 0o644, body})
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("gather the man pages and completions: %w", err)
	}
	return files, nil
}

type tarball struct {
	*tar.Writer
	zip *gzip.Writer
}

func newTarball(w io.Writer) tarball {
	z := gzip.NewWriter(w)
	return tarball{tar.NewWriter(z), z}
}

func (t tarball) add(f file, made time.Time) error {
	err := t.WriteHeader(&tar.Header{Name: f.name, Mode: f.mode, Size: int64(len(f.body)), ModTime: made, Format: tar.FormatUSTAR})
	if err != nil {
		return err
	}
	_, err = t.Write(f.body)
	return err
}

// Close ends the archive and its compression.
func (t tarball) Close() error { return errors.Join(t.Writer.Close(), t.zip.Close()) }

type zipped struct{ *zip.Writer }

func (z zipped) add(f file, made time.Time) error {
	w, err := z.CreateHeader(&zip.FileHeader{Name: f.name, Method: zip.Deflate, Modified: made.UTC()})
	if err != nil {
		return err
	}
	_, err = w.Write(f.body)
	return err
}

// nfpm is the newest of its program that Go's module proxy can install.
const nfpm = "github.com/goreleaser/nfpm/v2/cmd/nfpm@v2.43.4"

// debian makes the Debian package that packaging/nfpm.yaml describes.
func (p program) debian(ctx context.Context, to string) error {
	if err := os.WriteFile(filepath.Join(p.dir, "bin", "NOTICES"), p.notices, 0o644); err != nil {
		return err
	}
	if err := p.debianManual(); err != nil {
		return err
	}
	// The package keeps the age of its files.
	for _, folder := range []string{"bin", "packaging"} {
		err := filepath.WalkDir(filepath.Join(p.dir, folder), func(name string, _ fs.DirEntry, err error) error {
			if err == nil {
				err = os.Chtimes(name, p.made, p.made)
			}
			return err
		})
		if err != nil {
			return err
		}
	}
	settings := []string{"GOFLAGS=", "VERSION=" + p.version, "ARCH=" + p.arch, fmt.Sprintf("SOURCE_DATE_EPOCH=%d", p.made.Unix())}
	_, err := output(ctx, p.dir, settings, "go", "run", nfpm, "package", "--config", "packaging/nfpm.yaml", "--packager", "deb", "--target", to)
	return err
}

// debianManual puts man pages, compressed as the policy of Debian has it, and completions where the package takes them from.
func (p program) debianManual() error {
	files, err := filesBelow(p.manual, "")
	if err != nil {
		return err
	}
	for _, f := range files {
		name := strings.Replace(f.name, "/zsh/site-functions/", "/zsh/vendor-completions/", 1)
		if strings.Contains(name, "/man/") {
			var packed bytes.Buffer
			z, err := gzip.NewWriterLevel(&packed, gzip.BestCompression) // without a name and a time
			if err != nil {
				return err
			}
			if _, err := z.Write(f.body); err != nil {
				return err
			}
			if err := z.Close(); err != nil {
				return err
			}
			name, f.body = name+".gz", packed.Bytes()
		}
		to := filepath.Join(p.dir, "bin", "debian", name)
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(to, f.body, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// checksums writes SHA256SUMS, as sha256sum --check reads it, and returns it.
func checksums(dir string) (string, error) {
	entries, err := os.ReadDir(dir) // in order of names
	if err != nil {
		return "", err
	}
	var sums strings.Builder
	for _, e := range entries {
		body, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&sums, "%x  %s\n", sha256.Sum256(body), e.Name())
	}
	return sums.String(), os.WriteFile(filepath.Join(dir, "SHA256SUMS"), []byte(sums.String()), 0o644)
}
