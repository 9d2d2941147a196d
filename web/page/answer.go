package page

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"

	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/web/form"
)

// Asks answers what an address asks, in the units that people see.
type Asks[A any] func(r *http.Request, sys units.System) (A, error)

// AsJSON makes an action that answers for programs, as the command line does.
func AsJSON[A any](d *Desk, ask Asks[A]) Action {
	return d.ForPrograms(func(w http.ResponseWriter, r *http.Request) error {
		a, _, err := ask.Answer(d, r)
		if err != nil {
			return err
		}
		return SendJSON(w, http.StatusOK, a)
	})
}

// AsCSV makes an action that answers for a spreadsheet, with a file of a name.
func AsCSV[A any](d *Desk, ask Asks[A], name func(A) string, numbers func(A, units.System) table.Table) Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		a, sys, err := ask.Answer(d, r)
		if err != nil {
			return err
		}
		return SendFile(w, name(a)+".csv", "text/csv; charset=utf-8", numbers(a, sys).WriteCSV)
	}
}

// Answer asks, in the units of the outfit.
func (ask Asks[A]) Answer(d *Desk, r *http.Request) (a A, sys units.System, err error) {
	o, err := d.Store.Outfit(r.Context())
	if err != nil {
		return a, "", err
	}
	sys = units.System(o.Units)
	a, err = ask(r, sys)
	return a, sys, err
}

// SendJSON answers for a program. It writes nothing when that fails.
func SendJSON(w http.ResponseWriter, status int, v any) error {
	text, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("write the answer as JSON: %w", err)
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_, _ = w.Write(append(text, '\n')) // a browser that went away is no failure
	return nil
}

// SendFile offers a file for keeping. It writes nothing when that fails.
func SendFile(w http.ResponseWriter, name, contentType string, write func(io.Writer) error) error {
	var buf bytes.Buffer
	if err := write(&buf); err != nil {
		return err
	}
	w.Header().Set("Content-Type", contentType)
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	_, _ = buf.WriteTo(w) // a browser that went away is no failure
	return nil
}

// WhyNot says why a question has no answer: it can't be asked. Any other error stays one.
func WhyNot(err error) (problems []string, _ error) {
	var invalid *journal.Invalid
	if errors.As(err, &invalid) {
		return form.Sentences(invalid), nil
	}
	return nil, err
}

// Status is the status of a page that says what is wrong with its question.
func Status(problems []string) int {
	if len(problems) > 0 {
		return http.StatusUnprocessableEntity
	}
	return http.StatusOK
}
