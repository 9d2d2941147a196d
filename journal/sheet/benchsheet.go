package sheet

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	catalogue "rigtally/journal/field"
	"rigtally/journal/pg"
	"rigtally/journal/words"
)

// BenchSheet is a spreadsheet of bench pulls as it was understood, before
// anything is written.
type BenchSheet struct{ *Sheet }

// ReadBench reads a spreadsheet of pulls, CSV or a workbook, without touching the
// journal. Its error is about the file as a whole; cells that can't be taken are listed
// by Report and refuse the import. Of the options, those of columns, sheets, dates and
// numbers count.
func ReadBench(ctx context.Context, r io.Reader, name string, opt Options) (*BenchSheet, error) {
	s, err := pulls.read(ctx, r, name, opt)
	return &BenchSheet{s}, err
}

// pulls are rows of bench pulls.
var pulls = layout{benchFields, (*words.Table).Bench, "force", "date, junction, facing, tippet_x, force_lbf, ending, broke_at", true, (*Sheet).settleBench, (*Sheet).checkPull, (*Sheet).warnOfNames}

// settleBench decides what holds for the whole file.
func (s *Sheet) settleBench() error {
	switch {
	case !s.has("tippet"):
		return errors.New("no column has the tippet; name it tippet_x or tippet_mm, since strengths can only be compared on a known diameter")
	case !s.has("ending") && !s.has("broke_at"):
		return errors.New("no column says how a pull ended; name it ending, with broke, slipped or did not break")
	case len(s.rows) == 0:
		return errors.New("the file has a header but no rows")
	}
	s.prepareColumns()
	if !s.has("junction") {
		s.choose("No column has the junction: every row is a line without one.")
	} else {
		s.choose("A row whose junction is empty, none or unknotted is a line without one.")
	}
	if !s.has("date") {
		s.choose("No column has the day: today is used.")
		return nil
	}
	s.settleDates()
	return nil
}

// checkPull checks what the cells of a row say together.
func (s *Sheet) checkPull(r *row) {
	if r.bad {
		return // further messages could follow from the first
	}
	for _, needed := range []struct {
		key     string
		missing bool
		remedy  string
	}{
		{"force", r.Pull.ForceN == 0, "write the most that the scale showed"},
		{"tippet", r.Pull.TippetMM == 0, "write its size, as 6X or 0.127 mm"},
		{"ending", r.Pull.Ending == "" && s.has("ending"), "write broke, slipped or did not break"},
		{"broke_at", r.Pull.Ending == "" && !s.has("ending"), "write where it broke, or slipped"},
	} {
		if needed.missing {
			s.bad(r, "", "", &problem{field: needed.key, what: "is missing", remedy: needed.remedy})
		}
	}
	if r.bad {
		return
	}
	if err := s.pullOf(r).Validate(); err != nil {
		s.bad(r, "", "", err)
	}
}

// pullOf makes a pull of a row, without its angler; its id is there to be valid.
func (s *Sheet) pullOf(r *row) journal.BenchPull {
	p := *r.Pull
	p.Day = r.Day
	if !p.Knotted() && p.Prop == "none" {
		p.Prop = "" // a line without a knot has none, as said
	}
	if !p.Knotted() && p.PulledOn == "main line" {
		p.PulledOn = ""
	}
	if p.Day.IsZero() {
		p.Day = journal.DateOf(s.options.now())
	}
	parts := []string{r.Angler, p.Knot(), string(p.Facing), string(p.Prop), fmt.Sprint(p.TippetMM), string(p.Material), string(p.PulledOn), string(p.Wetness),
		fmt.Sprint(p.ForceN), string(p.Ending), string(p.BrokeAt), p.Label, p.Note}
	p.ID = deriveID(r.Day, append([]string{"bench pull"}, parts...)...)
	if id, err := journal.ParseID(r.pullID); err == nil {
		p.ID = id
	}
	return p
}

// Report writes how the file was understood.
func (b *BenchSheet) Report(w io.Writer, width int) error {
	s := b.Sheet
	summary := fmt.Sprintf("%s of pulls.", exchange.Counted(s.Rows-s.BadRows(), "row"))
	if bad := s.BadRows(); bad > 0 {
		summary += fmt.Sprintf(" %s can't be taken.", exchange.Counted(bad, "row"))
	}
	return s.report(w, width, summary)
}

// BenchResult tells what an import of pulls did.
type BenchResult struct {
	Rows, Added, AlreadyThere int
	Returned                  int // of those added: pulls that had been deleted
	Differ                    int // rows whose pull was changed in the journal, and is left as it is there
	NewAnglers                []string
}

// Sentences tells what an import did.
func (r BenchResult) Sentences() []string {
	list := []string{fmt.Sprintf("Added %s.", exchange.Counted(r.Added, "pull"))}
	say := func(n int, format string, args ...any) {
		if n > 0 {
			list = append(list, fmt.Sprintf(format, args...))
		}
	}
	say(r.Returned, "Of these, %s had been deleted and came back.", exchange.Counted(r.Returned, "pull"))
	say(r.AlreadyThere, "%s already there.", exchange.Verb(r.AlreadyThere, "pull", "was", "were"))
	say(r.Differ, "%s changed in the journal since and left as it is there.", exchange.Verb(r.Differ, "pull", "was", "were"))
	say(len(r.NewAnglers), "%s new to the journal: %s.", exchange.Verb(len(r.NewAnglers), "angler", "is", "are"), strings.Join(r.NewAnglers, "; "))
	return list
}

