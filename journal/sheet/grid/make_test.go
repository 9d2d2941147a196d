package grid

import (
	"archive/zip"
	"bytes"
	"io"
	"testing"
)

// part of a file made for a test: its name, and its text or what writes it.
type made struct {
	name string
	text any
}

// zipped makes a zip of parts.
func zipped(t testing.TB, parts ...made) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, p := range parts {
		w, err := z.Create(p.name)
		if err != nil {
			t.Fatal(err)
		}
		switch text := p.text.(type) {
		case string:
			_, err = io.WriteString(w, text)
		case func(io.Writer) error:
			err = text(w)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

const (
	mainNS   = `xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"`
	relsNS   = `xmlns="http://schemas.openxmlformats.org/package/2006/relationships"`
	relTypes = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
)

// frame are the parts that make a workbook of one sheet.
func frame(workbook string) []made {
	return []made{
		{"_rels/.rels", `<Relationships ` + relsNS + `><Relationship Id="rId1" Type="` + relTypes + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", `<workbook ` + mainNS + `>` + workbook + `<sheets><sheet name="S" sheetId="1" r:id="rId1"/></sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", `<Relationships ` + relsNS + `><Relationship Id="rId1" Type="` + relTypes + `/worksheet" Target="worksheets/sheet1.xml"/>` +
			`<Relationship Id="rId2" Type="` + relTypes + `/sharedStrings" Target="/xl/sharedStrings.xml"/><Relationship Id="rId3" Type="` + relTypes + `/styles" Target="styles.xml"/></Relationships>`},
	}
}

// handmade makes an .xlsx whose only sheet has this XML.
func handmade(t testing.TB, sheet string, more ...made) []byte {
	t.Helper()
	parts := append(frame(""), made{"xl/worksheets/sheet1.xml", `<?xml version="1.0"?><worksheet ` + mainNS + `>` + sheet + `</worksheet>`})
	return zipped(t, append(parts, more...)...)
}
