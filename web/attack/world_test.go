package attack_test

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"os"
	"path"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/door"
	"rigtally/web/watch"
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
	holders  map[string]*holding      // house, one, two, other
	people   *door.People             // who lets visitors in
	visitors map[string]*webtest.Site // as each of them asks; nobody is signed in nowhere
	faults   []string                 // what was found
	log      *notes                   // of every request
	watch    *watch.Watch
}

// notes takes a log of several goroutines.
type notes struct {
	mu   sync.Mutex
	text strings.Builder
}

// Write adds a line of the log.
func (n *notes) Write(line []byte) (int, error) {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.text.Write(line)
}

func (n *notes) String() string {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.text.String()
}

func (w *world) fault(format string, args ...any) {
	w.faults = append(w.faults, fmt.Sprintf(format, args...))
}

// alter changes the database as nobody may but who looks after the machine.
func (w *world) alter(t testing.TB, sql string) {
	t.Helper()
	conn := webtest.Got(pgx.Connect(t.Context(), pgtest.AsSuperuser(w.Database)))(t)
	defer conn.Close(t.Context())
	_, err := conn.Exec(t.Context(), sql)
	must(t, err)
}

// kinds are what an id can be one of.
var kinds = []string{"session", "rig", "trial", "claim", "pull", "rules", "angler", "water", "beat", "stint", "deleted", "member", "invitation", "device", "share", "upload", "readings", "step"}

// maySee says whose words stand on pages for whom.
var maySee = map[string][]string{
	"nobody": nil,
	"one":    {"one"},
	"two":    {"two"},
	"guide":  {"house", "guide", "one", "two"},
	"owner":  {"house", "guide", "one", "two"},
	"other":  {"other"},
}

// elsewhere has each request come from a household of its own, so that no answer depends on how long ago others came.
func elsewhere() func(*http.Request) netip.Addr {
	var household atomic.Uint32
	return func(*http.Request) netip.Addr {
		at := [16]byte{0x20, 0x01, 0x0d, 0xb8} // for documentation, RFC 3849
		binary.BigEndian.PutUint32(at[4:], household.Add(1))
		return netip.AddrFrom16(at)
	}
}

func newWorld(t testing.TB) *world {
	t.Helper()
	w := &world{holders: map[string]*holding{}, log: &notes{}}
	w.Site = webtest.ServeWith(t, func(store *pg.Store) web.Options {
		w.people = webtest.Got(door.NewPeople(store, webtest.Got(url.Parse(webtest.Address))(t), elsewhere(), time.Now))(t)
		w.watch = watch.New(store)
		return web.Options{Door: w.people, Logger: slog.New(slog.NewJSONHandler(w.log, nil)), LogRequests: true, Watch: w.watch}
	})
	w.visitors = map[string]*webtest.Site{"nobody": w.Site}
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
			h.who = journal.Who{Role: journal.RoleClient, Name: h.word, Angler: &id}
		}
		w.join(t, h)
		h.pg = h.pg.For(h.who)
		h.fill(t)
		w.holders[name] = h
	}
	for _, h := range w.holders {
		h.share(t)
	}
	guide := w.holders["house"].ids["guide"]
	leading := journal.Who{Role: journal.RoleGuide, Name: "canaryguide", Angler: &guide, Person: new(w.Join("canaryguide", journal.RoleGuide, &guide))}
	for name, who := range map[string]journal.Who{"owner": w.holders["house"].who, "guide": leading, "one": w.holders["one"].who, "two": w.holders["two"].who, "other": w.holders["other"].who} {
		_, secret := w.signIn(t, *who.Person)
		w.visitors[name] = w.With(http.Cookie{Name: "__Host-rigtally", Value: secret})
	}
	for name, h := range w.holders {
		h.ids["device"], _ = w.signIn(t, *h.who.Person) // another one of theirs
		w.upload(t, name, h)
	}
	return w
}