// Import writes the pulls into the journal, all of them or, with a bad row, none
// and a *Refused. What was imported before is not added again: a row is known by
// its id, or by all that it says and which of its equals it is.
func (b *BenchSheet) Import(ctx context.Context, store *pg.Store) (BenchResult, error) {
	s := b.Sheet
	if len(s.Stops) > 0 {
		return BenchResult{}, &Stopped{Name: s.Name, Stops: s.Stops}
	}
	if n := s.BadRows(); n > 0 {
		return BenchResult{}, &Refused{Name: s.Name, Rows: s.Rows, BadRows: n, Bad: s.Bad, Remedy: "Correct them and import again."}
	}
	known, err := store.Directory(ctx)
	if err != nil {
		return BenchResult{}, err
	}
	held := map[journal.ID]journal.BenchPull{}
	for _, p := range known.Pulls {
		held[p.ID] = p
	}
	who := newPeople(known, "")
	result := BenchResult{Rows: s.Rows}
	equals := map[journal.ID]int{}
	var add []journal.BenchPull
	for _, r := range s.rows {
		p := s.pullOf(r)
		if n := equals[p.ID]; n > 0 {
			equals[p.ID]++
			p.ID = deriveID(r.Day, "bench pull", p.ID.String(), strconv.Itoa(n))
		} else {
			equals[p.ID] = 1
		}
		if r.Angler != "" {
			p.AnglerID = new(who.angler(r.Angler, journal.Client))
		}
		other, there := held[p.ID]
		switch {
		case !there:
		case other.DeletedAt != nil:
			result.Returned++
		case same(other, p, r.Day.IsZero()):
			result.AlreadyThere++
			continue
		default:
			result.Differ++
			continue
		}
		add = append(add, p)
	}
	result.Added = len(add)
	var anglers []journal.Angler
	for _, a := range who.fresh {
		anglers = append(anglers, *a)
		result.NewAnglers = append(result.NewAnglers, a.Name)
	}
	told := fmt.Sprintf("Imported %s: %s", filepath.Base(s.Name), exchange.Counted(len(add), "bench pull"))
	if err := store.AddBenchPulls(ctx, add, anglers, told); err != nil {
		return result, fmt.Errorf("%s: nothing was written: %w", s.Name, err)
	}
	return result, nil
}

// same compares a held pull with one of a row, whose day may not be told.
func same(held, p journal.BenchPull, anyDay bool) bool {
	if anyDay {
		p.Day = held.Day
	}
	return held.Equal(p)
}

var plainWords = map[string]bool{"unknotted": true, "none": true, "noknot": true, "plain": true, "plainline": true, "noknots": true, "straight": true, "line": true, "nojunction": true, "control": true}

// benchFields lists what a column of pulls can tell.
func benchFields() []*field {
	all := readable(exchange.PullColumns(), map[string]func(*column, *row, string) error{
		"date": setDate, "angler": setText(maxName, cleanName, func(r *row) *string { return &r.Angler }),
		"junction": setPullJunction, "force": reading(func(r *row) *float64 { return &r.Pull.ForceN }, readForce), "ending": setEnding, "broke_at": setPlaceOfBreak,
	})
	id := &exchange.Column{Key: "id", Title: "the pull's id"}
	return append(all, problemField(), &field{id, setText(maxName, strings.TrimSpace, func(r *row) *string { return &r.pullID })})
}

// setPullJunction reads a knot, or that there is none.
func setPullJunction(c *column, r *row, cell string) error {
	if plainWords[catalogue.Compact(cell)] {
		return nil
	}
	err := setJunction(c, r, cell)
	r.Pull.Junction, r.Pull.JunctionName = r.Fly.Junction, r.Fly.JunctionName
	return err
}

func readForce(c *column, cell string) (float64, error) {
	v, err := c.parser.Parse(units.Force, cell, c.bare())
	switch {
	case err != nil:
		return 0, fromUnits(err)
	case v == 0:
		return 0, &problem{what: "is not a force", remedy: "write the most that the scale showed"}
	case !c.field.Noted.Possible(v):
		return 0, &problem{what: "is more than 2000 N, which can't be right", remedy: "check the number and its unit"}
	}
	return v, nil
}

// setEnding reads how a pull ended; a place tells that it broke there.
func setEnding(c *column, r *row, cell string) error {
	word := strings.TrimPrefix(catalogue.Compact(cell), "brokeatthe")
	word = strings.TrimPrefix(strings.TrimPrefix(word, "brokeat"), "brokeinthe")
	if e := c.words.Value("ending", word); e != "" {
		r.Pull.Ending = journal.PullEnding(e)
		return nil
	}
	if at := c.words.Value("broke_at", word); at != "" {
		r.Pull.Ending, r.Pull.BrokeAt = journal.PulledBroke, journal.PullBreak(at)
		return nil
	}
	return &problem{what: "is not an end of a pull", remedy: "write broke, slipped or did not break, or where it broke: junction, tag, main line or grip"}
}

// setPlaceOfBreak reads where a line broke; slipped tells that it did not.
func setPlaceOfBreak(c *column, r *row, cell string) error {
	word := catalogue.Compact(cell)
	if at := c.words.Value("broke_at", word); at != "" {
		r.Pull.BrokeAt = journal.PullBreak(at)
		if r.Pull.Ending == "" {
			r.Pull.Ending = journal.PulledBroke
		}
		return nil
	}
	if e := c.words.Value("ending", word); e != "" && (r.Pull.Ending == "" || r.Pull.Ending == journal.PullEnding(e)) {
		r.Pull.Ending = journal.PullEnding(e)
		return nil
	}
	return &problem{what: "is not a place where a pull breaks", remedy: "write junction, tag, main line or grip"}
}
