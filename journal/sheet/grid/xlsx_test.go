package grid

import (
	"bytes"
	"context"
	"os"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

func read(t *testing.T, file []byte) ([]Table, []string) {
	t.Helper()
	tables, notes, err := Read(context.Background(), bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	return tables, notes
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// written gives the bytes of a workbook that another library writes.
func written(t *testing.T, fill func(f *excelize.File)) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	fill(f)
	var out bytes.Buffer
	must(t, f.Write(&out))
	return out.Bytes()
}

func style(t *testing.T, f *excelize.File, cell, code string) {
	t.Helper()
	id, err := f.NewStyle(&excelize.Style{CustomNumFmt: &code})
	must(t, err)
	must(t, f.SetCellStyle("Sheet1", cell, cell, id))
}

func TestXLSXCells(t *testing.T) {
	day := time.Date(2025, 4, 30, 6, 30, 0, 0, time.UTC)
	for _, y1904 := range []bool{false, true} {
		file := written(t, func(f *excelize.File) {
			must(t, f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &y1904}))
			for cell, v := range map[string]any{
				"A1": "Date", "B1": "<Fish> & \"chips\"", "C1": "", "D1": " x ", "A2": day, "B2": day, "C2": day, "D2": 90 * time.Minute, "E2": 0.270833333333333,
				"F2": 12.125, "G2": true, "H2": false, "I2": 1234567, "J2": 0.5, "K2": "1.234", "L2": "=SUM", "M2": "two\nlines",
			} {
				must(t, f.SetCellValue("Sheet1", cell, v))
			}
			style(t, f, "A2", "dd/mm/yyyy")
			style(t, f, "B2", "yyyy-mm-dd h:mm")
			style(t, f, "C2", "h:mm")
			style(t, f, "D2", "[h]:mm")
			style(t, f, "E2", "hh:mm")
			style(t, f, "I2", `#,##0" mm"`)
			style(t, f, "J2", "0%")
			must(t, f.SetCellRichText("Sheet1", "C1", []excelize.RichTextRun{{Text: "rich"}, {Text: " text", Font: &excelize.Font{Bold: true}}}))
		})
		tables, notes := read(t, file)
		want := [][]string{
			{"Date", "<Fish> & \"chips\"", "rich text", " x "},
			{"2025-04-30", "2025-04-30 06:30", "06:30", "1:30", "06:30", "12.1250", "yes", "no", "1234567 mm", "50%", "1.234", "=SUM", "two\nlines"},
		}
		for i, row := range tables[0].Rows {
			if !reflect.DeepEqual(row.Cells, want[i]) {
				t.Errorf("1904 %v: row %d is\n%q\nwant\n%q", y1904, i+1, row.Cells, want[i])
			}
		}
		if len(notes) != 0 || len(tables) != 1 {
			t.Errorf("%d tables and notes %q", len(tables), notes)
		}
	}
}

func TestXLSXSheets(t *testing.T) {
	file := written(t, func(f *excelize.File) {
		for _, name := range []string{"April", "Prices", "Lists"} {
			_, err := f.NewSheet(name)
			must(t, err)
			must(t, f.SetCellValue(name, "B3", name))
		}
		must(t, f.SetCellValue("Sheet1", "A1", "x"))
		must(t, f.SetSheetVisible("Prices", false))
		must(t, f.SetSheetVisible("Lists", false, true))
		must(t, f.SetCellValue("April", "B4", "hidden"))
		must(t, f.SetCellValue("April", "C9", "under"))
		must(t, f.SetCellValue("April", "B9", "merged"))
		must(t, f.SetRowVisible("April", 4, false))
		must(t, f.SetColVisible("April", "C:D", false))
		must(t, f.SetCellValue("April", "D20", 1))
		must(t, f.SetCellValue("April", "E20", 2))
		must(t, f.MergeCell("April", "E20", "F21"))
	})
	tables, notes := read(t, file)
	if len(tables) != 4 {
		t.Fatalf("%d tables", len(tables))
	}
	for i, want := range []Table{{Name: "Sheet1"}, {Name: "April"}, {Name: "Prices", Hidden: true}, {Name: "Lists", Hidden: true}} {
		if tables[i].Name != want.Name || tables[i].Hidden != want.Hidden {
			t.Errorf("sheet %d is %s, hidden %v", i, tables[i].Name, tables[i].Hidden)
		}
	}
	april := tables[1]
	want := []Row{
		{3, []string{"", "April"}, false}, {4, []string{"", "hidden"}, true}, {9, []string{"", "merged", "under"}, false},
		{20, []string{"", "", "", "1", "2"}, false},
	}
	if !reflect.DeepEqual(april.Rows, want) {
		t.Errorf("rows %+v\nwant %+v", april.Rows, want)
	}
	if !reflect.DeepEqual(april.Merged, []Range{{20, 4, 21, 5}}) {
		t.Errorf("merged %v", april.Merged)
	}
	if len(notes) != 1 || notes[0] != `Sheet "April": columns C, D are hidden; they are read like the others.` {
		t.Errorf("notes %q", notes)
	}
}

