package logging

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"rigtally/analytics/change"
	"rigtally/analytics/quality"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

type recordedPage struct {
	page.Frame
	Undo    *journal.RecordedMark // takes back what was just marked
	Lead    string
	Runs    []runRow
	RunsSay string
	Anglers []recordedAngler

	Changed                   []string // because of what had happened
	ChangedTitle, LikeForLike string
}

// runRow is a run of which no count seems to have been kept.
type runRow struct{ Text, Says, Mark string }

// recordedAngler is a table of what an angler kept count of.
type recordedAngler struct {
	Name string
	Rows []prose.CountedRow
}

// recorded shows what was counted, and where that is doubtful.
func (s *Pages) recorded(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	c, err := quality.WhatWasCounted(r.Context(), s.Store)
	if err != nil {
		return err
	}
	anglers, err := s.Store.Anglers(r.Context())
	if err != nil {
		return err
	}
	p := recordedPage{Frame: fr, Lead: recordedLead(c), Undo: undoAsked(r.URL.Query(), anglers), ChangedTitle: prose.ChangedTitle, LikeForLike: prose.LikeForLike}
	if p.Changed, err = s.changed(r.Context()); err != nil {
		return err
	}
	ids := map[string]string{}
	for _, a := range anglers {
		ids[a.Name] = a.ID.String()
	}
	if len(c.Runs) > 0 {
		p.RunsSay = prose.RunsSay(c)
	}
	for _, run := range c.Runs {
		v := url.Values{"angler": {ids[run.Angler]}, "from": {run.First.String()}, "to": {run.Last.String()}, "not": {run.Kind.String()}}
		p.Runs = append(p.Runs, runRow{run.Angler + ": " + run.Kind.Title(), prose.RunTells(run) + ".", "/recorded/mark?" + v.Encode()})
	}
	for _, row := range prose.CountedRows(c) {
		if n := len(p.Anglers); n == 0 || p.Anglers[n-1].Name != row.Angler {
			p.Anglers = append(p.Anglers, recordedAngler{Name: row.Angler})
		}
		last := &p.Anglers[len(p.Anglers)-1]
		row.Months = strings.NewReplacer("-", "\u2011", " to", "\u00a0to").Replace(row.Months) // months stay whole
		last.Rows = append(last.Rows, row)
	}
	return s.Render(w, http.StatusOK, "recorded", p)
}

// changedQuestion tells what was changed because of what had happened from other questions.
type changedQuestion struct{}

// changed says what was changed because of what had happened.
func (s *Pages) changed(ctx context.Context) ([]string, error) {
	found, err := page.Ask(ctx, s.Desk, changedQuestion{}, func(ctx context.Context) ([]change.Finding, error) { return change.All(ctx, s.Store) })
	var list []string
	for _, f := range found {
		list = append(list, prose.Changed(f))
	}
	return list, err
}

// recordedLead sums up what was said of stints.
func recordedLead(c quality.Counted) string {
	stints, assumed := 0, 0
	for _, m := range c.Months {
		stints, assumed = stints+m.Stints, assumed+m.Assumed
	}
	all := prose.Plural(stints, "stint", "stints")
	switch assumed {
	case 0:
		return "All " + all + " say what was counted."
	case stints:
		return "Nobody said what was counted in the " + all + ": everything is assumed counted."
	}
	return fmt.Sprintf("Nobody said what was counted in %d of %s: everything is assumed counted.", assumed, all)
}

// undoAsked reads what the address offers to take back; nil where it makes no sense.
func undoAsked(q url.Values, anglers []journal.Angler) *journal.RecordedMark {
	if q.Get("marked") == "" {
		return nil
	}
	f := form.Of(q, "")
	m := readMark(f)
	if len(f.Faults) > 0 || m.Validate() != nil {
		return nil
	}
	if !slices.ContainsFunc(anglers, func(a journal.Angler) bool { return a.ID == m.Angler }) {
		return nil
	}
	return &m
}

