package logging

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"reflect"
	"slices"
	"strings"

	"rigtally/journal"
	"rigtally/web/page"
)

// step is a count that can be stepped.
type step struct {
	key, one string
	count    journal.Count
	needs    []journal.Kind
}

// stepped are the counts that a session's page takes one more or one less of, each where these kinds were counted.
// Of a check, a fly change or a re-tie there is more to say; those are edited.
var stepped = []step{
	{"landed", "landed fish", journal.CountLanded, []journal.Kind{journal.KindLanded}},
	{"lost", "lost fish", journal.CountLost, []journal.Kind{journal.KindLost}},
	{keyBrokeOff, "broken-off fish", journal.CountBrokeOff, []journal.Kind{journal.KindBrokeOff}},
	{"foul", "foul hookup", journal.CountFoul, []journal.Kind{journal.KindHooking}},
	{"snag", "snag", journal.CountSnags, []journal.Kind{journal.KindSnags}},
	{"twist", "twist", journal.CountTwists, []journal.Kind{journal.KindTangles, journal.KindTangleKind}},
	{"wind-knot", "wind knot", journal.CountWindKnots, []journal.Kind{journal.KindTangles, journal.KindTangleKind}},
	{"nest", "nest", journal.CountNests, []journal.Kind{journal.KindTangles, journal.KindTangleKind}},
	{"tangle", "tangle", journal.CountTangles, []journal.Kind{journal.KindTangles}},
}

// swap puts one event of a stint in the place of another: nil for one that is not there.
// Turned around it is undone.
type swap struct {
	Stint int            `json:"stint"`
	At    int            `json:"at"`
	Was   *journal.Event `json:"was,omitempty"`
	Now   *journal.Event `json:"now,omitempty"`
}

func (c swap) back() swap { c.Was, c.Now = c.Now, c.Was; return c }

var errNoStep = errors.New("there is nothing to take one from")

// more is the swap of one more of a count in a stint, with nothing else known of it.
func more(s journal.Session, stint int, key string) swap {
	events, e := s.Stints[stint].Events, cellOf(key).event
	if e.Kind == journal.EventHookup && e.Hooking == journal.Fair && !s.Stints[stint].Recorded.Has(journal.KindHooking) {
		e.Hooking = "" // not told
	}
	for i, held := range events {
		if e.Count = held.Count; reflect.DeepEqual(e, held) {
			e.Count++
			return swap{stint, i, &events[i], &e}
		}
	}
	e.Count = 1
	return swap{stint, len(events), nil, &e}
}

// less is the swap of one less: of what has no minute rather than of what has, and of the last.
func less(s journal.Session, stint int, count journal.Count) (swap, error) {
	at := -1
	events := s.Stints[stint].Events
	for i, e := range events {
		if e.Counts()[count] > 0 && (at < 0 || e.Minute == nil || events[at].Minute != nil) {
			at = i
		}
	}
	if at < 0 {
		return swap{}, errNoStep
	}
	c := swap{stint, at, &events[at], nil}
	if now := events[at]; now.Count > 1 {
		now.Count--
		c.Now = &now
	}
	return c, nil
}

// fits reports whether a session is as it was before it.
func (c swap) fits(s journal.Session) bool {
	if c.Stint < 0 || c.Stint >= len(s.Stints) || c.Was == nil && c.Now == nil {
		return false
	}
	events := s.Stints[c.Stint].Events
	if c.Was == nil {
		return c.At >= 0 && c.At <= len(events)
	}
	return c.At >= 0 && c.At < len(events) && reflect.DeepEqual(*c.Was, events[c.At])
}

// applied is the session after it, which fits it.
func (c swap) applied(s journal.Session) journal.Session {
	s.Stints = slices.Clone(s.Stints)
	st := &s.Stints[c.Stint]
	gone, put := c.At, []journal.Event{}
	if c.Was != nil {
		gone++
	}
	if c.Now != nil {
		put = append(put, *c.Now)
	}
	st.Events = slices.Concat(st.Events[:c.At], put, st.Events[gone:])
	return s
}

