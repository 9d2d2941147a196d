package grid

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"unicode/utf16"
)

// What a file is, by how it begins.
const (
	zipFile  = "a zip archive"
	oleFile  = "an old Office file"
	shortcut = "a shortcut to Google Sheets, which holds no data"
	xmlFile  = "an XML file"
)

const asXLSX = "open it in your spreadsheet program, save it as .xlsx, .ods or CSV and import that"

// other refuses what is no workbook that is read, by what it is.
func other(kind string, r io.ReaderAt, size int64) error {
	switch kind {
	case shortcut:
		return refuse("open it in the browser and download it (File, Download) as .xlsx, .ods or CSV", "the file is %s", kind)
	case oleFile:
		if ole(r, size, "EncryptedPackage") {
			return errEncrypted
		}
		return refuse(asXLSX, "the file is a workbook of the old kind (.xls), or another old Office file")
	case "":
		return refuse(asXLSX, "the file is no workbook")
	}
	return refuse(asXLSX, "the file is %s, not a workbook", kind)
}

// ole reports whether an OLE file has a stream of a name, which its directory holds in UTF-16.
func ole(r io.ReaderAt, size int64, name string) bool {
	var wanted []byte
	for _, unit := range utf16.Encode([]rune(name)) {
		wanted = append(wanted, byte(unit), byte(unit>>8))
	}
	const step = 1 << 16
	buf := make([]byte, step+len(wanted))
	for at := int64(0); at < size; at += step {
		n, err := r.ReadAt(buf, at)
		if bytes.Contains(buf[:n], wanted) {
			return true
		}
		if err != nil {
			return false
		}
	}
	return false
}

// otherArchive refuses a zip that is no workbook, by what it is.
func (a *archive) otherArchive() error {
	kind := ""
	for name := range a.parts {
		switch {
		case strings.HasSuffix(name, ".iwa"), name == "index.zip":
			return refuse("export it (File, Export To) as Excel or CSV and import that", "the file is a Numbers document")
		case name == "xl/workbook.bin":
			return refuse(asXLSX, "the file is a binary workbook (.xlsb)")
		case name == "encrypted-package":
			return errEncrypted
		case name == "word/document.xml", name == "content.xml":
			kind = "a text or another document"
		case strings.HasPrefix(name, "ppt/"):
			kind = "a presentation"
		}
	}
	if kind != "" {
		return refuse("put the table into a spreadsheet and import that", "the file is %s, not a workbook", kind)
	}
	return refuse("unpack it and import the sheets in it", "the file is a zip archive, not a workbook")
}

// openDocument reports whether an OpenDocument file is a spreadsheet. Files without a type are taken for one.
func (a *archive) openDocument() bool {
	p, err := a.open("mimetype")
	if p == nil {
		return err == nil
	}
	defer func() { _ = p.Close() }()
	kind, err := io.ReadAll(io.LimitReader(p, 200))
	return (err == nil || errors.Is(err, io.EOF)) && strings.HasPrefix(string(kind), "application/vnd.oasis.opendocument.spreadsheet")
}
