package grid

import (
	"archive/zip"
	"context"
	"errors"
	"io"
	"strings"
)

// archive is the zip that a workbook is, read within limits.
type archive struct {
	ctx   context.Context
	parts map[string]*zip.File // by path in lower case
	left  int64                // bytes that may still be unzipped
}

// openArchive lists the parts of a zip.
func openArchive(ctx context.Context, r io.ReaderAt, size int64) (*archive, error) {
	counted := &directory{ReaderAt: r, left: maxDirectory}
	z, err := zip.NewReader(counted, size)
	if errors.Is(err, errTooManyParts) {
		return nil, refuse(asCSV, "the file lists more parts than a workbook has")
	} else if err != nil {
		return nil, refuse("copy or download it again, or open it in your spreadsheet program and save it",
			"the file is damaged: it begins as a workbook does, but its end is missing or broken")
	}
	counted.left = -1
	a := &archive{ctx: ctx, parts: map[string]*zip.File{}, left: maxUnzipped}
	for _, f := range z.File {
		name := strings.ToLower(strings.TrimPrefix(strings.ReplaceAll(f.Name, `\`, "/"), "/"))
		if _, twice := a.parts[name]; twice {
			return nil, damaged("its list of parts", errors.New(f.Name+" is there twice"))
		}
		a.parts[name] = f
	}
	return a, nil
}

var errTooManyParts = errors.New("too many parts")

// directory bounds what is read while the parts are listed: each takes some hundred bytes of memory.
type directory struct {
	io.ReaderAt
	left int // -1: no bound any more
}

func (d *directory) ReadAt(p []byte, off int64) (int, error) {
	n, err := d.ReaderAt.ReadAt(p, off)
	if d.left >= 0 {
		if d.left -= n; d.left < 0 {
			return 0, errTooManyParts
		}
	}
	return n, err
}

func (a *archive) has(name string) bool { return a.parts[strings.ToLower(name)] != nil }

// open opens a part, nil if there is none of that name.
func (a *archive) open(name string) (*part, error) {
	f := a.parts[strings.ToLower(strings.TrimPrefix(name, "/"))]
	if f == nil {
		return nil, nil
	}
	if f.Flags&1 != 0 {
		return nil, errEncrypted
	}
	if f.UncompressedSize64 > uint64(a.left) { // no part is more than it says: package zip ends it there
		return nil, errTooLarge
	}
	if f.UncompressedSize64 > 8<<20 && f.UncompressedSize64/maxRatio > f.CompressedSize64 {
		return nil, refuse(asCSV, "the workbook's part %s unzips to over %d times its size, as no sheet does", f.Name, maxRatio)
	}
	a.left -= int64(f.UncompressedSize64)
	r, err := f.Open()
	if err != nil {
		return nil, damaged(f.Name, err)
	}
	return &part{ctx: a.ctx, name: f.Name, ReadCloser: r}, nil
}

var (
	errTooLarge  = refuse(asCSV, "unzipped, the workbook is larger than %d MB, too large for a workbook here", maxUnzipped>>20)
	errEncrypted = refuse("open it in your spreadsheet program, take the password off (File, Save as) and import that",
		"the workbook is protected by a password")
)

// part is one part of a workbook while it is read.
type part struct {
	io.ReadCloser
	ctx  context.Context
	name string
}

func (p *part) Read(b []byte) (int, error) {
	if err := p.ctx.Err(); err != nil {
		return 0, err
	}
	return p.ReadCloser.Read(b)
}

// scan reads a part with a function, and says of what went wrong where. A part that is not there is not read.
func (a *archive) scan(name string, read func(*scanner) error) error {
	p, err := a.open(name)
	if p == nil || err != nil {
		return err
	}
	defer func() { _ = p.Close() }()
	err = read(newScanner(p))
	var refusal *Refusal
	if err == nil || errors.As(err, &refusal) || a.ctx.Err() != nil {
		return err
	}
	return damaged(p.name, err)
}
