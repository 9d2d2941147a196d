package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

// asks answers what an address asks, in the units that people see.
type asks[A any] func(r *http.Request, sys units.System) (A, error)

// asJSON makes an action that answers for programs, as the command line does. What is
// wrong with a question it says in JSON too.
func asJSON[A any](d *desk, ask asks[A]) action {
	return func(w http.ResponseWriter, r *http.Request) error {
		a, _, err := ask.answer(d, r)
		var refused *journal.Invalid
		switch {
		case errors.As(err, &refused):
			return sendJSON(w, http.StatusUnprocessableEntity, map[string]string{"error": strings.Join(sentences(refused), " ")})
		case err != nil:
			return err
		}
		return sendJSON(w, http.StatusOK, a)
	}
}

// asCSV makes an action that answers for a spreadsheet, with a file of a name.
func asCSV[A interface{ WriteCSV(io.Writer) error }](d *desk, ask asks[A], name func(A) string) action {
	return func(w http.ResponseWriter, r *http.Request) error {
		a, _, err := ask.answer(d, r)
		if err != nil {
			return err
		}
		return sendFile(w, name(a)+".csv", "text/csv; charset=utf-8", a.WriteCSV)
	}
}

func (ask asks[A]) answer(d *desk, r *http.Request) (a A, sys units.System, err error) {
	o, err := d.store.Outfit(r.Context())
	if err != nil {
		return a, "", err
	}
	sys = units.System(o.Units)
	a, err = ask(r, sys)
	return a, sys, err
}

// sendJSON answers for a program. It writes nothing when that fails.
func sendJSON(w http.ResponseWriter, status int, v any) error {
	text, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("write the answer as JSON: %w", err)
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_, _ = w.Write(append(text, '\n')) // a browser that went away is no failure
	return nil
}

// sendFile offers a file for keeping. It writes nothing when that fails.
func sendFile(w http.ResponseWriter, name, contentType string, write func(io.Writer) error) error {
	var buf bytes.Buffer
	if err := write(&buf); err != nil {
		return err
	}
	w.Header().Set("Content-Type", contentType)
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	_, _ = buf.WriteTo(w) // a browser that went away is no failure
	return nil
}
