package rigs

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/field"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// rigFormPage is the form of a rig, ready to be shown.
type rigFormPage struct {
	page.Frame
	Form           *form.Form
	Fished         string // says that the rig was fished, "" when it was not
	ID             string
	Method         *form.Choice
	Leader         []form.Part
	Positions      []positionView
	More           bool
	Action, Cancel string
	Usual          []form.Field // what was filled in, and not typed
	Seen           seenPart
}

// positionView is one fly of the form.
type positionView struct {
	Title        string
	Dropper      bool
	Number       form.Field
	Hanging, Fly []form.Part // how it hangs, of a dropper, and what it is
	Remove       string
	Open         bool // whether the fold of less used fields is open
}

const maxFlies = 10 // as in the journal's rules

// flyName is the name of a field of the i-th fly of the form, from 0.
func flyName(i int, field string) string { return "fly." + strconv.Itoa(i) + "." + field }

func flies(f *form.Form) int {
	n := 0
	for f.Values.Has(flyName(n, "position")) {
		n++
	}
	return n
}

// fillRig writes a rig into the form, so that reading it again gives the same rig.
func fillRig(f *form.Form, rig journal.Rig) {
	f.Set("version", strconv.Itoa(rig.Version))
	f.Set("name", rig.Name)
	form.Fill(f, journal.RigFields(), &rig, form.Own)
	for i := range rig.Positions {
		f.Set(flyName(i, "position"), strconv.Itoa(rig.Positions[i].Position))
		form.Fill(f, journal.FlyFields(), &rig.Positions[i], func(field string) string { return flyName(i, field) })
	}
}

// readRig turns the form into a rig; faults are noted in the form.
func readRig(f *form.Form) journal.Rig {
	rig := journal.Rig{Version: f.Version()}
	form.Take(f, journal.RigFields(), &rig, form.Own)
	rig.Name = f.Filled("name", "give the rig a name, such as Blood 165")
	n := flies(f)
	if n > maxFlies {
		f.Fault("", fmt.Sprintf("the rig has %d flies; at most %d can be kept", n, maxFlies))
		return rig
	}
	for i := range n {
		rig.Positions = append(rig.Positions, readFly(f, i))
	}
	return rig
}

func readFly(f *form.Form, i int) journal.RigPosition {
	name := func(field string) string { return flyName(i, field) }
	var p journal.RigPosition
	form.Take(f, journal.FlyFields(), &p, name)
	p.Position = form.Or0(f.Whole(name("position"), maxFlies-1))
	if p.JunctionName != "" && p.Junction == "" {
		p.Junction = journal.JunctionOther // a name of one's own says as much
	}
	return p
}

// addFly puts a fly at the top of the rig: the point first, then droppers.
func addFly(f *form.Form) {
	n, top := flies(f), -1
	for i := range n {
		if at, err := strconv.Atoi(f.Text(flyName(i, "position"))); err == nil {
			top = max(top, at)
		}
	}
	f.Set(flyName(n, "position"), strconv.Itoa(top+1))
	if top >= 0 {
		f.Set(flyName(n, "hang"), string(journal.HangTag))
	}
}

// removeFly takes the uppermost fly off.
func removeFly(f *form.Form) {
	if n := flies(f); n > 1 {
		f.Values.Del(flyName(n-1, "position"))
	}
}

func (s *pages) showRigForm(w http.ResponseWriter, r *http.Request, status int, fr page.Frame, f *form.Form, of journal.RigUse) error {
	whole := form.Parts(f, form.Less(journal.RigFields(), "notes"), form.Own)
	p := rigFormPage{Frame: fr, Form: f, Action: "/rigs/new", Cancel: "/rigs", More: flies(f) < maxFlies,
		Method: whole[0].Choice, Leader: filledParts(f, whole[1:]), Usual: usualFields(f, filledNames(flies(f)))}
	p.Wide = true
	if !of.ID.IsZero() {
		p.ID, p.Cancel = of.ID.String(), "/rigs/"+of.ID.String()
		p.Action = p.Cancel + "/edit"
	}
	if of.Stints > 0 {
		p.Fished = "This rig was fished in " + prose.Plural(of.Stints, "stint", "stints") + ", so it stays as it is. What you change becomes the next revision of its name, and new sessions use that."
	}
	for i := range flies(f) {
		p.Positions = append(p.Positions, flyView(f, i))
	}
	var err error
	if p.Seen, err = s.seeForm(r.Context(), f, of.Rig); err != nil {
		return err
	}
	return s.Render(w, status, "rigform", p)
}

// seeForm draws what the form holds. What is wrong with it is said beside the
// drawing, on a form of its own.
func (s *pages) seeForm(ctx context.Context, f *form.Form, of journal.Rig) (seenPart, error) {
	look := form.Of(f.Values, f.Units)
	rig := readRig(look)
	rig.ID, rig.Revision = of.ID, of.Revision
	return s.seen(ctx, f, look, rig)
}

// rigDraw draws a form as it is being filled in, for the script beside it.
func (s *pages) rigDraw(w http.ResponseWriter, r *http.Request) error {
	o, err := s.Store.Outfit(r.Context())
	if err != nil {
		return err
	}
	f, err := form.Read(r, units.System(o.Units))
	if err != nil {
		return err
	}
	var of journal.Rig
	if id := f.ID("of"); id != nil {
		if of, err = s.Store.RigByID(r.Context(), *id); err != nil {
			return err
		}
	}
	seen, err := s.seeForm(r.Context(), f, of)
	if err != nil {
		return err
	}
	return s.RenderPart(w, http.StatusOK, "rigform", "drawn", seen)
}

func flyView(f *form.Form, i int) positionView {
	name := func(field string) string { return flyName(i, field) }
	at, _ := strconv.Atoi(f.Text(name("position")))
	v := positionView{Title: prose.Position(at), Dropper: at > 0, Number: f.Input(name("position"), "", "")}
	hanging := []string{"tag_length", "distance", "junction", "facing", "prop", "hang", "junction_name"}
	for _, part := range field.Ranked(filledParts(f, form.Parts(f, journal.FlyFields(), name)), func(p form.Part) string { return p.Key }, append(hanging, "fly", "bulk", "hook_size", "bead", "tippet", "material")) {
		if part.Key == "hang" {
			part.Choice.Options = form.Select(form.Pairs(string(journal.HangTag), "On a tag", string(journal.HangEye), "In line at the eye", string(journal.HangBend), "In line at the bend of the fly above"), f.Text(name("hang")))
		}
		if slices.Contains(hanging, part.Key) {
			v.Hanging = append(v.Hanging, part)
		} else {
			v.Fly = append(v.Fly, part)
		}
	}
	if i == flies(f)-1 && i > 0 {
		v.Remove = "remove"
	}
	return v
}
