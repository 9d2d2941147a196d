package logging

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/web/form"
	"rigtally/web/page"
)

// entry is the form of a session.
type entry struct {
	*form.Form
	stored      journal.ID // what the journal holds instead of this entry, after a conflict
	anewOffered bool       // whether it may be stored beside what it conflicts with
	read        []string   // what was read off the clock: readNight, readClock
	doubtful    bool       // whether all that stands against it are doubts, which the person may confirm
}

func newEntry(sys units.System) *entry { return &entry{Form: form.New(sys)} }

// logSave takes the form of a new session.
func (s *Pages) logSave(w http.ResponseWriter, r *http.Request) error {
	return s.saveSession(w, r, "Log a session", journal.Session{}, nil)
}

// sessionSave takes the form of a session that was stored before.
func (s *Pages) sessionSave(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	was, err := s.Store.SessionByID(r.Context(), id)
	if errors.Is(err, journal.ErrNotFound) {
		was, err = s.deleted(r.Context(), id)
	}
	was.ID = id
	return s.saveSession(w, r, "Edit a session", was, err)
}

// deleted is a session that was deleted meanwhile; of one that is gone for good
// nothing is left.
func (s *Pages) deleted(ctx context.Context, id journal.ID) (journal.Session, error) {
	list, err := s.Store.DeletedSessions(ctx)
	for _, d := range list {
		if d.ID == id {
			return d.Session, err
		}
	}
	return journal.Session{}, err
}

// saveSession stores what the form says, or shows the form again with all that was
// typed: with what is wrong, with what is doubted, with what stands in the way, or
// with another stint when that is what the button was for. failed is why the
// journal could not be asked.
func (s *Pages) saveSession(w http.ResponseWriter, r *http.Request, title string, was journal.Session, failed error) error {
	fr, k, gone, err := s.toLog(r, title)
	if err != nil {
		return err
	}
	failed = cmp.Or(failed, gone)
	sent, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	f := &entry{Form: sent}
	if self := s.self(); self != nil { // whoever else the form names
		f.Set("angler", self.String())
		f.Set("angler.new", "")
	}
	again := func(status int) error { return s.showLog(w, status, fr, f, k, was) }
	if done, err := f.act(k); err != nil {
		return err
	} else if done {
		return again(http.StatusOK)
	}
	if !was.ID.IsZero() {
		f.Set("id", was.ID.String()) // the address says which session it is
	}
	d := f.readSession(k, was, fr.Outfit.TimeZone)
	if f.Values.Get("do") == "save-new" {
		f.anew(&d.Session)
	}
	if failed == nil && len(f.Faults) == 0 {
		_, failed = s.Store.LogSession(r.Context(), d)
	}
	if failed == nil && len(f.Faults) == 0 {
		return page.See(w, r, "/sessions/"+d.Session.ID.String()+"?"+url.Values{"done": {"logged"}, "read": f.read}.Encode())
	}
	return s.notSaved(r, f, d.Session, failed, again)
}

// notSaved shows the form again, with why its session was not saved.
func (s *Pages) notSaved(r *http.Request, f *entry, session journal.Session, why error, again func(status int) error) error {
	status := http.StatusUnprocessableEntity
	var invalid *journal.Invalid
	var doubtful *journal.Doubtful
	switch {
	case why == nil: // what the form itself found
	case errors.As(why, &invalid):
		f.Refuse(invalid)
	case errors.As(why, &doubtful):
		f.doubt(doubtful)
	case errors.Is(why, journal.ErrConflict), errors.Is(why, journal.ErrNotFound):
		status = http.StatusConflict
		if err := f.conflict(session, why); err != nil {
			return err
		}
	case r.Context().Err() != nil:
		return why
	default:
		status = http.StatusServiceUnavailable
		reference := page.Reference(r.Context())
		s.Log.Error("a session was not saved", "reference", reference, "address", r.Pattern, "error", why)
		says := "The journal is not answering right now, so nothing is saved."
		var hindered *journal.Hindered
		if errors.As(why, &hindered) {
			says = page.WhyUnavailable(why)
		}
		f.Faults = []form.Fault{{Field: "", Text: says + " Everything you typed is still below: save it again in a moment. The log has more under " + reference + "."}}
	}
	return again(status)
}

// act does what a button asks for that does not save, and reports whether it did.
func (f *entry) act(k known) (bool, error) {
	do := f.Values.Get("do")
	switch {
	case do == "save", do == "save-new":
		return false, nil
	case do == "add" && f.stints() < maxStints:
		return true, f.addStint(k)
	case strings.HasPrefix(do, "remove-"):
		if i, err := strconv.Atoi(strings.TrimPrefix(do, "remove-")); err == nil {
			f.removeStint(i)
		}
	}
	return true, nil // anything else only shows the form anew
}

// doubt asks whether what is likelier a slip is so.
func (f *entry) doubt(d *journal.Doubtful) {
	f.doubtful = true
	says, _ := questions(d)
	for _, text := range says {
		f.Faults = append(f.Faults, form.Fault{Field: "", Text: text})
	}
}

// conflict says what to do when the journal holds another version, and has ids
// ready under which this one can be stored as well.
func (f *entry) conflict(s journal.Session, cause error) error {
	says := "This session was deleted in the meantime, so this one was not saved. Restore it under Sessions, Deleted, then save this one; or save this one as a new session."
	var c *journal.Conflict
	if errors.As(cause, &c) && !c.Deleted {
		says = fmt.Sprintf("The journal now has a different version of this session (version %d, yours started from %d), so this one was not saved. Open the other one, see what differs, and make your change there.", c.Held, c.Seen)
		f.stored = s.ID
	}
	f.Faults = append(f.Faults, form.Fault{Field: "", Text: says})
	f.anewOffered = true
	for i := range len(s.Stints) + 1 {
		f.Set(anewName(i), journal.NewID().String())
	}
	return nil
}

// anewName is the field that holds the id for the session, from 1 on for its
// stints, when it is stored beside the one it conflicts with.
func anewName(i int) string { return "anew." + strconv.Itoa(i) }

// anew gives the session and its stints the ids that the conflict prepared.
func (f *entry) anew(s *journal.Session) {
	s.Version = 0
	s.ID = form.Or0(f.ID(anewName(0)))
	for i := range s.Stints {
		s.Stints[i].ID = form.Or0(f.ID(anewName(i + 1)))
	}
}