// TestUnderMergedCells takes texts that a merged cell covers for what nobody sees.
func TestUnderMergedCells(t *testing.T) {
	sheet := `<row r="1"><c r="A1"><v>1</v></c><c r="B1"><v>2</v></c></row><row r="2"><c r="A2"><v>3</v></c><c r="B2"><v>4</v></c><c r="C2"><v>5</v></c></row>`
	tables, _ := read(t, handmade(t, "<sheetData>"+sheet+`</sheetData><mergeCells><mergeCell ref="A1:B2"/></mergeCells>`))
	if got := tables[0].Rows[0].Cells[0] + "|" + strings.Join(tables[0].Rows[1].Cells, "|"); got != "1|||5" {
		t.Errorf("read %s", got)
	}
}

func TestSeasonWorkbook(t *testing.T) {
	file, err := os.ReadFile("../../../testdata/samples/season-workbook.xlsx")
	must(t, err)
	tables, notes := read(t, file)
	if len(tables) != 3 {
		t.Fatalf("%d tables", len(tables))
	}
	for i, want := range []struct {
		name, first, tangles string
		rows                 int
		merged               int
	}{{"April", "2026-04-02", "7", 15, 15}, {"May", "2026-05-02", "5", 16, 12}, {"June", "2026-06-02", "14", 18, 12}} {
		got := tables[i]
		last := got.Rows[len(got.Rows)-1]
		if got.Name != want.name || got.Rows[0].Number != 1 || got.Rows[1].Number != 3 || got.Rows[2].Cells[0] != want.first ||
			len(got.Rows) != want.rows || len(got.Merged) != want.merged || last.Cells[0] != "Total" || last.Cells[7] != want.tangles {
			t.Errorf("sheet %d: %s, %d rows, first %q, last %q, %d merged", i, got.Name, len(got.Rows), got.Rows[2].Cells, last.Cells, len(got.Merged))
		}
	}
	if len(notes) != 1 || notes[0] != "3 formulas have no value stored in the workbook and were computed." {
		t.Errorf("notes %q", notes)
	}
}

// TestHandmadeSheets reads what other programs write than the one above: texts within cells, rows and cells without
// references, prefixes, results of formulas, errors, pronunciations, escapes.
func TestHandmadeSheets(t *testing.T) {
	shared := made{"xl/sharedStrings.xml", `<sst ` + mainNS + `><si><t>plain</t></si><si><r><t>two </t></r><r><rPr><b/></rPr><t xml:space="preserve">runs</t></r>` +
		`<rPh sb="0" eb="1"><t>said so</t></rPh><phoneticPr fontId="1"/></si><si><t>a_x000A_b _x005F_x0041_ _x1_</t></si><si><t/></si></sst>`}
	styles := made{"xl/styles.xml", `<styleSheet ` + mainNS + `><numFmts count="1"><numFmt numFmtId="164" formatCode="yyyy\-mm\-dd\ hh:mm"/></numFmts>` +
		`<cellStyleXfs><xf numFmtId="9"/></cellStyleXfs><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/><xf numFmtId="14"/><xf numFmtId="46"/><xf numFmtId="20"/><xf numFmtId="10"/></cellXfs></styleSheet>`}
	for _, c := range []struct{ row, want string }{
		{`<row><c t="s"><v>0</v></c><c t="s"><v>1</v></c><c t="s"><v>2</v></c><c t="s"><v>3</v></c><c><v>4</v></c></row>`, "plain|two runs|a\nb _x0041_ _x1_||4"},
		{`<row r="7"><c r="C7" t="inlineStr"><is><r><t>in</t></r><r><t>line</t></r></is></c></row>`, "||inline"},
		{`<row><c t="str"><f>A1&amp;B1</f><v>&lt;x&gt; &#233;&#x20AC;</v></c><c t="str"><f>""</f><v></v></c><c t="e"><f>1/0</f><v>#DIV/0!</v></c><c t="b"><v>0</v></c></row>`, "<x> é€||#DIV/0!|no"},
		{`<row><c><f>1+1</f><v>2</v></c><c><v>1.5E-1</v></c><c><v>-0</v></c><c><v>0.30000000000000004</v></c></row>`, "2|0.15|0|0.3"},
		{`<row><c s="1"><v>45777.27083333</v></c><c s="2"><v>45777</v></c><c s="3"><v>0.0625</v></c><c s="4"><v>0.25</v></c><c s="5"><v>0.125</v></c><c s="99"><v>3</v></c></row>`,
			"2025-04-30 06:30|2025-04-30|1:30|06:00|12.5%|3"},
		{`<row><c t="d" s="2"><v>2025-04-30T00:00:00</v></c><c t="d" s="1"><v>2025-04-30T06:29:59.9999Z</v></c><c t="d" s="4"><v>06:30:00</v></c></row>`, "2025-04-30|2025-04-30 06:30|06:30"},
		{`<row><c t="inlineStr"><is><t><![CDATA[a & <b>]]></t></is></c><!-- c --><?x y?></row>`, "a & <b>"},
		{`<row r="2"/><row r="3" spans="1:2" ht='15' x14ac:dyDescent="0.2"><c r="B3"><v>1</v></c><c r="D3" s="2"/></row>`, "|1"},
	} {
		for _, prefix := range []string{"", "x:"} {
			row := c.row
			if prefix != "" && !strings.Contains(row, "CDATA") { // as some libraries write every element
				row = strings.NewReplacer("</", "</x:", "<", "<x:").Replace(row)
			}
			tables, _ := read(t, handmade(t, "<"+prefix+"sheetData>"+row+"</"+prefix+"sheetData>", shared, styles))
			if got := strings.Join(tables[0].Rows[0].Cells, "|"); got != c.want {
				t.Errorf("%s\nis %s\nwant %s", row, got, c.want)
			}
		}
	}
}

