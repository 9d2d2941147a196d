package imports

import (
	"context"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/sheet"
	"rigtally/prose"
	"rigtally/web/form"
)

// comingView is what writing a file would do.
type comingView struct {
	Says        []string
	New         []newView
	Changed     []changedView
	Update      form.Tick
	Conflicts   []changedView
	Different   []changedView
	Beside      []string
	Gone        []string
	NotRecorded []string
}

// newView is who or what of a kind comes new.
type newView struct{ What, Names string }

// changedView is a session that the sheet tells otherwise than the journal.
type changedView struct {
	Title, Href string
	Edits       []string
}

// nameView is a name of the sheet that the journal lacks, and whom or what it may mean.
type nameView struct {
	Kind, Written form.Field
	Choice        form.Choice
	Asked         bool
}

// coming shows what writing a file would do, and says how many sessions and changes that would be.
func coming(f *form.Form, i int, p *sheet.Preview) (v *comingView, sessions, changes int) {
	v = &comingView{Says: []string{exchange.Verb(p.Sessions, "session", "is", "are") + " new, with " + exchange.Counted(p.Stints, "stint") + "."}}
	say := func(n int, text string) {
		if n > 0 {
			v.Says = append(v.Says, text)
		}
	}
	say(p.Returned, "Of these, "+exchange.Counted(p.Returned, "session")+" had been deleted and would come back.")
	say(p.Extended, exchange.Verb(p.Extended, "session", "gains", "gain")+" corrected rows.")
	say(p.AlreadyThere, exchange.Verb(p.AlreadyThere, "session", "is", "are")+" in the journal already, just so.")
	for _, kind := range []struct{ key, title string }{{sheet.KindAngler, "Anglers"}, {sheet.KindWater, "Waters"}, {sheet.KindBeat, "Beats"}, {sheet.KindRig, "Rigs"}, {sheet.KindJunction, "Knots"}} {
		var names []string
		for _, n := range p.New {
			if n.Kind == kind.key {
				if names = append(names, n.Name); n.Of != "" {
					names[len(names)-1] += " on " + n.Of
				}
			}
		}
		if len(names) > 0 {
			v.New = append(v.New, newView{kind.title, listed(names)})
		}
	}
	v.Changed, v.Conflicts, v.Different = changed(p.Changed), changed(p.Conflicts), changed(p.Different)
	v.Update = f.Tick(name(i, "update"), "Take what changed in the sheet")
	v.Beside, v.Gone, v.NotRecorded = differences(p.Beside), differences(p.Gone), notRecorded(p.NotRecorded)
	if v.Update.On {
		changes = len(p.Changed)
	}
	return v, p.Sessions + p.Extended, changes
}

func differences(list []exchange.Difference) (says []string) {
	for i, d := range list {
		if i == mostListed {
			return append(says, "And "+strconv.Itoa(len(list)-mostListed)+" more")
		}
		says = append(says, strings.Replace(d.String(), d.Day.String(), prose.Day(d.Day), 1))
	}
	return says
}

// notRecorded says of what no count was kept: kinds that lack in as many stints together.
func notRecorded(list []sheet.NotRecorded) (says []string) {
	type extent struct{ stints, minutes int }
	var order []extent
	kinds := map[extent][]string{}
	for _, n := range list {
		e := extent{n.Stints, n.Minutes}
		if kinds[e] == nil {
			order = append(order, e)
		}
		kinds[e] = append(kinds[e], n.Kind.Title())
	}
	for _, e := range order {
		says = append(says, "In "+exchange.Counted(e.stints, "stint")+" ("+units.FormatDuration(float64(e.minutes))+"): "+prose.Listed(kinds[e])+".")
	}
	return says
}

// listed names some, and says how many more there are.
func listed(names []string) string {
	const most = 12
	if more := len(names) - most; more > 0 {
		return strings.Join(names[:most], "; ") + "; and " + strconv.Itoa(more) + " more"
	}
	return strings.Join(names, "; ")
}

func changed(list []sheet.Changed) (views []changedView) {
	for i, c := range list {
		if i == mostListed {
			views = append(views, changedView{Title: "And " + strconv.Itoa(len(list)-mostListed) + " more"})
			break
		}
		v := changedView{Title: prose.Day(c.Day) + ", " + c.Angler + ", " + c.Water, Href: "/sessions/" + c.ID.String()}
		for _, e := range c.Edits {
			v.Edits = append(v.Edits, prose.Capital(e.String()))
		}
		views = append(views, v)
	}
	return views
}

// names asks about names that are near known ones, and offers for all others to mean a known one.
func (v *fileView) names(ctx context.Context, s *pages, f *form.Form, said url.Values, i int, p *sheet.Preview) error {
	known, err := s.known(ctx)
	if err != nil {
		return err
	}
	n := 0
	add := func(kind, written, means, hint, similar string, asked bool) {
		for field, text := range map[string]string{"kind": kind, "written": written, "means": means} {
			f.Set(numbered(i, field, n), text)
		}
		options := form.Pairs("", map[bool]string{true: "Choose", false: written + " is new"}[asked])
		if similar != "" {
			options = append(options, form.Option{Value: similar, Text: similar})
		}
		if asked || means == written {
			options = append(options, form.Option{Value: written, Text: written + " is new"})
		}
		for _, k := range known[kind] {
			if k != similar && k != written {
				options = append(options, form.Option{Value: k, Text: k})
			}
		}
		one := nameView{Asked: asked, Kind: f.Input(numbered(i, "kind", n), "", ""), Written: f.Input(numbered(i, "written", n), "", ""),
			Choice: f.Choose(numbered(i, "means", n), "“"+written+"” is", hint, options)}
		if v.Names = append(v.Names, one); asked {
			v.Stops = append(v.Stops, stopView{one.Choice.Name, "“" + written + "” is not in the journal. Did you mean " + similar + "?"})
		}
		n++
	}
	rules := options(said, i).Names
	for _, rule := range rules {
		similar := ""
		if rule.Means != rule.Written && !slices.Contains(known[rule.Kind], rule.Means) {
			similar = rule.Means
		}
		add(rule.Kind, rule.Written, rule.Means, "", similar, false)
	}
	for _, x := range p.New {
		told := slices.ContainsFunc(rules, func(r sheet.NameRule) bool { return r.Kind == x.Kind && strings.EqualFold(r.Written, x.Name) })
		if told || x.Kind == sheet.KindRig || n >= mostNumbered {
			continue
		}
		add(x.Kind, x.Name, "", exchange.Counted(x.Rows, "row")+", from "+x.First, x.Similar, x.Asked)
	}
	for _, one := range v.Names {
		if one.Asked {
			v.Asked = append(v.Asked, one)
		}
	}
	v.Names = slices.DeleteFunc(v.Names, func(one nameView) bool { return one.Asked })
	v.NamesOn = len(rules) > 0
	return nil
}

// known are the names of the journal that a name of a sheet can mean.
func (s *pages) known(ctx context.Context) (map[string][]string, error) {
	known := map[string][]string{}
	anglers, err := s.Store.Anglers(ctx)
	if err != nil {
		return nil, err
	}
	for _, a := range anglers {
		known[sheet.KindAngler] = append(known[sheet.KindAngler], a.Name)
	}
	waters, err := s.Store.Waters(ctx)
	for _, w := range waters {
		known[sheet.KindWater] = append(known[sheet.KindWater], w.Name)
	}
	for _, j := range journal.Junctions() {
		if j != journal.JunctionOther {
			known[sheet.KindJunction] = append(known[sheet.KindJunction], string(j))
		}
	}
	return known, err
}
