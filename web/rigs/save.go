package rigs

import (
	"fmt"
	"net/http"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/web/form"
	"rigtally/web/page"
)

func heldRig(mine journal.Rig, sys units.System) func(any) string {
	return func(held any) string {
		rig, ok := held.(journal.Rig)
		if !ok {
			return ""
		}
		return "From yours to the journal’s: " + strings.Join(rigChanges(mine, rig, sys), "; ") + "."
	}
}

// rigCopy shows the form of a new rig tied like one of the journal, under a name
// that is free, so that saving it is all that is left to do.
func (s *pages) rigCopy(w http.ResponseWriter, r *http.Request, fr page.Frame, of journal.RigUse) error {
	list, err := s.Store.Rigs(r.Context())
	if err != nil {
		return err
	}
	f := form.New(fr.Units)
	fillRig(f, of.Rig)
	f.Set("name", freeName(of.Name, list))
	f.Set("copied", of.Title())
	return s.showRigForm(w, r, http.StatusOK, fr, f, journal.RigUse{})
}

// freeName makes a name for a copy that no rig has.
func freeName(name string, rigs []journal.RigUse) string {
	const longest = 100 // letters, so that the journal takes it with what is added
	taken := map[string]bool{}
	for _, r := range rigs {
		taken[strings.ToLower(r.Name)] = true
	}
	base, _, _ := strings.Cut(name, ", copy")
	for len(base) > longest {
		base = base[:len(base)-len(lastLetter(base))]
	}
	for n := 1; ; n++ {
		free := base + ", copy"
		if n > 1 {
			free = fmt.Sprintf("%s %d", free, n)
		}
		if !taken[strings.ToLower(free)] {
			return free
		}
	}
}

// lastLetter is the last letter of a text, which may be several bytes long.
func lastLetter(s string) string {
	letters := []rune(s)
	return string(letters[len(letters)-1:])
}

// rigNew shows an empty form: a point fly and one dropper on a tag.
func (s *pages) rigNew(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	f := form.New(fr.Units)
	f.Set("then", r.URL.Query().Get("then"))
	addFly(f)
	addFly(f)
	if method := r.URL.Query().Get("method"); method != "" {
		f.Set("method", method)
		fillUsual(f)
	}
	return s.showRigForm(w, r, http.StatusOK, fr, f, journal.RigUse{})
}

// rigEdit shows the form with a rig of the journal.
func (s *pages) rigEdit(w http.ResponseWriter, r *http.Request, fr page.Frame, rig journal.RigUse) error {
	f := form.New(fr.Units)
	fillRig(f, rig.Rig)
	return s.showRigForm(w, r, http.StatusOK, fr, f, rig)
}

// rigAt reads the rig that the address names, with its use.
func (s *pages) rigAt(r *http.Request) (journal.RigUse, error) {
	return page.Of(r, s.Store.Rigs, func(rig journal.RigUse) journal.ID { return rig.ID })
}

// rigCreate takes the form of a new rig.
func (s *pages) rigCreate(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	return s.rigSave(w, r, fr, journal.RigUse{})
}

// rigSave takes the form of a rig that is in the journal.
func (s *pages) rigSave(w http.ResponseWriter, r *http.Request, fr page.Frame, of journal.RigUse) error {
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	switch do := f.Values.Get("do"); {
	case do == "add" && flies(f) < maxFlies:
		addFly(f)
		if hasUsual(f) {
			fillUsual(f)
		}
	case strings.HasPrefix(do, "remove"):
		removeFly(f)
	case do == "usual":
		fillUsual(f)
	}
	if f.Values.Get("do") != "save" {
		return s.showRigForm(w, r, http.StatusOK, fr, f, of)
	}
	rig := readRig(f)
	if err := s.askKnots(r.Context(), f, &rig); err != nil {
		return err
	}
	rig.ID, rig.Revision, rig.CreatedAt = of.ID, of.Revision, of.CreatedAt
	return page.Saving{
		Form: f,
		Store: func() (string, error) {
			saved, err := s.Store.SaveRig(r.Context(), rig)
			return afterRig(f.Text("then"), of, saved), err
		},
		Held:  heldRig(rig, fr.Units),
		Again: func(status int) error { return s.showRigForm(w, r, status, fr, f, of) },
	}.Do(w, r)
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