// sessionCount takes one more or one less of a count, or takes that back.
func (s *Pages) sessionCount(w http.ResponseWriter, r *http.Request) error {
	session, err := page.At(r, s.Store.SessionByID)
	if err != nil {
		return err
	}
	if err := journal.Stale("session", page.Seen(r), session.Version, false, session); err != nil {
		return err
	}
	c, err := askedSwap(r, session)
	if err != nil || !c.fits(session) {
		return page.Refuse(http.StatusUnprocessableEntity, "That count can’t be changed", "The session is as it was. Open it again, and look at its counts.")
	}
	if _, err := s.Store.LogSession(r.Context(), journal.Draft{Session: c.applied(session), Confirmed: true}); err != nil {
		return err
	}
	at := "/sessions/" + session.ID.String()
	if r.PostForm.Get("undo") == "" {
		text, err := json.Marshal(c.back())
		if err != nil {
			return fmt.Errorf("tell how a count is put back: %w", err)
		}
		at += "?" + url.Values{"undo": {string(text)}}.Encode()
	}
	return page.See(w, r, at+"#counts")
}

// askedSwap reads "0 twist more", or what undoes another.
func askedSwap(r *http.Request, session journal.Session) (c swap, err error) {
	if undo := r.PostFormValue("undo"); undo != "" {
		return c, json.Unmarshal([]byte(undo), &c)
	}
	var stint int
	var key, way string
	if _, err := fmt.Sscan(r.PostFormValue("do"), &stint, &key, &way); err != nil {
		return c, fmt.Errorf("read which count: %w", err)
	}
	i := slices.IndexFunc(stepped, func(x step) bool { return x.key == key })
	switch {
	case i < 0 || stint < 0 || stint >= len(session.Stints) || !session.Stints[stint].Recorded.Has(stepped[i].needs...):
		return c, errNoStep
	case way == "more":
		return more(session, stint, key), nil
	}
	return less(session, stint, stepped[i].count)
}

// stepRow is a count of a stint with its buttons; what the buttons send says what they do.
type stepRow struct {
	Name, One, Icon, N string
	Less, More         string // Less is "" of none
}

// stepRows are the counts of a stint that can be put right with one tap.
func stepRows(stint int, st journal.Stint, counts journal.Counts) []stepRow {
	var rows []stepRow
	for _, x := range stepped {
		// Kinds of tangle stand for themselves; of what was not told there is no more to add where kinds are.
		if !st.Recorded.Has(x.needs...) || x.key == "tangle" && st.Recorded.Has(journal.KindTangleKind) {
			continue
		}
		i := slices.IndexFunc(counted, func(c countedRow) bool { return c.count == x.count })
		row := stepRow{Name: counted[i].name, One: x.one, Icon: counted[i].icon, N: fmt.Sprint(counts.Int(x.count)), More: fmt.Sprint(stint, " ", x.key, " more")}
		if counts.Int(x.count) > 0 {
			row.Less = fmt.Sprint(stint, " ", x.key, " less")
		}
		rows = append(rows, row)
	}
	return rows
}

// undoStep is what takes back the last step, with its words; nil when nothing can be.
type undoStep struct{ Change, Words string }

func undoAskedOf(text string, s journal.Session) *undoStep {
	var c swap
	if json.Unmarshal([]byte(text), &c) != nil || !c.fits(s) {
		return nil
	}
	said, e := "One more", c.Was
	if c.Was == nil || c.Now != nil && c.Now.Count > c.Was.Count { // it puts one back
		said, e = "One less", c.Now
	}
	for _, x := range stepped {
		if e.Counts()[x.count] > 0 {
			return &undoStep{text, said + " " + strings.TrimSpace(x.one) + ". Saved."}
		}
	}
	return nil
}
