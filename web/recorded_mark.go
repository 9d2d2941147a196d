package web

import (
	"errors"
	"net/http"
	"net/url"

	"rigtally/journal"
	"rigtally/prose"
)

type recordedMarkPage struct {
	frame
	Problems problems
	Angler   choice
	From, To field
	Kinds    []kindTick
	Preview  []string
	Changes  bool // there is something to do
	Hidden   []hiddenField
}

// kindTick is a kind to tick.
type kindTick struct {
	Word, Title string
	On          bool
}

type hiddenField struct{ Name, Value string }

// readMark reads whose days are marked, and how.
func readMark(f *form) journal.RecordedMark {
	m := journal.RecordedMark{Forget: f.checked("forget"), Not: readKinds(f, "not"), Kept: readKinds(f, "kept")}
	if id := f.id("angler"); id != nil {
		m.Angler = *id
	} else if f.wrong("angler") == "" {
		f.fault("angler", "choose whose stints")
	}
	for name, day := range map[string]*journal.Date{"from": &m.From, "to": &m.To} {
		if d := optional(f, name, journal.ParseDate); d != nil {
			*day = *d
		} else if f.wrong(name) == "" {
			f.fault(name, "name the day")
		}
	}
	return m
}

func readKinds(f *form, name string) []journal.Kind {
	var kinds []journal.Kind
	for _, word := range f.values[name] {
		k, err := journal.KindByWord(word)
		if err != nil {
			f.fault(name, err.Error())
			continue
		}
		kinds = append(kinds, k)
	}
	return kinds
}

// recordedMark asks whose days are to be marked, and shows what that would change.
func (s *Server) recordedMark(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r.URL.Query(), "")
	if len(f.values) == 0 {
		return s.showMark(w, r, http.StatusOK, f, nil)
	}
	mark := readMark(f)
	if len(mark.Not) == 0 && f.wrong("not") == "" {
		f.fault("not", "tick at least one")
	}
	if len(f.faults) > 0 {
		return s.showMark(w, r, http.StatusUnprocessableEntity, f, nil)
	}
	m, err := s.store.PreviewRecorded(r.Context(), mark)
	var invalid *journal.Invalid
	if errors.As(err, &invalid) {
		f.refuse(invalid)
		return s.showMark(w, r, http.StatusUnprocessableEntity, f, nil)
	}
	if err != nil {
		return err
	}
	return s.showMark(w, r, http.StatusOK, f, &markAsked{mark, m})
}

// markAsked is a mark with what it would change.
type markAsked struct {
	journal.RecordedMark
	would journal.Marked
}

func (s *Server) showMark(w http.ResponseWriter, r *http.Request, status int, f *form, asked *markAsked) error {
	fr, err := s.frame(r, "sessions", "Mark as not recorded")
	if err != nil {
		return err
	}
	anglers, err := s.store.Anglers(r.Context())
	if err != nil {
		return err
	}
	options := []option{{Text: "Choose"}}
	name := ""
	for _, a := range anglers {
		options = append(options, option{Value: a.ID.String(), Text: a.Name})
		if asked != nil && a.ID == asked.Angler {
			name = a.Name
		}
	}
	p := recordedMarkPage{frame: fr, Problems: f.problems("Please look at:"), Angler: f.choose("angler", "Whose stints", "", options),
		From: f.input("from", "From", "first day").typed("date"), To: f.input("to", "To", "last day").typed("date")}
	not := readKinds(f, "not")
	for _, k := range journal.Kinds() {
		p.Kinds = append(p.Kinds, kindTick{k.String(), prose.Capital(k.Title()), journal.RecordedOf(not...).Has(k)})
	}
	if asked != nil {
		p.Preview, p.Changes = prose.MarkPreview(name, asked.RecordedMark, asked.would), asked.would.Changed > 0
		for _, field := range []string{"angler", "from", "to", "not"} {
			for _, v := range f.values[field] {
				p.Hidden = append(p.Hidden, hiddenField{field, v})
			}
		}
	}
	return s.render(w, status, "recordedmark", p)
}

// recordedMarkSave marks, and offers to take that back; or takes it back.
func (s *Server) recordedMarkSave(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r, "")
	if err != nil {
		return err
	}
	mark := readMark(f)
	if len(f.faults) > 0 {
		return s.showMark(w, r, http.StatusUnprocessableEntity, f, nil)
	}
	m, err := s.store.MarkRecorded(r.Context(), mark)
	if err != nil {
		return err
	}
	to := url.Values{"done": {"recorded-back"}}
	if len(mark.Not) > 0 {
		to = url.Values{"marked": {"yes"}, "angler": {mark.Angler.String()}, "from": {mark.From.String()}, "to": {mark.To.String()}}
		if m.Assumed == m.Stints {
			to.Set("forget", "yes")
		} else {
			to["kept"] = f.values["not"]
		}
	}
	return see(w, r, "/recorded?"+to.Encode())
}
