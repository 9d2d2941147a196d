package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// rigFormPage is the form of a rig, ready to be shown.
type rigFormPage struct {
	frame
	Problems                     problems
	Fished                       string // says that the rig was fished, "" when it was not
	ID, Then, Version            string
	Name                         field
	Method, Swivel               choice
	Rod, Leader, Sighter, Tippet field
	Notes                        field
	Positions                    []positionView
	More                         bool
	Action, Cancel               string
	Copied                       string  // the rig that this is a copy of
	Usual                        []field // what was filled in, and not typed
	Rules                        choice
	Costs                        []field
	Seen                         seenPart
}

// positionView is one fly of the form.
type positionView struct {
	Title                                                string
	Dropper                                              bool
	Number                                               field
	Hang, Junction, Facing, Prop, Material, Bulk         choice
	JunctionName, Tag, Distance, Tippet, Fly, Hook, Bead field
	Remove                                               string
	Open                                                 bool // whether the fold of less used fields is open
}

const maxFlies = 10 // as in the journal's rules

// flyName is the name of a field of the i-th fly of the form, from 0.
func flyName(i int, field string) string { return "fly." + strconv.Itoa(i) + "." + field }

func (f *form) flies() int {
	n := 0
	for f.values.Has(flyName(n, "position")) {
		n++
	}
	return n
}

// fillRig writes a rig into the form, so that reading it again gives the same rig.
func (f *form) fillRig(rig journal.Rig) {
	long := in(units.ExactLength, f.units)
	f.set("version", strconv.Itoa(rig.Version))
	f.set("name", rig.Name)
	f.set("method", string(rig.Method))
	f.set("swivel", string(rig.Swivel))
	f.set("rod", shown(rig.RodLengthMM, long))
	f.set("leader", shown(rig.LeaderLengthMM, long))
	f.set("sighter", shown(rig.SighterLengthMM, long))
	f.set("tippet", shown(rig.TippetLengthMM, long))
	f.set("notes", rig.Notes)
	for i, p := range rig.Positions {
		for name, value := range map[string]string{
			"position": strconv.Itoa(p.Position), "hang": string(p.Hang), "junction": string(p.Junction), "junction-name": p.JunctionName,
			"facing": string(p.Facing), "prop": string(p.Prop), "tag": shown(p.TagLengthMM, long), "distance": shown(p.DistanceMM, long),
			"tippet": shown(p.TippetMM, units.ExactTippet), "material": string(p.Material), "fly": p.Fly, "hook": shown(p.HookSize, strconv.Itoa),
			"bead": shown(p.BeadMM, in(units.ExactLength, units.Metric)), "bulk": string(p.Bulk),
		} {
			f.set(flyName(i, name), value)
		}
	}
}

// readRig turns the form into a rig; faults are noted in the form.
func (f *form) readRig() journal.Rig {
	rig := journal.Rig{Version: f.version(), Name: f.text("name"), Method: journal.Method(f.text("method")), Swivel: journal.Swivel(f.text("swivel")),
		RodLengthMM: f.longLength("rod"), LeaderLengthMM: f.longLength("leader"), SighterLengthMM: f.shortLength("sighter"),
		TippetLengthMM: f.longLength("tippet"), Notes: f.text("notes")}
	if rig.Name == "" {
		f.fault("name", "give the rig a name, such as Blood 165")
	}
	n := f.flies()
	if n > maxFlies {
		f.fault("", fmt.Sprintf("the rig has %d flies; at most %d can be kept", n, maxFlies))
		return rig
	}
	for i := range n {
		rig.Positions = append(rig.Positions, f.readFly(i))
	}
	return rig
}

func (f *form) readFly(i int) journal.RigPosition {
	name := func(field string) string { return flyName(i, field) }
	p := journal.RigPosition{Hang: journal.Hang(f.text(name("hang"))), Junction: journal.Junction(f.text(name("junction"))),
		JunctionName: f.text(name("junction-name")), Facing: journal.Facing(f.text(name("facing"))), Prop: journal.Prop(f.text(name("prop"))),
		TagLengthMM: f.shortLength(name("tag")), DistanceMM: f.shortLength(name("distance")), TippetMM: f.tippet(name("tippet")),
		Material: journal.Material(f.text(name("material"))), Fly: f.text(name("fly")), HookSize: f.whole(name("hook"), 36),
		BeadMM: optional(f, name("bead"), func(s string) (float64, error) { return units.ParseLength(s, units.Millimetre) }), Bulk: journal.Bulk(f.text(name("bulk")))}
	if at := f.whole(name("position"), maxFlies-1); at != nil {
		p.Position = *at
	}
	if p.JunctionName != "" && p.Junction == "" {
		p.Junction = journal.JunctionOther // a name of one's own says as much
	}
	return p
}

// addFly puts a fly at the top of the rig: the point first, then droppers.
func (f *form) addFly() {
	n, top := f.flies(), -1
	for i := range n {
		if at, err := strconv.Atoi(f.text(flyName(i, "position"))); err == nil {
			top = max(top, at)
		}
	}
	f.set(flyName(n, "position"), strconv.Itoa(top+1))
	if top >= 0 {
		f.set(flyName(n, "hang"), string(journal.HangTag))
	}
}

// removeFly takes the uppermost fly off.
func (f *form) removeFly() {
	if n := f.flies(); n > 1 {
		f.values.Del(flyName(n-1, "position"))
	}
}

