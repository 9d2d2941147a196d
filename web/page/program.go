package page

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"rigtally/inquiry"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/web/form"
)

// Program is where programs find the journal; what is served there keeps its promise.
const Program = "/api/v1"

// Problem is what a program is told when its request failed (RFC 9457, problem details), with
// members of our own.
type Problem struct {
	Type     string  `json:"type"`
	Title    string  `json:"title"`
	Status   int     `json:"status"`
	Detail   string  `json:"detail"`
	Error    string  `json:"error"` // invalid, doubtful (send it again with "confirmed"), conflict, missing, unreadable, too-large, someone-else, unavailable, failed
	Problems []Wrong `json:"problems"`
	Stored   any     `json:"stored,omitempty"`  // what the journal holds instead, after a conflict
	Deleted  bool    `json:"deleted,omitempty"` // whether that was deleted and can be brought back
}

// Wrong is one thing that is wrong: where, with what value, and what to do.
type Wrong struct {
	Field string `json:"field,omitempty"` // path in what was sent; "" for the whole
	Value any    `json:"value,omitempty"`
	Says  string `json:"says"` // a sentence with the remedy
}

// Wrongs are sentences on the whole of what was sent.
func Wrongs(says ...string) []Wrong {
	list := make([]Wrong, len(says))
	for i, text := range says {
		list[i].Says = text
	}
	return list
}

// NewProblem says why a request failed: a status, a word for programs, and what is wrong.
func NewProblem(status int, word string, wrong []Wrong) *Problem {
	says := make([]string, len(wrong))
	for i, w := range wrong {
		says[i] = w.Says
	}
	return &Problem{Type: "about:blank", Title: http.StatusText(status), Status: status, Detail: strings.Join(says, " "), Error: word, Problems: wrong}
}

// ProblemError is a Problem as an action returns it.
type ProblemError struct{ *Problem }

// Error names the problem as programs read it.
func (e *ProblemError) Error() string { return e.Problem.Error }

// ForPrograms makes an action one for programs: what it refuses and where it fails, it says as a Problem.
func (d *Desk) ForPrograms(act Action) Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		err := act(w, r)
		if err == nil {
			return nil
		}
		p := d.problemOf(w, r, err)
		w.Header().Set("Content-Type", "application/problem+json")
		text, err := json.Marshal(p)
		if err != nil {
			return fmt.Errorf("write a problem as JSON: %w", err)
		}
		w.WriteHeader(p.Status)
		_, _ = w.Write(append(text, '\n')) // a program that went away is no failure
		return nil
	}
}

func (d *Desk) problemOf(w http.ResponseWriter, r *http.Request, err error) *Problem {
	var said *ProblemError
	var refused *refusal
	var invalid *journal.Invalid
	var tooBig *http.MaxBytesError
	switch {
	case errors.As(err, &said):
		return said.Problem
	case errors.As(err, &refused):
		word := "invalid"
		if refused.status == http.StatusNotFound {
			word = "missing"
		}
		return NewProblem(refused.status, word, Wrongs(refused.sentence))
	case errors.As(err, &invalid):
		return NewProblem(http.StatusUnprocessableEntity, "invalid", Wrongs(form.Sentences(invalid)...))
	case errors.As(err, &tooBig):
		return NewProblem(http.StatusRequestEntityTooLarge, "too-large", Wrongs("What was sent is larger than a session can be, so none of it was saved."))
	case errors.Is(err, journal.ErrNotFound):
		return NewProblem(http.StatusNotFound, "missing", Wrongs("What this belongs to is not in the journal. It may have been deleted."))
	case Unavailable(err):
		return NewProblem(http.StatusServiceUnavailable, "unavailable", Wrongs(d.NoteUnavailable(w, r, err)))
	}
	reference := Reference(r.Context())
	d.Log.Error("request failed", "reference", reference, "address", r.Pattern, "error", err)
	return NewProblem(http.StatusInternalServerError, "failed", Wrongs("This is a fault of the program or its database, not of what you entered. Nothing was half saved. It will be tried again; the log has more under "+reference+"."))
}

// Asking is who asks on a page: of this journal, in the units that people see, with its prior, and equal questions once.
func (d *Desk) Asking(o journal.Outfit) inquiry.Asking {
	return inquiry.Asking{Source: d.Store, Units: units.System(o.Units), Prior: o.Prior(), Once: func(ctx context.Context, key string, request any, ask func(context.Context) (any, error)) (any, error) {
		return Ask(ctx, d, asked{key, request}, ask)
	}}
}

// asked tells a request of one question from one of another.
type asked struct {
	Key     string
	Request any
}

// Numbers are the addresses of a question for programs: beside its page as JSON and CSV, and
// under Program. first makes an address beside the page that asks nothing ask what the page asks.
func (d *Desk) Numbers(of inquiry.Question, beside string, first func(inquiry.Query) inquiry.Query) []Route {
	at := Program + "/" + of.Describe().Key
	whole := func(q inquiry.Query) inquiry.Query { return q }
	return []Route{
		{Pattern: "GET " + beside + ".json", Act: d.ForPrograms(d.asJSON(of, first)), Kept: true},
		{Pattern: "GET " + beside + ".csv", Act: d.asCSV(of, first), Kept: true},
		{Pattern: "GET " + at, Act: d.ForPrograms(d.asJSON(of, whole)), Kept: true},
		{Pattern: "GET " + at + ".csv", Act: d.ForPrograms(d.asCSV(of, whole)), Kept: true},
	}
}

func (d *Desk) put(r *http.Request, of inquiry.Question, first func(inquiry.Query) inquiry.Query) (inquiry.Answer, error) {
	o, err := d.Store.Outfit(r.Context())
	if err != nil {
		return inquiry.Answer{}, err
	}
	q, _ := inquiry.Read(of.Describe().Params, r.URL.Query())
	return of.Put(r.Context(), d.Asking(o), first(q))
}

func (d *Desk) asJSON(of inquiry.Question, first func(inquiry.Query) inquiry.Query) Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		a, err := d.put(r, of, first)
		if err != nil {
			return err
		}
		return SendJSON(w, http.StatusOK, a.Data)
	}
}

func (d *Desk) asCSV(of inquiry.Question, first func(inquiry.Query) inquiry.Query) Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		a, err := d.put(r, of, first)
		if err != nil {
			return err
		}
		return SendFile(w, FileName(a.File)+".csv", "text/csv; charset=utf-8", a.Numbers().WriteCSV)
	}
}
