package attack_test

import (
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// holding is what somebody's part of a journal holds: one of each kind, with a word in every text that stands nowhere else.
type holding struct {
	word string
	ids  map[string]journal.ID // by kind
	who  journal.Who
	pg   *pg.Store
}

// world is two outfits in one database. The first has a guide and two clients.
type world struct {
	*webtest.Site
	holders  map[string]*holding // house, one, two, other
	visitors webtest.Visitors    // nobody is none of them
	faults   []string            // what was found
}

func (w *world) fault(format string, args ...any) {
	w.faults = append(w.faults, fmt.Sprintf(format, args...))
}

// alter changes the database as nobody may but who looks after the machine.
func (w *world) alter(t *testing.T, sql string) {
	t.Helper()
	conn := webtest.Got(pgx.Connect(t.Context(), pgtest.AsSuperuser(w.Database)))(t)
	defer conn.Close(t.Context())
	_, err := conn.Exec(t.Context(), sql)
	must(t, err)
}

// kinds are what an id can be one of.
var kinds = []string{"session", "rig", "trial", "claim", "pull", "rules", "angler", "water", "beat", "stint", "deleted"}

// maySee says whose words stand on pages for whom.
var maySee = map[string][]string{
	"nobody": nil,
	"one":    {"one"},
	"two":    {"two"},
	"guide":  {"house", "guide", "one", "two"},
	"owner":  {"house", "guide", "one", "two"},
	"other":  {"other"},
}

func newWorld(t *testing.T) *world {
	t.Helper()
	visitors := webtest.Visitors{}
	w := &world{Site: webtest.NewWith(t, visitors), visitors: visitors, holders: map[string]*holding{}}
	first := w.Store
	other := webtest.Got(first.AddOutfit(t.Context(), "The other outfit"))(t)
	for _, name := range []string{"house", "one", "two", "other"} {
		h := &holding{word: "canary" + name, ids: map[string]journal.ID{}, pg: first, who: journal.Keeper()}
		if name == "other" {
			h.pg = first.In(other, journal.Keeper())
		}
		h.angler(t)
		if name == "one" || name == "two" {
			id := h.ids["angler"]
			h.who = journal.Who{Role: journal.RoleClient, Name: h.word, Angler: &id, Person: new(journal.NewID())}
			h.pg = first.For(h.who)
		}
		h.fill(t)
		w.holders[name] = h
	}
	guide := w.holders["house"].ids["guide"]
	owner, leading := journal.Who{Role: journal.RoleOwner, Name: "canaryhouse", Person: new(journal.NewID())}, journal.Who{Role: journal.RoleGuide, Name: "canaryguide", Angler: &guide, Person: new(journal.NewID())}
	for name, who := range map[string]journal.Who{"owner": owner, "guide": leading, "one": w.holders["one"].who, "two": w.holders["two"].who} {
		visitors[name] = door.Visitor{Outfit: first.OutfitID(), Who: who}
	}
	visitors["other"] = door.Visitor{Outfit: other, Who: owner}
	return w
}

// angler makes whose holding it is and, in the house, a guide, who guided each of the clients.
func (h *holding) angler(t *testing.T) {
	a := journal.Angler{ID: journal.NewID(), Name: "Angler " + h.word, Kind: journal.Client, Active: true}
	h.ids["angler"] = a.ID
	must(t, h.pg.SaveAngler(t.Context(), a))
	if h.word == "canaryhouse" {
		g := journal.Angler{ID: journal.NewID(), Name: "canaryguide", Kind: journal.Guiding, Active: true}
		h.ids["guide"] = g.ID
		must(t, h.pg.SaveAngler(t.Context(), g))
	}
}

func (h *holding) fill(t *testing.T) {
	t.Helper()
	ctx := t.Context()
	rig := func(name string, tag float64) journal.Rig {
		return webtest.Got(h.pg.SaveRig(ctx, journal.Rig{Name: "Rig " + h.word + name, Notes: "Tied by " + h.word, Positions: []journal.RigPosition{
			{Position: 0, Fly: "Fly " + h.word, HookSize: new(16)}, {Position: 1, Hang: journal.HangTag, Junction: journal.JunctionOther, JunctionName: "Knot " + h.word, TagLengthMM: new(tag), Fly: "Fly " + h.word}}}))(t)
	}
	a, b := rig("", 120), rig(" long", 165)
	h.ids["rig"] = a.ID
	for i, kind := range []string{"session", "deleted"} {
		d := journal.Draft{Confirmed: true, Water: "Water " + h.word, Beat: "Beat " + h.word, Session: journal.Session{ID: journal.NewID(), AnglerID: h.ids["angler"], Day: journal.Date{Year: 2026, Month: 5, Day: 3 + i}, Notes: "Note " + h.word,
			Stints: []journal.Stint{{ID: journal.NewID(), RigID: a.ID, Minutes: new(90.0), Notes: "Stint " + h.word, Events: []journal.Event{
				{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair, Ending: journal.Landed, Species: "Trout " + h.word, Note: "Event " + h.word}, {Kind: journal.EventTangle, Count: 2, TangleKind: journal.Twist}}}}}}
		s := webtest.Got(h.pg.LogSession(ctx, d))(t)
		h.ids[kind] = s.ID
		if kind == "deleted" {
			must(t, h.pg.DeleteSession(ctx, s.ID, 0))
			continue
		}
		h.ids["water"], h.ids["beat"], h.ids["stint"] = s.WaterID, *s.BeatID, s.Stints[0].ID
	}
	trial := webtest.Got(h.pg.PlanTrial(ctx, journal.Trial{ID: journal.NewID(), Name: "Trial " + h.word, Outcome: "tangles", Factor: "rig", Arms: [2]journal.TrialArm{{RigID: &a.ID}, {RigID: &b.ID}},
		Unit: journal.ByStint, Block: 4, Worth: 1.5, MostHours: 60, Notes: "Why " + h.word}))(t)
	h.ids["trial"] = trial.ID
	if h.who.IsClient() {
		h.ids["claim"], h.ids["pull"], h.ids["rules"] = journal.NewID(), journal.NewID(), journal.NewID() // clients have none
		return
	}
	c := journal.StartingClaims()[0]
	c.ID, c.Words, c.Version = journal.NewID(), "Claim "+h.word, 0
	h.ids["claim"] = webtest.Got(h.pg.SaveClaim(ctx, c))(t).ID
	r := journal.StartingRules()[0]
	r.ID, r.Name, r.Example = journal.NewID(), "Rules "+h.word, false
	h.ids["rules"] = webtest.Got(h.pg.SaveRuleSet(ctx, r))(t).ID
	p := journal.BenchPull{ID: journal.NewID(), Day: journal.Date{Year: 2026, Month: 3, Day: 1}, Junction: "blood", TippetMM: 0.127, Material: "nylon", Wetness: "wet", ForceN: 12,
		Ending: journal.PulledBroke, Label: "Spool " + h.word, Note: "Pull " + h.word}
	h.ids["pull"] = webtest.Got(h.pg.SaveBenchPull(ctx, p))(t).ID
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// items is what an outfit's journal holds, one text for each thing, by its id.
func (w *world) items(t *testing.T, holder string) map[string]string {
	t.Helper()
	store := w.holders[holder].pg.For(journal.Keeper())
	c := webtest.Got(store.Contents(t.Context()))(t)
	items := map[string]string{}
	text := func(v any) string { return string(webtest.Got(json.Marshal(v))(t)) }
	keep := func(id journal.ID, v any) { items[id.String()] = text(v) }
	for _, v := range c.Anglers {
		keep(v.ID, v)
	}
	for _, v := range c.Waters {
		for _, b := range v.Beats {
			keep(b.ID, b)
		}
		v.Beats = nil
		keep(v.ID, v)
	}
	for _, v := range c.Rigs {
		keep(v.ID, v)
	}
	for _, v := range c.Claims {
		keep(v.ID, v)
	}
	for _, v := range c.Pulls {
		keep(v.ID, v)
	}
	for _, v := range c.Trials {
		keep(v.ID, v)
	}
	for _, v := range c.RuleSets {
		keep(v.ID, v)
	}
	for _, v := range c.Sessions {
		keep(v.ID, v)
	}
	for _, v := range c.Deleted {
		keep(v.ID, v)
	}
	items["outfit"] = text(c.Outfit)
	return items
}

// others is what of both journals is neither a visitor's own nor theirs to change.
func (w *world) others(t *testing.T, visitor string) map[string]string {
	t.Helper()
	all := map[string]string{}
	for _, outfit := range []string{"house", "other"} {
		if visitor == "other" && outfit == "other" || (visitor == "guide" || visitor == "owner") && outfit == "house" {
			continue
		}
		for id, text := range w.items(t, outfit) {
			if visitor != "nobody" && strings.Contains(text, w.wordOf(visitor)) {
				continue
			}
			all[outfit+" "+id] = text
		}
	}
	return all
}

// wordOf is the word of what a visitor may change.
func (w *world) wordOf(visitor string) string {
	if h, ok := w.holders[visitor]; ok {
		return h.word
	}
	return fmt.Sprintf("no word of %s", visitor)
}
