package grid

import (
	"reflect"
	"strings"
	"testing"
)

const odsNS = `xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" ` +
	`xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0" ` +
	`xmlns:number="urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0" xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0" office:version="1.3"`

// odsFile makes an .ods of automatic styles and what its spreadsheet holds.
func odsFile(t testing.TB, styles, sheets string, more ...made) []byte {
	t.Helper()
	return zipped(t, append([]made{
		{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"},
		{"content.xml", `<?xml version="1.0" encoding="UTF-8"?><office:document-content ` + odsNS + `><office:scripts/><office:font-face-decls/>` +
			`<office:automatic-styles>` + styles + `</office:automatic-styles><office:body><office:spreadsheet>` + sheets +
			`</office:spreadsheet></office:body></office:document-content>`},
	}, more...)...)
}

const odsStyles = `
<number:date-style style:name="N1"><number:day/><number:text>.</number:text><number:month/><number:text>.</number:text><number:year/></number:date-style>
<number:time-style style:name="N2"><number:hours/><number:text>:</number:text><number:minutes number:style="long"/></number:time-style>
<number:time-style style:name="N3" number:truncate-on-overflow="false"><number:hours/><number:text>:</number:text><number:minutes number:style="long"/></number:time-style>
<number:number-style style:name="N4"><number:number number:decimal-places="1"/><number:text> cm</number:text></number:number-style>
<style:style style:name="day" style:family="table-cell" style:data-style-name="N1"/>
<style:style style:name="clock" style:family="table-cell" style:data-style-name="N2"/>
<style:style style:name="spell" style:family="table-cell" style:parent-style-name="Default" style:data-style-name="N3"/>
<style:style style:name="length" style:family="table-cell" style:data-style-name="N4"/>
<style:style style:name="bold" style:family="table-cell" style:parent-style-name="length"><style:text-properties/></style:style>
<style:style style:name="shown" style:family="table"><style:table-properties table:display="true"/></style:style>
<style:style style:name="gone" style:family="table"><style:table-properties table:display="false"/></style:style>`

func TestODSCells(t *testing.T) {
	for _, c := range []struct{ cells, want string }{
		// The cells that Fwilhe's "Open Document knowledge base" shows for every type, as LibreOffice writes them.
		{`<table:table-cell office:value-type="string" calcext:value-type="string"><text:p>a</text:p></table:table-cell>` +
			`<table:table-cell office:value="1.2345" office:value-type="float" calcext:value-type="float" />` +
			`<table:table-cell office:date-value="2022-02-02" table:style-name="day" office:value-type="date" calcext:value-type="date" />` +
			`<table:table-cell office:time-value="PT19H03M00S" table:style-name="clock" office:value-type="time" calcext:value-type="time" />` +
			`<table:table-cell office:value="2.22" office:value-type="currency" office:currency="EUR" calcext:value-type="currency" />` +
			`<table:table-cell office:value="-4.99" office:value-type="currency" office:currency="EUR" calcext:value-type="currency" />` +
			`<table:table-cell office:value="0.4223" office:value-type="percentage" calcext:value-type="percentage" />` +
			`<table:table-cell office:boolean-value="true" office:value-type="boolean"/>`, "a|1.2345|2022-02-02|19:03|2.22|-4.99|42.23%|yes"},
		{`<table:table-cell table:style-name="spell" office:value-type="time" office:time-value="PT01H30M00S"><text:p>1:30</text:p></table:table-cell>` +
			`<table:table-cell table:style-name="clock" office:value-type="time" office:time-value="PT25H30M00S"/>` +
			`<table:table-cell office:value-type="time" office:time-value="PT06H30M00.000S"/>` +
			`<table:table-cell table:style-name="spell" office:value-type="time" office:time-value="-P1DT90M"/>`, "1:30|25:30|06:30|-25:30"},
		{`<table:table-cell office:value-type="date" office:date-value="2025-04-30T06:30:00"/>` +
			`<table:table-cell table:style-name="clock" office:value-type="date" office:date-value="2025-04-30T06:29:59.999"/>` +
			`<table:table-cell table:style-name="day" office:value-type="date" office:date-value="2025-04-30T06:30:00"/>`, "2025-04-30 06:30|06:30|2025-04-30"},
		{`<table:table-cell table:style-name="length" office:value-type="float" office:value="12.125"/><table:table-cell table:style-name="bold" office:value-type="float" office:value="5"/>`,
			"12.1250 cm|5 cm"},
		// Paragraphs, blanks, notes (OpenDocument 1.3, part 3, <text:p>, <text:s>, <text:tab>, <office:annotation>).
		{`<table:table-cell office:value-type="string"><office:annotation><text:p>a note</text:p></office:annotation><text:p>one<text:s text:c="2"/>two</text:p>` +
			`<text:p><text:span>three</text:span><text:tab/>four &amp; <text:a>five</text:a></text:p></table:table-cell>` +
			`<table:table-cell office:value-type="string" office:string-value="stored"><text:p>shown</text:p></table:table-cell>`, "one  two\nthree\tfour & five|stored"},
		{`<table:table-cell table:formula="of:=1/0" office:value-type="string" office:string-value="" calcext:value-type="error"><text:p>#DIV/0!</text:p></table:table-cell>` +
			`<table:table-cell table:formula="of:=1+1" office:value-type="float" office:value="2"><text:p>2</text:p></table:table-cell>` +
			`<table:table-cell table:formula="of:=SUM([.A1])"/>`, "#DIV/0!|2|" + NotComputed},
		// Repeated, covered and spanned cells (OpenDocument 1.3, part 3, 9.1.4 and 9.1.5).
		{`<table:table-cell table:number-columns-repeated="2"/><table:table-cell table:number-columns-repeated="3" office:value-type="float" office:value="1"/>` +
			`<table:table-cell table:number-columns-spanned="2" table:number-rows-spanned="1" office:value-type="string"><text:p>m</text:p></table:table-cell>` +
			`<table:covered-table-cell office:value-type="string"><text:p>under</text:p></table:covered-table-cell><table:table-cell office:value-type="float" office:value="2"/>` +
			`<table:table-cell table:number-columns-repeated="16375"/>`, "||1|1|1|m||2"},
	} {
		tables, _ := read(t, odsFile(t, odsStyles, `<table:table table:name="S"><table:table-column/><table:table-row>`+c.cells+`</table:table-row></table:table>`))
		if got := strings.Join(tables[0].Rows[0].Cells, "|"); got != c.want {
			t.Errorf("%s\nis %s\nwant %s", c.cells, got, c.want)
		}
	}
}

func TestODSSheets(t *testing.T) {
	cell := func(v string) string {
		return `<table:table-cell office:value-type="string"><text:p>` + v + `</text:p></table:table-cell>`
	}
	named := made{"styles.xml", `<office:document-styles ` + odsNS + `><office:styles><number:date-style style:name="N9"><number:year/></number:date-style>` +
		`<style:style style:name="named" style:family="table-cell" style:data-style-name="N9"/></office:styles></office:document-styles>`}
	tables, notes := read(t, odsFile(t, odsStyles, `<table:calculation-settings/><table:table table:name="April &amp; May" table:style-name="shown">
<office:forms/><table:shapes><table:table-cell/></table:shapes>
<table:table-column table:number-columns-repeated="2"/><table:table-column table:visibility="collapse" table:default-cell-style-name="named"/><table:table-column table:number-columns-repeated="16381"/>
<table:table-header-rows><table:table-row>`+cell("head")+`</table:table-row></table:table-header-rows>
<table:table-row table:number-rows-repeated="3"><table:table-cell table:number-columns-repeated="16384"/></table:table-row>
<table:table-row table:visibility="collapse">`+cell("a")+`</table:table-row>
<table:table-row table:visibility="filter">`+cell("b")+`</table:table-row>
<table:table-row-group table:display="false"><table:table-row-group><table:table-row>`+cell("c")+`</table:table-row></table:table-row-group><table:table-row>`+cell("d")+`</table:table-row></table:table-row-group>
<table:table-row table:number-rows-repeated="2"><table:table-cell table:number-columns-spanned="2" table:number-rows-spanned="1"/><table:covered-table-cell/>
<table:table-cell office:value-type="date" office:date-value="2025-04-30T10:00:00"/></table:table-row>
<table:table-row table:number-rows-repeated="1048566"><table:table-cell table:number-columns-repeated="16384"/></table:table-row></table:table>
<table:table table:name="Lists" table:style-name="gone"><table:table-row>`+cell("x")+`</table:table-row></table:table><table:named-expressions/>`, named))
	want := []Table{
		{"April & May", false, []Row{
			{1, []string{"head"}, false}, {5, []string{"a"}, true}, {6, []string{"b"}, true}, {7, []string{"c"}, true}, {8, []string{"d"}, true},
			{9, []string{"", "", "2025-04-30"}, false}, {10, []string{"", "", "2025-04-30"}, false},
		}, []Range{{9, 0, 9, 1}}},
		{"Lists", true, []Row{{1, []string{"x"}, false}}, nil},
	}
	if !reflect.DeepEqual(tables, want) {
		t.Errorf("read %+v\nwant %+v", tables, want)
	}
	if len(notes) != 1 || notes[0] != `Sheet "April & May": column C is hidden; it is read like the others.` {
		t.Errorf("notes %q", notes)
	}
}

func TestODSFormulasAreNotComputed(t *testing.T) {
	_, notes := read(t, odsFile(t, "", `<table:table table:name="S"><table:table-row><table:table-cell/><table:table-cell table:formula="of:=SUM([.A1:.A3])"/></table:table-row></table:table>`))
	if len(notes) != 1 || !strings.Contains(notes[0], `: B1 of sheet "S"`) {
		t.Errorf("notes %q", notes)
	}
}

// TestDurations reads the durations that XML Schema part 2, 3.2.6, shows, as far as they are of days and less.
func TestDurations(t *testing.T) {
	for s, want := range map[string]float64{"-P120D": -120 * day, "P3DT10H30M": 3*day + 37800, "PT1004199059S": 1004199059, "PT130S": 130, "PT2M10S": 130, "P1DT2S": day + 2, "PT0.5S": 0.5} {
		if got, ok := duration(s); !ok || got != want {
			t.Errorf("%s is %v s, %v; want %v", s, got, ok, want)
		}
	}
	for _, s := range []string{"", "P1Y", "1H", "PT1H2", "PT-1H", "PTH", "P1M", "T1H"} {
		if got, ok := duration(s); ok {
			t.Errorf("%q is taken for %v s", s, got)
		}
	}
}
