package logging

import (
	"errors"
	"net/http"

	"rigtally/journal"
	"rigtally/web/form"
	"rigtally/web/page"
)

// apiRig stores a rig that a phone made without signal, under the phone's own id, so that sessions fished with it
// can follow. Sent again, it changes nothing and is answered in the same way.
func (s *Pages) apiRig(w http.ResponseWriter, r *http.Request) error {
	id, err := journal.ParseID(r.PathValue("id"))
	if err != nil {
		return unreadable("id", r.PathValue("id"), err.Error())
	}
	var rig journal.Rig
	if err := readJSON(r, &rig, "rig"); err != nil {
		return err
	}
	if rig.ID != id {
		return unreadable("id", rig.ID, "the rig's id does not match the address; send it to its own address")
	}
	rig.Revision = 0 // the journal counts them
	stored, err := s.Store.SaveRig(r.Context(), rig)
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		return &page.ProblemError{Problem: page.NewProblem(http.StatusUnprocessableEntity, "invalid", page.Wrongs(form.Sentences(invalid)...))}
	case errors.Is(err, journal.ErrConflict):
		return &page.ProblemError{Problem: page.NewProblem(http.StatusConflict, "conflict", page.Wrongs("The journal has this rig already, tied or named otherwise. Nothing was changed."))}
	case err != nil:
		return err
	}
	return page.SendJSON(w, http.StatusOK, map[string]journal.Rig{"rig": stored})
}