// upload sends a file of whose holding it is, which waits to be written. Clients send none.
func (w *world) upload(t testing.TB, name string, h *holding) {
	t.Helper()
	h.ids["upload"], h.ids["readings"] = journal.NewID(), journal.NewID()
	visitor, sends := map[string]string{"house": "owner", "other": "other"}[name]
	if !sends {
		return
	}
	got := w.visitors[visitor].Upload("/import", nil, webtest.File{Name: "Sheet " + h.word + ".csv", Text: "date,angler,water,minutes,tangles\n2026-05-09,Sheet " + h.word + ",Water " + h.word + ",60,1\n"})
	if got.Status != http.StatusSeeOther {
		t.Fatalf("the upload is answered with status %d: %s", got.Status, got.Body)
	}
	h.ids["upload"] = webtest.Got(journal.ParseID(path.Base(got.Header.Get("Location"))))(t)
	got = w.visitors[visitor].Upload("/waters/"+h.ids["water"].String()+"/gauges/file", nil, webtest.File{Name: "Readings " + h.word + ".rdb", Text: "# invented\nagency_cd\tsite_no\tdatetime\ttz_cd\t1_00060\t1_00060_cd\n5s\t15s\t20d\t6s\t14n\t10s\nUSGS\t09000001\t2026-05-03 10:00\tMDT\t120\tP\n"})
	if got.Status != http.StatusSeeOther {
		t.Fatalf("a gauge's file is answered with status %d: %s", got.Status, got.Body)
	}
	h.ids["readings"] = webtest.Got(journal.ParseID(path.Base(got.Header.Get("Location"))))(t)
}

// signIn signs a person in on one more device.
func (w *world) signIn(t testing.TB, person journal.ID) (device journal.ID, secret string) {
	t.Helper()
	in := journal.Device{ID: journal.NewID(), Person: person, Name: "Some browser", SignedIn: time.Now(), Expires: time.Now().Add(time.Hour)}
	secret = journal.NewSecret()
	must(t, w.Store.Door().SignIn(t.Context(), in, journal.HashSecret(secret), nil))
	return in.ID, secret
}

// addresses are all that are served, those of the door last: some of them sign visitors out.
func (w *world) addresses() []string {
	all := w.Server.Addresses()
	for _, rt := range w.people.Routes() {
		all = append(all, rt.Pattern)
	}
	i := slices.Index(all, "POST /sign-out")
	return append(slices.Delete(all, i, i+1), "POST /sign-out")
}

// join makes whose holding it is a member, and invites somebody.
func (w *world) join(t testing.TB, h *holding) {
	t.Helper()
	of := *w.Site
	of.Store = h.pg
	var angler *journal.ID
	if h.who.IsClient() {
		angler = h.who.Angler
	}
	h.who.Name, h.ids["member"] = "Member "+h.word, of.Join("Member "+h.word, h.who.Role, angler)
	h.who.Person = new(h.ids["member"])
	_ = webtest.Got(h.pg.Invite(t.Context(), journal.Invitation{Name: "Invited " + h.word, Role: journal.RoleGuide}))(t)
	for _, i := range webtest.Got(h.pg.Invitations(t.Context()))(t) {
		if strings.Contains(i.Name, h.word) {
			h.ids["invitation"] = i.ID
		}
	}
}

// share shares the season of whose holding it is.
func (h *holding) share(t testing.TB) {
	t.Helper()
	owner := h.pg.For(journal.Keeper())
	_, _, err := owner.ShareSeason(t.Context(), journal.Share{Angler: h.ids["angler"], Season: "year=2026"}, 7)
	must(t, err)
	for _, shared := range webtest.Got(owner.Shares(t.Context()))(t) {
		if shared.Angler == h.ids["angler"] {
			h.ids["share"] = shared.ID
		}
	}
}

// angler makes whose holding it is and, in the house, a guide, who guided each of the clients.
func (h *holding) angler(t testing.TB) {
	a := journal.Angler{ID: journal.NewID(), Name: "Angler " + h.word, Kind: journal.Client, Active: true}
	h.ids["angler"] = a.ID
	must(t, h.pg.SaveAngler(t.Context(), a))
	if h.word == "canaryhouse" {
		g := journal.Angler{ID: journal.NewID(), Name: "canaryguide", Kind: journal.Guiding, Active: true}
		h.ids["guide"] = g.ID
		must(t, h.pg.SaveAngler(t.Context(), g))
	}
}

