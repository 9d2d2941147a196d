package grid

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"testing"
)

// seeds are workbooks of both kinds.
func seeds(t testing.TB) [][]byte {
	t.Helper()
	season, err := os.ReadFile("../../../testdata/samples/season-workbook.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	return [][]byte{
		season,
		handmade(t, `<cols><col min="2" max="2" hidden="1"/></cols><sheetData><row r="1" hidden="1"><c r="A1" t="s"><v>0</v></c><c r="B1" s="1"><f>SUM(A1:A2)</f></c><c t="inlineStr"><is><t>a&amp;b</t></is></c>`+
			`<c t="d"><v>2025-04-30</v></c></row><row/><row><c t="b"><v>1</v></c><c><f t="shared" si="0" ref="A1">A1+1</f><v></v></c></row></sheetData><mergeCells><mergeCell ref="A1:B2"/></mergeCells>`,
			made{"xl/sharedStrings.xml", `<sst><si><t>x_x000A_y</t></si><si><r><t>r</t></r><rPh><t>p</t></rPh></si></sst>`},
			made{"xl/styles.xml", `<styleSheet><numFmts><numFmt numFmtId="170" formatCode="[h]:mm&quot; h&quot;"/></numFmts><cellXfs><xf numFmtId="14"/><xf numFmtId="170"/></cellXfs></styleSheet>`}),
		odsFile(t, odsStyles, `<table:table table:name="S" table:style-name="gone"><table:table-column table:number-columns-repeated="3" table:visibility="collapse" table:default-cell-style-name="day"/>`+
			`<table:table-row table:number-rows-repeated="3"><table:table-cell table:number-columns-repeated="2" office:value-type="float" office:value="1.5"/>`+
			`<table:table-cell table:number-columns-spanned="2" table:number-rows-spanned="2" office:value-type="date" office:date-value="2025-04-30T06:30:00"/><table:covered-table-cell/></table:table-row>`+
			`<table:table-row-group table:display="false"><table:table-row><table:table-cell office:value-type="time" office:time-value="PT1H"><text:p>a<text:s text:c="3"/></text:p></table:table-cell>`+
			`<table:table-cell table:formula="of:=1"/></table:table-row></table:table-row-group></table:table>`),
	}
}

// holds reads a file, and what is read keeps to the limits and the form that tables have.
func holds(t *testing.T, file []byte) {
	t.Helper()
	tables, _, err := Read(context.Background(), bytes.NewReader(file), int64(len(file)))
	var refusal *Refusal
	if err != nil {
		if !errors.As(err, &refusal) || refusal.Remedy == "" {
			t.Fatalf("an error without a remedy: %v", err)
		}
		return
	}
	cells := 0
	for _, table := range tables {
		last := 0
		for _, r := range table.Rows {
			if r.Number <= last || len(r.Cells) == 0 || len(r.Cells) > maxColumns {
				t.Fatalf("row %d of %d cells after row %d", r.Number, len(r.Cells), last)
			}
			last = r.Number
			cells += len(r.Cells)
		}
		for _, m := range table.Merged {
			if m.Top < 1 || m.Left < 0 || m.Bottom < m.Top || m.Right < m.Left {
				t.Fatalf("merged %v", m)
			}
		}
	}
	if cells > maxCells {
		t.Fatalf("%d cells", cells)
	}
}

// FuzzFile damages the bytes of a file.
func FuzzFile(f *testing.F) {
	for _, seed := range seeds(f) {
		f.Add(seed, uint32(40), byte('<'))
		f.Add(seed, uint32(len(seed)-30), byte(0))
	}
	f.Fuzz(func(t *testing.T, file []byte, at uint32, b byte) {
		if len(file) == 0 {
			return
		}
		file = bytes.Clone(file)
		file[int(at)%len(file)] = b
		holds(t, file)
		holds(t, file[:int(at)%len(file)])
	})
}

// FuzzParts damages the XML within a file: it cuts a piece out of a part and puts another one there.
func FuzzParts(f *testing.F) {
	for kind := range seeds(f) {
		for part := range uint8(7) {
			f.Add(uint8(kind), part, uint32(60), uint8(3), `"`)
			f.Add(uint8(kind), part, uint32(300), uint8(40), `<c r="ZZ9" t="s" s="7"><f>A1</f></c>`)
			f.Add(uint8(kind), part, uint32(700), uint8(0), `99999999`)
		}
	}
	all := seeds(f)
	f.Fuzz(func(t *testing.T, kind, part uint8, at uint32, cut uint8, put string) {
		file := all[int(kind)%len(all)]
		z, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
		if err != nil {
			t.Fatal(err)
		}
		var parts []made
		for i, p := range z.File {
			r, err := p.Open()
			if err != nil {
				t.Fatal(err)
			}
			text, err := io.ReadAll(r)
			if err != nil {
				t.Fatal(err)
			}
			if i == int(part)%len(z.File) && len(text) > 0 {
				from := int(at) % len(text)
				to := min(from+int(cut), len(text))
				text = fmt.Appendf(nil, "%s%s%s", text[:from], put, text[to:])
			}
			parts = append(parts, made{p.Name, string(text)})
		}
		holds(t, zipped(t, parts...))
	})
}

// FuzzFormats reads codes of number formats.
func FuzzFormats(f *testing.F) {
	for _, code := range []string{"yyyy-mm-dd", "[h]:mm", `0.0" cm"`, "[$-407]d. mmm yyyy;@", "#,##0.00", "[<1]h:mm;0", `"`, "[", `\`, "m", "General"} {
		f.Add(code, 45777.27)
	}
	f.Fuzz(func(t *testing.T, code string, v float64) {
		if v != v || v > 1e300 || v < -1e300 {
			return
		}
		format := coded(code)
		if format.show(v) == "" {
			t.Errorf("%v as %q is nothing", v, code)
		}
	})
}
