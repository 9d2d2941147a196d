package web

import (
	"fmt"
	"net/http"
	"strings"

	"rigtally/journal"
)

// rigCopy shows the form of a new rig tied like one of the journal, under a name
// that is free, so that saving it is all that is left to do.
func (s *Server) rigCopy(w http.ResponseWriter, r *http.Request) error {
	of, err := s.rigAt(r)
	if err != nil {
		return err
	}
	list, err := s.store.Rigs(r.Context())
	if err != nil {
		return err
	}
	fr, err := s.frame(r, "rigs", "Copy "+of.Title())
	if err != nil {
		return err
	}
	f := newForm(fr.Units)
	f.fillRig(of.Rig)
	f.set("name", freeName(of.Name, list))
	f.set("copied", of.Title())
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
