package web

import (
	"net/http"
	"strings"

	"rigtally/journal"
)

// rigNew shows an empty form: a point fly and one dropper on a tag.
func (s *Server) rigNew(w http.ResponseWriter, r *http.Request) error {
	fr, err := s.frame(r, "rigs", "Add a rig")
	if err != nil {
		return err
	}
	f := newForm(fr.Units)
	f.set("then", r.URL.Query().Get("then"))
	f.addFly()
	f.addFly()
	if method := r.URL.Query().Get("method"); method != "" {
		f.set("method", method)
		f.fillUsual()
	}
	return s.showRigForm(w, r, http.StatusOK, fr, f, journal.RigUse{})
}

// rigEdit shows the form with a rig of the journal.
func (s *Server) rigEdit(w http.ResponseWriter, r *http.Request) error {
	rig, err := s.rigAt(r)
	if err != nil {
		return err
	}
	fr, err := s.frame(r, "rigs", "Change "+rig.Title())
	if err != nil {
		return err
	}
	f := newForm(fr.Units)
	f.fillRig(rig.Rig)
	return s.showRigForm(w, r, http.StatusOK, fr, f, rig)
}

// rigAt reads the rig that the address names, with its use.
func (s *Server) rigAt(r *http.Request) (journal.RigUse, error) {
	id, err := pathID(r)
	if err != nil {
		return journal.RigUse{}, err
	}
	list, err := s.store.Rigs(r.Context())
	if err != nil {
		return journal.RigUse{}, err
	}
	for _, rig := range list {
		if rig.ID == id {
			return rig, nil
		}
	}
	return journal.RigUse{}, journal.ErrNotFound
}

// rigCreate takes the form of a new rig.
func (s *Server) rigCreate(w http.ResponseWriter, r *http.Request) error {
	return s.saveRig(w, r, "Add a rig", journal.RigUse{})
}

// rigSave takes the form of a rig that is in the journal.
func (s *Server) rigSave(w http.ResponseWriter, r *http.Request) error {
	rig, err := s.rigAt(r)
	if err != nil {
		return err
	}
	return s.saveRig(w, r, "Change "+rig.Title(), rig)
}

func (s *Server) saveRig(w http.ResponseWriter, r *http.Request, title string, of journal.RigUse) error {
	fr, err := s.frame(r, "rigs", title)
	if err != nil {
		return err
	}
	f, err := readForm(r, fr.Units)
	if err != nil {
		return err
	}
	switch do := f.values.Get("do"); {
	case do == "add" && f.flies() < maxFlies:
		f.addFly()
		if f.hasUsual() {
			f.fillUsual()
		}
	case strings.HasPrefix(do, "remove"):
		f.removeFly()
	case do == "usual":
		f.fillUsual()
	}
	if f.values.Get("do") != "save" {
		return s.showRigForm(w, r, http.StatusOK, fr, f, of)
	}
	rig := f.readRig()
	rig.ID, rig.Revision, rig.CreatedAt = of.ID, of.Revision, of.CreatedAt
	return saving{
		form: f,
		store: func() (string, error) {
			saved, err := s.store.SaveRig(r.Context(), rig)
			return afterRig(f.text("then"), of, saved), err
		},
		held:  heldRig(rig, fr.Units),
		again: func(status int) error { return s.showRigForm(w, r, status, fr, f, of) },
	}.do(w, r)
}

// afterRig is where to go when a rig has been saved.
func afterRig(then string, of journal.RigUse, saved journal.Rig) string {
	switch {
	case then == "log":
		return "/log?rig=" + saved.ID.String()
	case !of.ID.IsZero() && saved.ID != of.ID:
		return "/rigs/" + saved.ID.String() + "?done=rig-revised"
	}
	return "/rigs/" + saved.ID.String() + "?done=rig-saved"
}