func TestFormulasWithoutValues(t *testing.T) {
	file := written(t, func(f *excelize.File) {
		_, err := f.NewSheet("May fish")
		must(t, err)
		for r := 1; r <= 4; r++ {
			cell, _ := excelize.CoordinatesToCellName(1, r)
			must(t, f.SetCellValue("Sheet1", cell, r*10))
			must(t, f.SetCellValue("May fish", cell, r))
		}
		for cell, formula := range map[string]string{
			"B1": "SUM(A1:A4)", "B2": "B1/2", "B3": "A1/0", "B4": `IF(A1>5,"yes","no")`, "B5": "SUM('May fish'!A:A)", "B6": "A2-A1>5", "B7": "DATE(2025,4,30)",
			"B8": "TIME(20,15,0)-TIME(18,45,0)", "B9": "ROUND(A1/3,3)", "B10": "TODAY()", "B11": "B10+1", "B12": `A1&" mm"`, "B13": "SUM(A1:XFD1048575)",
			"B14": "NOSUCH(1)", "B15": "SUM(B16,1)", "B16": "SUM(B15,1)", "B17": "SUM(B1:B9)+SUM(B10)", "B18": "IFERROR(B10,0)", "C1": "B1*2",
		} {
			must(t, f.SetCellFormula("Sheet1", cell, formula))
		}
		style(t, f, "B7", "d.m.yyyy")
		style(t, f, "B8", "[h]:mm")
	})
	tables, notes := read(t, file)
	got := map[int]string{}
	for _, r := range tables[0].Rows {
		got[r.Number] = r.Cells[1]
	}
	for row, want := range map[int]string{1: "100", 2: "50", 3: "#DIV/0!", 4: "yes", 5: "10", 6: "yes", 7: "2025-04-30", 8: "1:30", 9: "3.3330",
		10: NotComputed, 11: NotComputed, 12: NotComputed, 13: NotComputed, 14: NotComputed, 15: NotComputed,
		16: NotComputed, 17: NotComputed, 18: NotComputed} {
		if got[row] != want {
			t.Errorf("B%d is %q; want %q", row, got[row], want)
		}
	}
	if len(notes) != 2 || !strings.Contains(notes[1], `computed: B10 of sheet "Sheet1"`) {
		t.Errorf("notes %q", notes)
	}
}

// TestStoredZeros calculates what a program that does not calculate has left at 0, and keeps values that are there.
func TestStoredZeros(t *testing.T) {
	sheet := `<sheetData><row><c><v>3</v></c><c><v>4</v></c><c><f>A1+B1</f><v>0</v></c><c><f>TODAY()</f><v>0</v></c><c><f>TODAY()</f><v>45777</v></c></row></sheetData>`
	parts := append(frame(`<calcPr fullCalcOnLoad="1"/>`), made{"xl/worksheets/sheet1.xml", "<worksheet " + mainNS + ">" + sheet + "</worksheet>"})
	parts[1].text = strings.Replace(parts[1].text.(string), `<calcPr fullCalcOnLoad="1"/>`, "", 1)
	parts[1].text = strings.Replace(parts[1].text.(string), "</sheets>", `</sheets><calcPr fullCalcOnLoad="1"/>`, 1)
	tables, _ := read(t, zipped(t, parts...))
	if got := strings.Join(tables[0].Rows[0].Cells, "|"); got != "3|4|7|"+NotComputed+"|45777" {
		t.Errorf("read %s", got)
	}
	tables, _ = read(t, handmade(t, sheet))
	if got := strings.Join(tables[0].Rows[0].Cells, "|"); got != "3|4|0|0|45777" {
		t.Errorf("without the wish for a calculation read %s", got)
	}
}

// TestFormulasOf1904 calculates nothing where days are counted from 1904, since dates would be four years off.
func TestFormulasOf1904(t *testing.T) {
	yes := true
	tables, notes := read(t, written(t, func(f *excelize.File) {
		must(t, f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &yes}))
		must(t, f.SetCellFormula("Sheet1", "A1", "DATE(2025,4,30)"))
		style(t, f, "A1", "d.m.yyyy")
	}))
	if got := tables[0].Rows[0].Cells[0]; got != NotComputed || len(notes) != 1 {
		t.Errorf("read %s and noted %q", got, notes)
	}
}
