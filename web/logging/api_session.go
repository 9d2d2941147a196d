package logging

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"rigtally/journal"
	"rigtally/web/form"
	"rigtally/web/page"
)

// problemsOf says of what was sent what the journal refused: in which field, with
// what value, and what to do. sent is nil where fields are not told apart.
func problemsOf(says, fields []string, sent *journal.Draft) []page.Wrong {
	list := make([]page.Wrong, 0, len(says))
	var whole any
	if sent != nil {
		if text, err := json.Marshal(sent); err == nil {
			_ = json.Unmarshal(text, &whole) // of what was just written
		}
	}
	for i, text := range says {
		p := page.Wrong{Says: text}
		if sent != nil && i < len(fields) && fields[i] != "" {
			p.Field = fields[i]
			if !slices.Contains([]string{"angler", "guide", "water", "beat"}, p.Field) && !strings.HasPrefix(p.Field, "rigs[") {
				p.Field = "session." + p.Field
			}
			p.Value = valueAt(whole, p.Field)
		}
		list = append(list, p)
	}
	return list
}

// valueAt follows a path such as session.stints[0].minutes; nil when it leads nowhere.
func valueAt(in any, path string) any {
	for part := range strings.SplitSeq(path, ".") {
		name, index, indexed := strings.Cut(strings.TrimSuffix(part, "]"), "[")
		object, _ := in.(map[string]any)
		in = object[name]
		if indexed {
			list, _ := in.([]any)
			i, err := strconv.Atoi(index)
			if err != nil || i < 0 || i >= len(list) {
				return nil
			}
			in = list[i]
		}
	}
	return in
}

// questions are the questions that doubts raise, and the fields that they are about.
func questions(d *journal.Doubtful) (says, fields []string) {
	for _, doubt := range d.Doubts {
		says, fields = append(says, form.Sentence(doubt.Says)+" Is that right?"), append(fields, doubt.Field)
	}
	return says, fields
}

// apiSession stores a session that a phone kept, as journal.Draft is in JSON. Sent
// again, it changes nothing and is answered in the same way, so a phone may send
// until it hears an answer.
//
// A stint's "minutes" may be decimal, kept to the second. Its "recorded" lists the
// kinds of which count was kept, as journal.Kind has their words: of the others, none
// is no zero. Without it, as from phones with an older page, all are taken as counted
// and marked as assumed.
func (s *Pages) apiSession(w http.ResponseWriter, r *http.Request) error {
	id, err := journal.ParseID(r.PathValue("id"))
	if err != nil {
		return unreadable("id", r.PathValue("id"), err.Error())
	}
	sent, err := readSent(r)
	if err != nil {
		return err
	}
	if sent.Session.ID != id {
		return unreadable("session.id", sent.Session.ID, "the session's id does not match the address; send it to its own address")
	}
	s.settle(&sent)
	stored, err := s.Store.LogSession(r.Context(), sent)
	var invalid *journal.Invalid
	var doubtful *journal.Doubtful
	switch {
	case errors.Is(err, journal.ErrConflict):
		return conflictOf(err)
	case errors.As(err, &invalid):
		return &page.ProblemError{Problem: page.NewProblem(http.StatusUnprocessableEntity, "invalid", problemsOf(form.Sentences(invalid), invalid.Fields, &sent))}
	case errors.As(err, &doubtful):
		says, fields := questions(doubtful)
		return &page.ProblemError{Problem: page.NewProblem(http.StatusUnprocessableEntity, "doubtful", problemsOf(says, fields, &sent))}
	case err != nil:
		return err
	}
	return s.sendSession(r.Context(), w, stored)
}

func readSent(r *http.Request) (sent journal.Draft, err error) {
	err = readJSON(r, &sent, "session")
	var word *journal.Invalid
	if errors.As(err, &word) {
		return sent, unreadable("session.stints.recorded", nil, word.Error())
	}
	return sent, err
}

// readJSON takes what a program sends as the journal writes it; what names that in a word.
func readJSON(r *http.Request, into any, what string) error {
	d := json.NewDecoder(r.Body)
	d.DisallowUnknownFields()
	err := d.Decode(into)
	var tooBig *http.MaxBytesError
	var wrong *json.UnmarshalTypeError
	var word *journal.Invalid
	switch {
	case err == nil, errors.As(err, &tooBig), errors.As(err, &word):
		return err
	case errors.As(err, &wrong):
		return unreadable(wrong.Field, wrong.Value, fmt.Sprintf("%s holds a %s; write a %s", wrong.Field, wrong.Value, wrong.Type))
	}
	return unreadable("", nil, "this is not a "+what+" as the journal writes it ("+strings.TrimPrefix(err.Error(), "json: ")+"); send it as export does")
}

func unreadable(field string, value any, says string) error {
	return &page.ProblemError{Problem: page.NewProblem(http.StatusBadRequest, "unreadable", []page.Wrong{{Field: field, Value: value, Says: form.Sentence(says)}})}
}

// settle takes no time of logging from a phone whose clock is ahead.
func (s *Pages) settle(sent *journal.Draft) {
	const fast = 5 * time.Minute // how far it may be
	if sent.Session.LoggedAt.After(s.Now().Add(fast)) {
		sent.Session.LoggedAt = time.Time{}
	}
}

// conflictOf tells what the journal holds instead.
func conflictOf(err error) error {
	says := "The journal has another version of this session. Nothing was changed; choose which one to keep."
	var c *journal.Conflict
	conflicts := errors.As(err, &c)
	if conflicts && c.Deleted {
		says = "This session was deleted from the journal. Nothing was changed; choose whether it stays deleted."
	}
	answer := page.NewProblem(http.StatusConflict, "conflict", page.Wrongs(says))
	if conflicts {
		answer.Deleted = c.Deleted
		if held, ok := c.Stored.(journal.Session); ok {
			answer.Stored = &held
		}
	}
	return &page.ProblemError{Problem: answer}
}
