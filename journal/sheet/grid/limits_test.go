package grid

import (
	"archive/zip"
	"bufio"
	"bytes"
	"compress/flate"
	"context"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"strings"
	"testing"
	"time"
)

// bomb makes an .xlsx whose sheet unzips to a text and then the same megabyte over and over. Each megabyte is
// compressed by itself, so that gigabytes are made at once. claimed is the size that its list of parts tells.
func bomb(t testing.TB, begin, repeated string, megabytes int, claimed uint64) []byte {
	t.Helper()
	deflated := func(text string) []byte {
		var out bytes.Buffer
		w, err := flate.NewWriter(&out, flate.BestCompression)
		if err == nil {
			_, err = io.WriteString(w, text)
		}
		if err == nil {
			err = w.Flush()
		}
		if err != nil {
			t.Fatal(err)
		}
		return out.Bytes()
	}
	data := deflated(begin)
	chunk := deflated(strings.Repeat(repeated, 1<<20/len(repeated)))
	data = append(data, bytes.Repeat(chunk, megabytes)...)
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, p := range frame("") {
		w, err := z.Create(p.name)
		if err == nil {
			_, err = io.WriteString(w, p.text.(string))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	w, err := z.CreateRaw(&zip.FileHeader{Name: "xl/worksheets/sheet1.xml", Method: zip.Deflate,
		CompressedSize64: uint64(len(data)), UncompressedSize64: claimed, CRC32: crc32.ChecksumIEEE(nil)})
	if err == nil {
		_, err = w.Write(data)
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// sheetOf streams a part, so that tests need not hold it.
func sheetOf(write func(w *bufio.Writer)) func(io.Writer) error {
	return func(to io.Writer) error {
		w := bufio.NewWriter(to)
		write(w)
		return w.Flush()
	}
}

func TestBombsAreRefused(t *testing.T) {
	const begin = "<worksheet " + mainNS + "><sheetData>"
	long := func(before, of, after string, n int) string { return before + strings.Repeat(of, n) + after }
	cases := map[string]struct {
		file []byte
		want string // part of what is said
	}{
		"10 GB of zeros":                      {bomb(t, "", "\x00", 10<<10, 10<<30), "larger than 256 MB"},
		"10 GB of zeros that claim to be few": {bomb(t, begin, "\x00", 10<<10, 1000), "damaged"},
		"300 MB of blanks in a comment":       {bomb(t, begin+"<!--", " ", 300, 60<<20), "damaged"},
		"300 MB of blank rows":                {bomb(t, begin, "<row/>", 300, 60<<20), "damaged"},
		"300 MB of blank cells":               {bomb(t, begin+"<row>", "<c/>", 300, 60<<20), "damaged"},
		"200 MB of zeros":                     {bomb(t, "", "\x00", 200, 200<<20), "over 400 times its size"},
		"a text of 300 MB":                    {bomb(t, begin+`<row><c t="str"><v>`, "a", 300, 60<<20), "damaged"},
		"an attribute of 300 MB":              {bomb(t, begin+`<row r="`, "1", 300, 60<<20), "damaged"},
		"deep nesting":                        {handmade(t, long("", "<a>", "", 1<<20)), "damaged"},
		"a million columns":                   {odsFile(t, "", `<table:table table:name="S"><table:table-row><table:table-cell table:number-columns-repeated="1000000" office:value-type="float" office:value="1"/></table:table-row></table:table>`), "more than 1000 columns"},
		"a million filled rows":               {odsFile(t, "", `<table:table table:name="S"><table:table-row table:number-rows-repeated="1000000"><table:table-cell office:value-type="float" office:value="1"/></table:table-row></table:table>`), "more than 2500000 cells"},
		"a billion rows":                      {odsFile(t, "", `<table:table table:name="S"><table:table-row table:number-rows-repeated="999999999"/></table:table>`), "damaged"},
		"blanks by number":                    {odsFile(t, "", `<table:table table:name="S"><table:table-row><table:table-cell><text:p><text:s text:c="999999999"/></text:p></table:table-cell></table:table-row></table:table>`), "damaged"},
		"the last column":                     {handmade(t, `<sheetData><row><c r="XFD1"><v>1</v></c></row></sheetData>`), "more than 1000 columns"},
		"an entity that grows":                {handmade(t, `<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;">]><sheetData/>`), "damaged"},
		"an unknown entity":                   {handmade(t, `<sheetData><row><c t="str"><v>&b;</v></c></row></sheetData>`), "damaged"},
		"many merged cells":                   {handmade(t, "<mergeCells>"+strings.Repeat(`<mergeCell ref="A1:B2"/>`, maxMerged+1)+"</mergeCells>"), "damaged"},
		"merged cells that overlap": {handmade(t, "<sheetData>"+long("", "<row><c><v>1</v></c></row>", "", 2000)+"</sheetData>"+
			"<mergeCells>"+strings.Repeat(`<mergeCell ref="A1:XFD1048576"/>`, 5000)+"</mergeCells>"), "damaged"},
		"many sheets": {zipped(t, append(frame("")[:1:1], frame("")[2], made{"xl/worksheets/sheet1.xml", "<worksheet/>"},
			made{"xl/workbook.xml", "<workbook><sheets>" + strings.Repeat(`<sheet name="S" r:id="rId1"/>`, 300) + "</sheets></workbook>"})...), "more than 200 sheets"},
		"a huge table of texts": {zipped(t, append(frame(""), made{"xl/worksheets/sheet1.xml", "<worksheet/>"}, made{"xl/sharedStrings.xml", sheetOf(func(w *bufio.Writer) {
			fmt.Fprint(w, "<sst>")
			for i := range 2_000_000 {
				fmt.Fprintf(w, "<si><t>%d fish of %x</t></si>", i, i*i)
			}
			fmt.Fprint(w, "</sst>")
		})})...), "more than 40 MB of text"},
		"many parts": {manyParts(t), "more parts than a workbook has"},
	}
	type refused = struct {
		file []byte
		want string
	}
	cases["more cells than are read"] = refused{zipped(t, append(frame(""), made{"xl/worksheets/sheet1.xml", sheetOf(func(w *bufio.Writer) {
		fmt.Fprint(w, "<worksheet><sheetData>")
		for i := range 130_000 {
			fmt.Fprint(w, "<row>")
			for c := range 20 {
				fmt.Fprintf(w, "<c><v>%d</v></c>", (i*7+c*31)%1000)
			}
			fmt.Fprint(w, "</row>")
		}
		fmt.Fprint(w, "</sheetData></worksheet>")
	})})...), "more than 2500000 cells, too many for a workbook here; save the sheet as CSV"}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			began := time.Now()
			_, _, err := Read(context.Background(), bytes.NewReader(c.file), int64(len(c.file)))
			var refusal *Refusal
			if !errors.As(err, &refusal) || !strings.Contains(err.Error(), c.want) || refusal.Remedy == "" {
				t.Errorf("said %v; want %q", err, c.want)
			}
			if took := time.Since(began); took > 20*time.Second {
				t.Errorf("took %v", took)
			}
		})
	}
}

func manyParts(t testing.TB) []byte {
	parts := frame("")
	for i := range 60_000 {
		parts = append(parts, made{fmt.Sprintf("xl/media/%d.png", i), ""})
	}
	return zipped(t, parts...)
}

// TestBlanksCostNothing reads what programs write of blank cells: a million rows, sixteen thousand columns.
func TestBlanksCostNothing(t *testing.T) {
	file := odsFile(t, "", strings.Repeat(`<table:table table:name="S"><table:table-row table:number-rows-repeated="1048576"><table:table-cell table:number-columns-repeated="16384"/></table:table-row></table:table>`, 100))
	if took := testing.AllocsPerRun(1, func() { read(t, file) }); took > 3000 {
		t.Errorf("%v allocations", took)
	}
	tables, _ := read(t, handmade(t, `<sheetData><row r="1048576"><c r="A1048576"><v>1</v></c><c r="XFD1048576" s="1"/></row></sheetData>`))
	if r := tables[0].Rows; len(r) != 1 || r[0].Number != 1048576 || len(r[0].Cells) != 1 {
		t.Errorf("read %v", r)
	}
}

func TestReadingIsCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	file := handmade(t, `<sheetData><row><c><v>1</v></c></row></sheetData>`)
	if _, _, err := Read(ctx, bytes.NewReader(file), int64(len(file))); !errors.Is(err, context.Canceled) {
		t.Errorf("said %v", err)
	}
}