func (s *Server) showRigForm(w http.ResponseWriter, r *http.Request, status int, fr frame, f *form, of journal.RigUse) error {
	short, long := f.unit(units.Inch, units.Millimetre), f.unit(units.Foot, units.Metre)
	p := rigFormPage{Problems: f.problems("Not saved yet. Please look at:"), Then: f.text("then"), Version: f.text("version"), Action: "/rigs/new", Cancel: "/rigs", More: f.flies() < maxFlies,
		Name:    f.input("name", "Name", ""),
		Method:  f.choose("method", "Method", "fills in what is usual for it", vocabulary(journal.Methods(), notNoted)),
		Swivel:  f.filledChoice(f.choose("swivel", "Between sighter and tippet", "", vocabulary(journal.Swivels(), notNoted))),
		Rod:     f.filledField(f.input("rod", "Rod", long)),
		Leader:  f.filledField(f.input("leader", "Whole leader", long)),
		Sighter: f.filledField(f.input("sighter", "Sighter", short)),
		Tippet:  f.filledField(f.input("tippet", "Tippet, to the point fly", long)),
		Notes:   f.input("notes", "Notes on the rig", ""),
		Copied:  f.text("copied"),
		Usual:   f.usualFields(filledNames(f.flies()))}
	p.frame = fr
	p.Wide = true
	if !of.ID.IsZero() {
		p.ID, p.Cancel = of.ID.String(), "/rigs/"+of.ID.String()
		p.Action = p.Cancel + "/edit"
	}
	if of.Stints > 0 {
		p.Fished = "This rig was fished in " + prose.Plural(of.Stints, "stint", "stints") + ", so it stays as it is. What you change becomes the next revision of its name, and new sessions use that."
	}
	for i := range f.flies() {
		p.Positions = append(p.Positions, f.flyView(i))
	}
	if err := s.seeForm(r.Context(), &p, f, of.Rig); err != nil {
		return err
	}
	return s.render(w, status, "rigform", p)
}

// seeForm draws what the form holds. What is wrong with it is said beside the
// drawing, on a form of its own.
func (s *Server) seeForm(ctx context.Context, p *rigFormPage, f *form, of journal.Rig) error {
	sets, err := s.rulesInUse(ctx)
	if err != nil {
		return err
	}
	look := formOf(f.values, f.units)
	rig := look.readRig()
	rig.ID, rig.Revision = of.ID, of.Revision
	if p.Seen, err = s.seen(ctx, look, rig, sets); err != nil {
		return err
	}
	usual, err := s.usualCosts(ctx, rig, f.units)
	p.Rules, p.Costs = f.chooseRules(sets), f.costFields(usual)
	return err
}

// rigDraw draws a form as it is being filled in, for the script beside it.
func (s *Server) rigDraw(w http.ResponseWriter, r *http.Request) error {
	o, err := s.store.Outfit(r.Context())
	if err != nil {
		return err
	}
	f, err := readForm(r, units.System(o.Units))
	if err != nil {
		return err
	}
	var of journal.Rig
	if id := f.id("of"); id != nil {
		if of, err = s.store.RigByID(r.Context(), *id); err != nil {
			return err
		}
	}
	p := rigFormPage{}
	if err := s.seeForm(r.Context(), &p, f, of); err != nil {
		return err
	}
	return s.renderPart(w, "rigform", "drawn", p)
}

func (f *form) flyView(i int) positionView {
	name := func(field string) string { return flyName(i, field) }
	short := f.unit(units.Inch, units.Millimetre)
	at, _ := strconv.Atoi(f.text(name("position")))
	v := positionView{Title: prose.Position(at), Dropper: at > 0, Number: f.input(name("position"), "", ""),
		Hang:         f.filledChoice(f.choose(name("hang"), "Hangs", "", hangOptions())),
		Junction:     f.filledChoice(f.choose(name("junction"), "Junction", "", vocabulary(journal.Junctions(), notNoted))),
		JunctionName: f.input(name("junction-name"), "Its name, if other", ""),
		Facing:       f.filledChoice(f.choose(name("facing"), "Tag faces", "down is toward the point", vocabulary(journal.Facings(), notNoted))),
		Prop:         f.filledChoice(f.choose(name("prop"), "Prop", "a hitch that holds the tag off the line", vocabulary(journal.Props(), notNoted))),
		Tag:          f.filledField(f.input(name("tag"), "Tag length", short+", as tied")),
		Distance:     f.filledField(f.input(name("distance"), "Distance to the next fly down", short)),
		Tippet:       f.filledField(f.input(name("tippet"), "Tippet", "6X, or mm")),
		Material:     f.filledChoice(f.choose(name("material"), "Material", "", vocabulary(journal.Materials(), notNoted))),
		Fly:          f.input(name("fly"), "Fly", ""),
		Hook:         f.input(name("hook"), "Hook size", "").keyboard("numeric"),
		Bead:         f.input(name("bead"), "Bead", "mm").keyboard("decimal"),
		Bulk:         f.choose(name("bulk"), "Bulk", "", vocabulary(journal.Bulks(), notNoted))}
	if at == 0 {
		v.Hang = choice{}
	}
	if i == f.flies()-1 && i > 0 {
		v.Remove = "remove"
	}
	return v
}

func hangOptions() []option {
	return []option{{Value: string(journal.HangTag), Text: "On a tag"}, {Value: string(journal.HangEye), Text: "In line at the eye"},
		{Value: string(journal.HangBend), Text: "In line at the bend of the fly above"}}
}
