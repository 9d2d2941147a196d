package page

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/web/form"
)

// Editor is the form of one kind of thing: shown empty for a new one, filled for one of the
// journal, and stored.
type Editor[T any] struct {
	*Desk
	Tab, Template string
	Add, Change   string // titles of the page, for a new one and for one of the journal
	Fresh         func(journal.ID, journal.Outfit) T
	Held          func(*http.Request) (T, error)
	Fill          func(*form.Form, T) // writes one into the form
	Read          func(*form.Form, journal.ID) T
	Store         func(context.Context, T) error
	Known         func(context.Context) ([]Link, error)               // those that the name of a new one may mean; nil where that is not asked
	Then          string                                              // where to go once it is stored; {id} stands for its id
	Differs       func(any) string                                    // in what the journal's own differs, after a conflict; nil where nothing has versions
	More          func(*http.Request, Entry[T]) (page any, err error) // what the page shows beside the entry; nil for nothing
}

// Entry is what the page of such a form shows.
type Entry[T any] struct {
	Frame
	Form *form.Form
	Held T // as the journal has it
	ID   journal.ID
	New  bool
}

// Routes are where new ones are begun, and where each of them is.
func (e Editor[T]) Routes(begin, at string) []Route {
	return []Route{{Pattern: "GET " + begin, Act: e.begin}, {Pattern: "GET " + at, Act: e.edit}, {Pattern: "POST " + at, Act: e.save}}
}

// begin shows the form of a new one under an id of its own, so that sending it twice adds it once.
func (e Editor[T]) begin(w http.ResponseWriter, r *http.Request) error {
	return e.show(w, r, http.StatusOK, Entry[T]{ID: journal.NewID(), New: true})
}

func (e Editor[T]) edit(w http.ResponseWriter, r *http.Request) error {
	held, err := e.Held(r)
	if err != nil {
		return err
	}
	id, err := ID(r)
	if err != nil {
		return err
	}
	return e.show(w, r, http.StatusOK, Entry[T]{Held: held, ID: id})
}

func (e Editor[T]) save(w http.ResponseWriter, r *http.Request) error {
	o, err := e.Desk.Store.Outfit(r.Context())
	if err != nil {
		return err
	}
	f, err := form.Read(r, units.System(o.Units))
	if err != nil {
		return err
	}
	entry := Entry[T]{Form: f}
	if entry.ID, err = ID(r); err != nil {
		return err
	}
	// Where there are versions, a form that does not say that it is new is of one that is gone.
	if entry.Held, err = e.Held(r); errors.Is(err, journal.ErrNotFound) && (e.Differs == nil || f.Checked("new")) {
		entry.New, err = true, nil
	}
	if err != nil {
		return err
	}
	if f.Values.Has("do") && f.Text("do") != "save" { // only shown anew, with other choices
		return e.show(w, r, http.StatusOK, entry)
	}
	if entry.New && e.Known != nil {
		held, err := e.meant(r.Context(), f)
		if err != nil {
			return err
		}
		if held != "" {
			return See(w, r, held)
		}
	}
	said := e.Read(f, entry.ID)
	return Saving{
		Form: f,
		Store: func() (string, error) {
			return strings.ReplaceAll(e.Then, "{id}", entry.ID.String()), e.Store(r.Context(), said)
		},
		Held:  e.Differs,
		Again: func(status int) error { return e.show(w, r, status, entry) },
	}.Do(w, r)
}

// meant asks whether one is meant that the journal has, and is its page once somebody has said so.
func (e Editor[T]) meant(ctx context.Context, f *form.Form) (string, error) {
	known, err := e.Known(ctx)
	if err != nil {
		return "", err
	}
	names, written := make([]string, len(known)), f.Text("name")
	for i, k := range known {
		names[i] = k.Text
	}
	if name := f.Meant("name", names); name != written {
		return known[slices.Index(names, name)].Href, nil
	}
	return "", nil
}

func (e Editor[T]) show(w http.ResponseWriter, r *http.Request, status int, entry Entry[T]) (err error) {
	title := e.Change
	if entry.New {
		title = e.Add
	}
	if entry.Frame, err = e.Frame(r, e.Tab, title); err != nil {
		return err
	}
	if entry.New {
		entry.Held = e.Fresh(entry.ID, entry.Outfit)
	}
	if entry.Form == nil {
		entry.Form = form.New(entry.Units)
		e.Fill(entry.Form, entry.Held)
	}
	if e.More == nil {
		return e.Render(w, status, e.Template, entry)
	}
	shown, err := e.More(r, entry)
	if err != nil {
		return err
	}
	return e.Render(w, status, e.Template, shown)
}
