package pulls

import (
	"io"
	"net/http"
	"slices"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// pullsPage lists what was pulled, the last first.
type pullsPage struct {
	page.Frame
	Undo    string // id of the pull that was just deleted
	Total   string
	Pulls   []pullRow
	Deleted []pullRow
	Days    int // for which a pull can be brought back
	Turn    page.Turn
}

type pullRow struct {
	Href, Title, More, Restore string
	Version                    int
}

const pullsPerPage = 30

// benchPulls lists the pulls of the bench.
func (s *pages) benchPulls(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	pulls, err := s.Store.BenchPulls(r.Context())
	if err != nil {
		return err
	}
	deleted, err := s.Store.DeletedBenchPulls(r.Context())
	if err != nil {
		return err
	}
	k, err := s.tierNames(r)
	if err != nil {
		return err
	}
	f := form.Of(r.URL.Query(), fr.Units)
	at := min(max(1, form.Or(f.Whole("page", 1<<20), 1)), page.Pages(len(pulls), pullsPerPage))
	p := pullsPage{Frame: fr, Total: prose.Plural(len(pulls), "pull", "pulls"), Days: journal.UndoDays, Turn: page.NewTurn("pulls", "/bench/pulls", nil, at, len(pulls), pullsPerPage)}
	slices.Reverse(pulls)
	from := (at - 1) * pullsPerPage
	for _, pull := range pulls[from:min(len(pulls), from+pullsPerPage)] {
		p.Pulls = append(p.Pulls, k.row(pull, fr.Units))
	}
	for _, pull := range deleted {
		p.Deleted = append(p.Deleted, k.row(pull, fr.Units))
	}
	if id := f.ID("undo"); id != nil && slices.ContainsFunc(deleted, func(d journal.BenchPull) bool { return d.ID == *id }) {
		p.Undo = id.String()
	}
	return s.Render(w, http.StatusOK, "benchpulls", p)
}

// benchPullsCSV sends every pull, as the command does.
func (s *pages) benchPullsCSV(w http.ResponseWriter, r *http.Request) error {
	return page.SendFile(w, "bench-pulls.csv", "text/csv; charset=utf-8", func(out io.Writer) error { return exchange.WriteBenchCSV(r.Context(), s.Store, out) })
}

// tierNames are those who tie, by id.
type tierNames map[journal.ID]string

func (s *pages) tierNames(r *http.Request) (tierNames, error) {
	list, err := s.Store.Anglers(r.Context())
	if err != nil {
		return nil, err
	}
	names := tierNames{}
	for _, a := range list {
		names[a.ID] = a.Name
	}
	return names, nil
}

func (k tierNames) row(p journal.BenchPull, sys units.System) pullRow {
	at := "/bench/pulls/" + p.ID.String()
	more := prose.PullLineUp(p) + " · " + prose.Day(p.Day)
	if p.AnglerID != nil {
		more += " · tied by " + k[*p.AnglerID]
	}
	if p.Label != "" {
		more += " · " + p.Label
	}
	if p.Note != "" {
		more += " · " + p.Note
	}
	return pullRow{Href: at, Title: prose.Capital(prose.PullKnot(p)) + ": " + units.FormatForce(p.ForceN, sys) + ", " + prose.PullEnded(p.Ending, p.BrokeAt), More: more, Restore: at + "/restore", Version: p.Version}
}