type recordedMarkPage struct {
	page.Frame
	Form    *form.Form
	Anglers []form.Option
	Kinds   form.Boxes
	Preview []string
	Changes bool // there is something to do
}

// readMark reads whose days are marked, and how.
func readMark(f *form.Form) journal.RecordedMark {
	m := journal.RecordedMark{Forget: f.Checked("forget"), Not: readKinds(f, "not"), Kept: readKinds(f, "kept")}
	m.Angler = form.Needed(f, "angler", "choose whose stints", journal.ParseID)
	m.From = form.Needed(f, "from", "name the day", journal.ParseDate)
	m.To = form.Needed(f, "to", "name the day", journal.ParseDate)
	return m
}

func readKinds(f *form.Form, name string) []journal.Kind {
	var kinds []journal.Kind
	for _, word := range f.Values[name] {
		k, err := journal.KindByWord(word)
		if err != nil {
			f.Fault(name, err.Error())
			continue
		}
		kinds = append(kinds, k)
	}
	return kinds
}

// recordedMark asks whose days are to be marked, and shows what that would change.
func (s *Pages) recordedMark(w http.ResponseWriter, r *http.Request) error {
	f := form.Of(r.URL.Query(), "")
	if len(f.Values) == 0 {
		return s.showMark(w, r, http.StatusOK, f, nil)
	}
	mark := readMark(f)
	if len(mark.Not) == 0 && f.Wrong("not") == "" {
		f.Fault("not", "check at least one")
	}
	if len(f.Faults) > 0 {
		return s.showMark(w, r, http.StatusUnprocessableEntity, f, nil)
	}
	m, err := s.Store.PreviewRecorded(r.Context(), mark)
	var invalid *journal.Invalid
	if errors.As(err, &invalid) {
		f.Refuse(invalid)
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

func (s *Pages) showMark(w http.ResponseWriter, r *http.Request, status int, f *form.Form, asked *markAsked) error {
	fr, err := s.Frame(r, "sessions", "Mark as not recorded")
	if err != nil {
		return err
	}
	anglers, err := s.Store.Anglers(r.Context())
	if err != nil {
		return err
	}
	kinds := form.Offer("", journal.Kinds(), func(k journal.Kind) form.Option {
		return form.Option{Value: k.String(), Text: prose.Capital(k.Title())}
	})
	p := recordedMarkPage{Frame: fr, Form: f, Anglers: form.Offer("Choose", anglers, form.Angler), Kinds: f.Ticked("not", "", kinds)}
	if asked != nil {
		whose, _ := first(anglers, func(a journal.Angler) bool { return a.ID == asked.Angler })
		p.Preview, p.Changes = prose.MarkPreview(whose.Name, asked.RecordedMark, asked.would), asked.would.Changed > 0
	}
	return s.Render(w, status, "recordedmark", p)
}

// recordedMarkSave marks, and offers to take that back; or takes it back.
func (s *Pages) recordedMarkSave(w http.ResponseWriter, r *http.Request) error {
	f, err := form.Read(r, "")
	if err != nil {
		return err
	}
	mark := readMark(f)
	if len(f.Faults) > 0 {
		return s.showMark(w, r, http.StatusUnprocessableEntity, f, nil)
	}
	m, err := s.Store.MarkRecorded(r.Context(), mark)
	if err != nil {
		return err
	}
	to := url.Values{"done": {"recorded-back"}}
	if len(mark.Not) > 0 {
		to = url.Values{"marked": {"yes"}, "angler": {mark.Angler.String()}, "from": {mark.From.String()}, "to": {mark.To.String()}}
		if m.Assumed == m.Stints {
			to.Set("forget", "yes")
		} else {
			to["kept"] = f.Values["not"]
		}
	}
	return page.See(w, r, "/recorded?"+to.Encode())
}