func (h *holding) fill(t testing.TB) {
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
	h.gauge(t)
	h.ids["step"] = webtest.Got(h.pg.Steps(ctx, 1))(t)[0].ID
	trial := webtest.Got(h.pg.PlanTrial(ctx, journal.Trial{ID: journal.NewID(), Name: "Trial " + h.word, Outcome: "tangles", Factor: "rig", Arms: [2]journal.TrialArm{{RigID: &a.ID}, {RigID: &b.ID}},
		Unit: journal.ByStint, Block: 4, Worth: 1.5, MostHours: 60, Notes: "Why " + h.word}))(t)
	h.ids["trial"] = trial.ID
	if h.who.IsClient() {
		h.ids["claim"], h.ids["pull"], h.ids["rules"] = journal.NewID(), journal.NewID(), journal.NewID() // clients have none
		return
	}
	former := webtest.Got(h.pg.AnglerNamed(ctx, "Former "+h.word))(t)
	_ = webtest.Got(h.pg.Merge(ctx, journal.Thing{Kind: journal.ThingAngler, ID: former.ID}, journal.Thing{Kind: journal.ThingAngler, ID: h.ids["angler"]}))(t)
	_ = webtest.Got(h.pg.Rename(ctx, journal.Thing{Kind: journal.ThingWater, ID: h.ids["water"]}, "Water now "+h.word))(t)
	must(t, h.pg.KeepReading(ctx, []string{h.word}, []byte(`["Column `+h.word+`"]`)))
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

// gauge gives the water a gauge, with readings of a file of the outfit's own.
func (h *holding) gauge(t testing.TB) {
	t.Helper()
	ctx := t.Context()
	site := gauge.NewSite("own", h.word)
	w := webtest.Got(h.pg.WaterByName(ctx, "Water "+h.word))(t)
	w.Gauges = []gauge.Link{{Site: site}}
	must(t, h.pg.SaveWater(ctx, w))
	flow := gauge.Series{Site: site, Quantity: gauge.Flow, Sensor: "Sensor " + h.word}
	for i := range 24 * 5 {
		flow.Readings = append(flow.Readings, gauge.Reading{At: time.Date(2026, 5, 1, i, 0, 0, 0, time.UTC), Value: 4})
	}
	_ = webtest.Got(h.pg.For(journal.Keeper()).KeepOwnReadings(ctx, gauge.Found{Gauges: []gauge.Gauge{{Site: site, Name: "Gauge " + h.word}}, Series: []gauge.Series{flow}}))(t)
	_ = webtest.Got(h.pg.Fill(ctx, pg.FillAsk{}))(t)
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// items is what an outfit's journal holds, one text for each thing, by its id.
func (w *world) items(t testing.TB, holder string) map[string]string {
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
	for _, v := range c.Taken {
		items["what "+v.Session.String()+" took"] = text(v)
	}
	for _, v := range c.Deleted {
		keep(v.ID, v)
	}
	for _, v := range c.Aliases {
		keep(v.ID, v)
	}
	for _, v := range webtest.Got(store.Members(t.Context()))(t) {
		keep(v.Person, v)
	}
	for _, v := range webtest.Got(store.Invitations(t.Context()))(t) {
		keep(v.ID, v)
	}
	for _, v := range webtest.Got(store.Shares(t.Context()))(t) {
		keep(v.ID, v)
	}
	for name, h := range w.holders {
		if (name == "other") != (holder == "other") {
			continue
		}
		for _, d := range webtest.Got(w.Store.Door().Devices(t.Context(), *h.who.Person, time.Now()))(t) {
			items[d.ID.String()] = h.word + " is signed in"
		}
	}
	for _, v := range webtest.Got(store.Steps(t.Context(), 1000))(t) {
		keep(v.ID, v)
	}
	for name, visitor := range map[string]string{"house": "owner", "other": "other"} {
		if (name == "other") == (holder == "other") {
			h := w.holders[name]
			items[h.ids["readings"].String()] = fmt.Sprintf("a gauge's file of %s, answered with %d", h.word, w.visitors[visitor].Get("/gauge-files/"+h.ids["readings"].String()).Status)
			items[h.ids["upload"].String()] = fmt.Sprintf("an upload of %s, answered with %d", h.word, w.visitors[visitor].Get("/import/"+h.ids["upload"].String()).Status)
		}
	}
	items["outfit"] = text(c.Outfit)
	return items
}

// others is what of both journals is neither a visitor's own nor theirs to change.
func (w *world) others(t testing.TB, visitor string) map[string]string {
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
