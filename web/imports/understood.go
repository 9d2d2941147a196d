package imports

import (
	"cmp"
	"context"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"rigtally/journal/exchange"
	"rigtally/journal/sheet"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// readPage shows how files were understood, and what writing them would do.
type readPage struct {
	page.Frame
	Upload *upload
	Says   string // why nothing was written; "" when it was not asked for
	Form   *form.Form
	Files  []fileView
	Write  string // the words of the button; "" while something is open
	Open   string // what is open, in words

	Anglers, Waters []string // to choose from
}

// Address is where the upload is.
func (p readPage) Address() string { return p.Upload.address() }

// HeaderOf is the field that says of which column a choice is.
func (p readPage) HeaderOf(choice string) string { return strings.Replace(choice, ".as", ".header", 1) }

// HeaderAt is what it holds.
func (p readPage) HeaderAt(choice string) string { return p.Form.Text(p.HeaderOf(choice)) }

// fileView is a file as it was understood.
type fileView struct {
	Name, Says   string
	Why          string // it can't be read
	Stops        []stopView
	Columns      []columnView
	Settings     []form.Choice
	Texts        []form.Field
	Sheets       *form.Boxes
	Own          []form.Field // sheets that are read unless others are chosen
	SettingsOn   bool         // whether something of them is open
	Notes        []string
	Warnings     []string
	Accept       *form.Tick
	Slips        []string
	Bad          *badView
	Asked, Names []nameView // of which somebody must say, and the others that are new
	NamesOn      bool       // whether something was said of those
	Coming       *comingView
}

// stopView is a column that must be decided about.
type stopView struct{ Field, Says string }

// columnView is a column as it was understood, with what else it can be.
type columnView struct {
	Header          string
	As, Unit, Blank *form.Choice
	Groups          []form.OptionGroup // of As
	UnitSays        string
	Samples         []string
	Notes           []string
	Marked, Out     bool
}

// badView is the rows that can't be taken.
type badView struct {
	ID         string
	Rows, Says string
	List       []string
	More       string
	Href       string // of the rows as a file
	Leave      form.Tick
}

// mostListed is as many of a kind as are shown.
const mostListed = 30

func (s *pages) showRead(w http.ResponseWriter, r *http.Request, status int, fr page.Frame, u *upload, choices url.Values, says string) error {
	read, err := s.read(r.Context(), u, choices)
	if err != nil {
		return err
	}
	f := form.New(fr.Units)
	maps.Copy(f.Values, choices)
	p := readPage{Frame: fr, Upload: u, Says: says, Form: f}
	p.Wide = true
	if err := p.suggest(r.Context(), s); err != nil {
		return err
	}
	open, sessions, changes := 0, 0, 0
	for i, one := range read {
		v, adds, edits, err := s.view(r, f, choices, u, i, one)
		if err != nil {
			return err
		}
		if v.Coming == nil {
			open++
		}
		sessions, changes = sessions+adds, changes+edits
		p.Files = append(p.Files, v)
	}
	switch {
	case open > 0:
		p.Open = "Some of it is still open. It is marked above: say what it is, then read again."
	case sessions+changes == 0:
		p.Open = "There is nothing to write: the journal has all of it."
	case changes == 0:
		p.Write = "Write " + prose.Plural(sessions, "session", "sessions")
	default:
		p.Write = "Write " + prose.Plural(sessions, "session", "sessions") + " and " + prose.Plural(changes, "change", "changes")
	}
	return s.Render(w, status, "importread", p)
}

// suggest lists who and where there is.
func (p *readPage) suggest(ctx context.Context, s *pages) error {
	anglers, err := s.Store.Anglers(ctx)
	if err != nil {
		return err
	}
	for _, a := range anglers {
		p.Anglers = append(p.Anglers, a.Name)
	}
	waters, err := s.Store.Waters(ctx)
	for _, w := range waters {
		p.Waters = append(p.Waters, w.Name)
	}
	return err
}

// view shows one file, and says how many sessions and changes writing it would write.
func (s *pages) view(r *http.Request, f *form.Form, said url.Values, u *upload, i int, one fileRead) (v fileView, sessions, changes int, err error) {
	v = fileView{Name: u.Files()[i].Name, Why: one.why}
	v.settings(f, i, one)
	if one.sheet == nil {
		return v, 0, 0, nil
	}
	sh := one.sheet
	v.Says = sh.Summary()
	v.sheets(f, i, sh)
	v.columns(f, said, i, sh)
	v.Notes, v.Warnings = append(onPages(sh.Choices), skipped(sh)...), onPages(sh.Warnings)
	v.bad(f, u, i, sh)
	if one.preview == nil {
		return v, 0, 0, nil
	}
	v.Warnings = onPages(one.preview.Wrong)
	if err := v.names(r.Context(), s, f, said, i, one.preview); err != nil || one.open(said, i) {
		return v, 0, 0, err
	}
	v.Coming, sessions, changes = coming(f, i, one.preview)
	return v, sessions, changes, nil
}

// settings are what holds for a whole file.
func (v *fileView) settings(f *form.Form, i int, one fileRead) {
	choice := func(field, label, hint string, options ...string) {
		v.Settings = append(v.Settings, f.Choose(name(i, field), label, hint, form.Pairs(options...)))
	}
	choice("dates", "Dates such as 04/06/2026", "", "", "As the file shows", string(sheet.DayFirst), "The day first: 4 June", string(sheet.MonthFirst), "The month first: April 6", string(sheet.YearFirst), "The year first")
	choice("decimal", "Numbers such as 1,020", "", "", "As the file shows", "point", "1,020 is a thousand and twenty", "comma", "1,020 is a little over one")
	choice("units", "Numbers without a unit", "", "", "Not taken", "us", "In inches, feet, °F", "metric", "In mm, m, °C")
	choice("ranges", "Counts such as 2-3", "", "", "Not taken", string(sheet.RangesMiddle), "Their middle, the lower number")
	has := func(key string) bool {
		return one.sheet != nil && slices.ContainsFunc(one.sheet.Columns, func(c sheet.Column) bool { return c.Field == key })
	}
	if !has("angler") {
		v.Texts = append(v.Texts, f.Input(name(i, "angler"), "Who fished", "of the whole file").Suggesting("anglers"))
	}
	if !has("water") {
		v.Texts = append(v.Texts, f.Input(name(i, "water"), "Water", "of the whole file").Suggesting("waters"))
	}
	if one.sheet == nil {
		v.Texts = append(v.Texts, f.Input(name(i, "day"), "The column with the day", "its name, as in the sheet"))
	}
	v.SettingsOn = one.why != ""
	for _, c := range v.Settings {
		v.SettingsOn = v.SettingsOn || f.Text(c.Name) != ""
	}
	for _, t := range v.Texts {
		v.SettingsOn = v.SettingsOn || t.Value != ""
	}
}

// sheets offers the sheets of a workbook.
func (v *fileView) sheets(f *form.Form, i int, sh *sheet.Sheet) {
	field, all := name(i, "sheet"), []form.Option(nil)
	own := len(f.Values[field]) == 0 // nobody has chosen
	for _, t := range sh.Sheets {
		text := t.Name
		switch {
		case t.Left == "":
			text += " (" + exchange.Counted(t.Rows, "row") + ")"
		case t.Left != "not asked for":
			text += " (" + onPage(t.Left) + ")"
		}
		all = append(all, form.Option{Value: t.Name, Text: text})
		if own && t.Left == "" {
			f.Values.Add(field, t.Name)
			v.Own = append(v.Own, form.Field{Name: name(i, "sheets"), Value: t.Name})
		}
	}
	if len(all) > 1 {
		v.Sheets = new(f.Ticked(field, "Sheets of the workbook", all))
	}
	v.SettingsOn = v.SettingsOn || !own
}

// columns shows each column, those that must be decided about first.
func (v *fileView) columns(f *form.Form, said url.Values, i int, sh *sheet.Sheet) {
	fields := sheet.Fields()
	for n, c := range sh.Columns {
		at := slices.IndexFunc(sh.Stops, func(stop sheet.Stop) bool { return stop.Header == c.Header })
		if c.Header == "" && len(c.Samples) == 0 {
			continue
		}
		col := columnView{Header: cmp.Or(strings.Join(c.Headers, ", "), c.Header), Samples: c.Samples, Marked: at >= 0, UnitSays: c.Unit}
		if c.Header == "" { // which can't be named, and so not be chosen
			col.Notes = append(col.Notes, "A column without a name. Give it one in the sheet if it is to be read.")
			v.Columns = append(v.Columns, col)
			continue
		}
		rule := ruleOf(said, i, c.Header)
		f.Set(numbered(i, "header", n), c.Header)
		f.Set(numbered(i, "as", n), rule.as)
		f.Set(numbered(i, "unit", n), rule.unit)
		f.Set(numbered(i, "blank", n), rule.blank)
		col.as(f, i, n, c, fields, sh.Stops, at)
		col.measured(f, i, n, c, fields)
		col.blanks(f, i, n, c)
		if c.Note != "" && c.Note != c.Understood && !c.Ignored() {
			col.Notes = append(col.Notes, prose.Capital(onPage(c.Note))+".")
		}
		if len(c.Missing) > 0 {
			col.Notes = append(col.Notes, "Not in "+prose.Listed(c.Missing)+".")
		}
		col.Out = c.Ignored()
		if at >= 0 {
			v.Stops = append(v.Stops, stopView{col.As.Name, "“" + c.Header + "” " + onPage(sh.Stops[at].Why) + "."})
		}
		v.Columns = append(v.Columns, col)
	}
	for _, stop := range sh.Stops {
		if stop.Header != "" { // above
			continue
		}
		v.SettingsOn = true
		at := stopView{Says: form.Sentence(onPage(stop.Why))}
		for _, t := range v.Texts {
			if slices.Contains(stop.Likely, strings.TrimPrefix(t.Name, name(i, ""))) {
				at.Field = t.Name
			}
		}
		v.Stops = append(v.Stops, at)
	}
	slices.SortStableFunc(v.Columns, func(a, b columnView) int { return order(a.Marked) - order(b.Marked) })
}

// order puts what must be decided about first.
func order(first bool) int {
	if first {
		return 0
	}
	return 1
}

// as offers what a column can be: what it was taken for, what it may be, and everything else.
func (col *columnView) as(f *form.Form, i, n int, c sheet.Column, fields []sheet.FieldChoice, stops []sheet.Stop, at int) {
	now := "Not read"
	switch {
	case f.Text(numbered(i, "as", n)) != "":
		now = "As its name says"
	case at >= 0:
		now = "Choose"
	case !c.Ignored():
		now = prose.Capital(c.Understood)
	}
	titled := func(key string) form.Option {
		for _, x := range fields {
			if x.Key == key {
				return form.Option{Value: key, Text: prose.Capital(strings.TrimPrefix(x.Title, "the "))}
			}
		}
		return form.Option{Value: key, Text: key}
	}
	as := f.Choose(numbered(i, "as", n), "What “"+c.Header+"” is", "", []form.Option{{Text: now}, {Value: leaveOut, Text: "Leave it out"}})
	if at >= 0 {
		g := form.OptionGroup{Title: "It may be"}
		for _, key := range stops[at].Likely {
			g.Options = append(g.Options, titled(key))
		}
		if len(g.Options) > 0 {
			col.Groups = append(col.Groups, g)
		}
	}
	for _, x := range fields {
		k := slices.IndexFunc(col.Groups, func(g form.OptionGroup) bool { return g.Title == x.Group })
		if k < 0 {
			k = len(col.Groups)
			col.Groups = append(col.Groups, form.OptionGroup{Title: x.Group})
		}
		col.Groups[k].Options = append(col.Groups[k].Options, titled(x.Key))
	}
	once := false // a likely one stands in two groups
	for g := range col.Groups {
		for o := range col.Groups[g].Options {
			if !once && col.Groups[g].Options[o].Value == f.Text(as.Name) {
				col.Groups[g].Options[o].Selected, once = true, true
			}
		}
	}
	col.As = &as
}

// measured offers the unit of a column's numbers, where they have one.
func (col *columnView) measured(f *form.Form, i, n int, c sheet.Column, fields []sheet.FieldChoice) {
	k := slices.IndexFunc(fields, func(x sheet.FieldChoice) bool { return x.Key == c.Field })
	if k < 0 || len(fields[k].Units) == 0 {
		return
	}
	unit := f.Choose(numbered(i, "unit", n), "Unit of “"+c.Header+"”", "", form.Offer(cmp.Or(c.Unit, "In the cells"), fields[k].Units, func(u string) form.Option {
		return form.Option{Value: c.Field + "_" + u, Text: u}
	}))
	col.Unit = &unit
}

// blanks offers what the blanks of a column of counts mean.
func (col *columnView) blanks(f *form.Form, i, n int, c sheet.Column) {
	r := c.Reading
	if r == nil {
		return
	}
	if r.Unknown > 0 {
		col.Notes = append(col.Notes, exchange.Verb(r.Unknown, "cell", "says", "say")+" that it was not counted.")
	}
	if r.Blanks == 0 && f.Text(numbered(i, "blank", n)) == "" {
		return
	}
	is := map[sheet.Blank]string{sheet.BlankZero: "none", sheet.BlankUnknown: "not counted"}[r.BlankIs]
	blank := f.Choose(numbered(i, "blank", n), exchange.Counted(r.Blanks, "blank")+" in “"+c.Header+"”", "",
		form.Pairs("", exchange.Counted(r.Blanks, "blank")+": "+is, string(sheet.BlankUnknown), "Blanks: not counted", string(sheet.BlankZero), "Blanks: none"))
	col.Blank = &blank
}

// ruled is what was chosen of a column.
type ruled struct{ as, unit, blank string }

// ruleOf finds what was chosen of a column by its header: its number may be another one by now.
func ruleOf(v url.Values, file int, header string) ruled {
	for n := range mostNumbered {
		if v.Get(numbered(file, "header", n)) == header {
			at := func(field string) string { return v.Get(numbered(file, field, n)) }
			return ruled{at("as"), at("unit"), at("blank")}
		}
	}
	return ruled{}
}

// bad shows the rows that can't be taken.
func (v *fileView) bad(f *form.Form, u *upload, i int, sh *sheet.Sheet) {
	n := sh.BadRows()
	if n == 0 {
		return
	}
	v.Bad = &badView{ID: name(i, "bad"), Rows: rowsCant(n), Href: u.address() + "/rejects.csv?file=" + strconv.Itoa(i),
		Leave: f.Tick(name(i, "leave"), "Leave "+prose.Verb(n, "this row", "these rows")+" out and take the others")}
	if !v.Bad.Leave.On {
		v.Stops = append(v.Stops, stopView{v.Bad.ID, v.Bad.Rows + ". Correct them in the sheet, or leave them out."})
	}
	slips := false
	for k, bad := range sh.Bad {
		slips = slips || strings.Contains(bad.Remedy, "--accept")
		if k < mostListed {
			v.Bad.List = append(v.Bad.List, prose.Capital(onPage(bad.String()))+".")
		}
	}
	if more := len(sh.Bad) - mostListed; more > 0 {
		v.Bad.More = "And " + strconv.Itoa(more) + " more, all of them in the file of these rows."
	}
	if slips || f.Checked(name(i, "accept")) {
		v.Accept = new(f.Tick(name(i, "accept"), "What looks like a slip is right: take it as it stands"))
	}
}

func rowsCant(n int) string { return prose.Plural(n, "row", "rows") + " can’t be taken" }

// skipped tells of rows that hold no data, by their reason.
func skipped(sh *sheet.Sheet) (list []string) {
	var reasons []string
	rows := map[string]int{}
	for _, skip := range sh.Skipped {
		if rows[skip.Why] == 0 {
			reasons = append(reasons, skip.Why)
		}
		rows[skip.Why]++
	}
	for _, why := range reasons {
		list = append(list, onPage("Skipped "+prose.Plural(rows[why], "row", "rows")+", "+why+"."))
	}
	return list
}
