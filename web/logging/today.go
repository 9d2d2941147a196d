package logging

import (
	"context"
	"errors"
	"net/http"
	"time"

	"rigtally/analytics/caution"
	"rigtally/inquiry"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

type todayPage struct {
	page.Frame
	Empty    bool
	Begin    beginForm
	Trials   []page.Link
	Next     string     // what is worth finding out next; may be empty
	Card     *page.Card // what length to tie the tag; nil where the journal can't tell
	Sessions []page.Row
	Week     page.Facts
	Rivers   []riverNow
	Warm     string // the water temperature at which to ask the agency
}

const recentSessions = 5

// todayPage shows the way to the form, the last sessions and this week in short.
func (s *Pages) todayPage(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	lines, total, err := s.Store.SessionLines(r.Context(), journal.SessionFilter{Limit: recentSessions})
	if err != nil {
		return err
	}
	day := s.Today(fr.Outfit.TimeZone)
	monday := journal.DateOf(day.In(time.UTC).AddDate(0, 0, -int(day.In(time.UTC).Weekday()+6)%7))
	week, err := s.Store.TotalsBetween(r.Context(), monday, day)
	if err != nil {
		return err
	}
	k, err := s.known(r.Context())
	if err != nil {
		return err
	}
	if total == 0 && len(k.rigs) == 0 && fr.Who.Role == journal.RoleOwner {
		return s.start(w, r, fr)
	}
	trials, err := s.knownTrials(r.Context(), k, fr.Units)
	if err != nil {
		return err
	}
	begin, err := s.beginForm(r.Context(), k, trials, fr.Units)
	if err != nil {
		return err
	}
	rivers, err := s.riversNow(r.Context(), s.likely(k, begin.Text("water"), lines), fr.Units)
	if err != nil {
		return err
	}
	var next string
	var card *page.Card
	if total > 0 && !fr.Who.IsClient() { // what a client fished alone is told by their season
		if next, err = s.nextLine(r.Context(), fr); err != nil {
			return err
		}
		if card, err = s.tagCard(r.Context(), fr); err != nil {
			return err
		}
	}
	return s.Render(w, http.StatusOK, "today", todayPage{Frame: fr, Trials: trialLinks(trials), Next: next, Card: card, Empty: total == 0, Begin: begin, Rivers: rivers, Sessions: fr.SessionRows(lines), Week: weekFigures(week), Warm: units.Format(units.Temperature, caution.WarmStopC, fr.Units)})
}

// soonWait is how long the page waits for what the journal can tell. What takes longer is worked out all
// the same, and shown the next time.
const soonWait = 150 * time.Millisecond

// soon asks a question that the page can do without when its answer takes long.
func soon[R, A any](ctx context.Context, wait time.Duration, in inquiry.Asking, of inquiry.Inquiry[R, A]) (a A, ok bool, err error) {
	while, cancel := context.WithTimeout(ctx, wait)
	defer cancel()
	q, _ := inquiry.Read(of.Params, nil)
	a, err = of.Ask(while, in, q)
	if while.Err() != nil && ctx.Err() == nil {
		return a, false, nil
	}
	return a, err == nil, err
}

// nextLine says what is worth finding out next.
func (s *Pages) nextLine(ctx context.Context, fr page.Frame) (string, error) {
	a, ok, err := soon(ctx, soonWait, s.Asking(fr.Outfit), inquiry.Next())
	if !ok {
		return "", err
	}
	return prose.NextLine(a), nil
}

// tagWait is longer: the answer that most people come for.
const tagWait = 1500 * time.Millisecond

// tagCard is the answer on the length of the tag, as its own page has it.
func (s *Pages) tagCard(ctx context.Context, fr page.Frame) (*page.Card, error) {
	a, ok, err := soon(ctx, tagWait, s.Asking(fr.Outfit), inquiry.Plan())
	if !ok {
		return nil, err
	}
	card, told := prose.TagCard(a, fr.Units)
	return page.NewCard(fr, card, told).Leading("/tag-length", "The whole answer"), nil
}

// weekFigures is empty when nothing was fished.
func weekFigures(t journal.Totals) page.Facts {
	if t.Sessions == 0 {
		return nil
	}
	lost := units.FormatDuration(float64(t.MinutesLost.N))
	switch {
	case t.MinutesLost.Known() == nil:
		lost = "minutes not counted"
	case !t.MinutesLost.Whole():
		lost = "at least " + lost
	}
	var week page.Facts
	week.Add("fished", units.FormatDuration(t.Minutes))
	week.Add("in", prose.Plural(t.Sessions, "session", "sessions"))
	week.Add("on", prose.CountFact(t.Hookups, "hookup", "hookups"))
	week.Add("brought in", prose.CountFact(t.Landed, "fish", "fish"))
	week.Add("undone", prose.CountFact(t.Tangles, "tangle", "tangles"))
	week.Add("lost to them", lost)
	return week
}

// beginForm starts a session as last time, or with the arm that a trial waits for. Without script it leads to the plain form.
type beginForm struct {
	*form.Form
	Anglers, Waters, Rigs, Beats []form.Option
}

func (s *Pages) beginForm(ctx context.Context, k known, trials []knownTrial, sys units.System) (beginForm, error) {
	f := form.New(sys)
	last, err := s.Store.LastSession(ctx)
	switch {
	case err == nil:
		f.Set("angler", last.AnglerID.String())
		f.Set("water", last.WaterID.String())
		if n := len(last.Stints); n > 0 {
			f.Set("rig", last.Stints[n-1].RigID.String())
		}
	case !errors.Is(err, journal.ErrNotFound):
		return beginForm{}, err
	}
	usual, err := s.Store.UsualRig(ctx)
	if err != nil {
		return beginForm{}, err
	}
	if usual != nil {
		f.Set("rig", usual.String())
	}
	if t, ok := first(trials, func(t knownTrial) bool { return t.RigID != nil }); ok {
		f.Set("rig", t.RigID.String())
	}
	b := beginForm{Form: f, Anglers: form.Offer("", f.Fishing("angler", k.anglers), form.Angler), Waters: form.Offer("", k.waters, form.Water), Rigs: k.rigOptions(form.Or0(f.ID("rig")), f.Units)}
	const few = 6 // as log/rigs.js has places for rigs and the search: all of them are in the plain form, and came to the phone by themselves
	b.Rigs = b.Rigs[:min(few, len(b.Rigs))]
	if w, _ := k.water(last.WaterID); len(w.Beats) > 0 {
		b.Beats = form.Offer("No beat", w.Beats, func(b journal.Beat) form.Option { return form.Option{Value: b.Name, Text: b.Name} })
		f.Set("beat", beatOf(w, last))
	}
	return b, nil
}
