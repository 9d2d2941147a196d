package pg_test

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/pg"
	"rigtally/migrations"

	"github.com/anishathalye/porcupine"
	"pgregory.net/rapid"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

// The model says what the store must answer to one call after the other, with the
// fewest words that it can be said in. Calls drawn at random are held against it
// one by one, and histories of calls made at once must be explained by some order.

// call is something that is asked of the store about one of a few things.
type call struct {
	Do   string
	Of   int    // which session, rig or name
	Seen int    // the version that the caller has seen
	Says string // what is to be stored; of a name, how it is spelled
}

// told is what the store answered.
type told struct {
	Err     string // "" for done, missing, conflict, invalid
	Version int    // as stored, or held after a conflict
	Says    string
	Deleted bool // what is held after a conflict
	ID      journal.ID
}

// thing is the state of a session, a rig or a name.
type thing struct {
	Version       int // 0: there is none
	Says          string
	Live, Deleted bool
	ID            journal.ID // of a name that was used
	Steps         string     // a line for each step that stands, the last one last: what was done, the version, and that and what was said before
}

var (
	sessionCalls = []string{"save", "delete", "restore", "import", "sheet", "read", "undo"}
	rigCalls     = []string{"save rig", "delete rig", "read rig"}
	allCalls     = append(append([]string{"name"}, sessionCalls...), rigCalls...)
)

// kindOf is what a call is about: calls about different things don't meet.
func (c call) kindOf() string {
	switch {
	case c.Do == "name":
		return "name"
	case strings.HasSuffix(c.Do, " rig"):
		return "rig"
	}
	return "session"
}

// step is what must be answered, and what is there then.
func (x thing) step(c call) (thing, told) {
	conflict := told{Err: "conflict", Version: x.Version, Says: x.Says, Deleted: x.Deleted}
	fresh := c.Seen == 0 || c.Seen == x.Version
	switch c.Do {
	case "save":
		return x.save(c, conflict)
	case "delete":
		switch {
		case x.Version == 0:
			return x, told{Err: "missing"}
		case !fresh:
			return x, conflict
		}
		if !x.Deleted {
			x.did("delete", thing{})
		}
		x.Live, x.Deleted = false, true
		return x, told{}
	case "undo":
		return x.undo()
	case "restore":
		switch {
		case !x.Deleted:
			return x, told{Err: "missing"}
		case !fresh:
			return x, conflict
		}
		x.Live, x.Deleted = true, false
		x.did("restore", thing{})
		return x, told{}
	case "import", "sheet":
		switch {
		case c.Seen > 0 && (!x.Live || c.Seen != x.Version):
			return x, told{Err: "conflict"}
		case c.Seen == 0 && x.Live:
			return x, told{Err: "invalid"}
		}
		before := x
		x = thing{Version: x.Version + 1, Says: c.Says, Live: true, Steps: x.Steps}
		if c.Do == "sheet" { // which is told of, and so a step
			x.did(map[bool]string{true: "bring back", false: "edit"}[before.Deleted], before)
		}
		return x, told{}
	case "delete rig":
		switch {
		case x.Version == 0:
			return x, told{Err: "missing"}
		case !fresh:
			return x, conflict
		}
		return thing{}, told{}
	case "save rig":
		return x.saveRig(c, conflict)
	}
	if !x.Live { // read
		return x, told{Err: "missing"}
	}
	return x, told{Version: x.Version, Says: x.Says}
}

func (x thing) save(c call, conflict told) (thing, told) {
	switch {
	case x.Deleted:
		return x, conflict
	case x.Version == 0 && c.Seen > 0:
		return x, told{Err: "missing"}
	case x.Version > 0 && c.Seen <= x.Version && c.Says == x.Says: // sent twice
		return x, told{Version: x.Version, Says: x.Says}
	case c.Seen != x.Version:
		return x, conflict
	}
	before := x
	x.Version, x.Says, x.Live = x.Version+1, c.Says, true
	x.did("edit", before)
	return x, told{Version: x.Version, Says: x.Says}
}

// did keeps a step.
func (x *thing) did(what string, before thing) {
	x.Steps += fmt.Sprintf("%s,%d,%d,%s\n", what, x.Version, before.Version, before.Says)
}

// undo takes the last step back that stands, unless the thing was written since.
func (x thing) undo() (thing, told) {
	steps := strings.SplitAfter(x.Steps, "\n")
	if len(steps) < 2 {
		return x, told{Err: "invalid"}
	}
	step := strings.SplitN(strings.TrimSuffix(steps[len(steps)-2], "\n"), ",", 4)
	same, former := step[1] == fmt.Sprint(x.Version), step[2] != "0"
	x.Steps = strings.Join(steps[:len(steps)-2], "")
	switch what := step[0]; {
	case what == "delete" && x.Deleted && same:
		x.Live, x.Deleted = true, false
	case what == "delete" && x.Deleted, what != "delete" && x.Live && !same, former && x.Deleted:
		x.Steps = strings.Join(steps, "")
		return x, told{Err: "invalid"}
	case former: // what was before is a version of its own now, also to the steps that had left it so
		x.Version, x.Says = x.Version+1, step[3]
		x.Live, x.Deleted = what == "edit", what != "edit"
		x.Steps = regexp.MustCompile(`(?m)^([a-z ]+),`+step[2]+`,`).ReplaceAllString(x.Steps, fmt.Sprintf("${1},%d,", x.Version))
	case what != "delete" && x.Live:
		x.Live, x.Deleted = false, true
	}
	return x, told{}
}

func (x thing) saveRig(c call, conflict told) (thing, told) {
	switch {
	case x.Version > 0 && c.Says == x.Says: // sent twice
		return x, told{Version: x.Version, Says: x.Says}
	case c.Seen != x.Version:
		return x, conflict
	}
	x.Version, x.Says, x.Live = x.Version+1, c.Says, true
	return x, told{Version: x.Version, Says: x.Says}
}

// modelled is a journal with a few things under ids of their own.
type modelled struct {
	bench
	sessions, rigs []journal.Session // of rigs only the id serves
	names          string            // what their names begin with
	writers        []*pg.Store       // of each session, so that their last step is one of it
}

const things = 3 // of each kind

func newModelled(t testing.TB, b bench) modelled {
	m := modelled{bench: b, names: journaltest.NewID(t).String()}
	for range things {
		m.writers = append(m.writers, b.store.For(journal.Who{Role: journal.RoleOwner, Person: new(journal.NewID())}))
		m.sessions, m.rigs = append(m.sessions, b.session(t, journaltest.May1, new(60.0))), append(m.rigs, journal.Session{ID: journaltest.NewID(t)})
	}
	return m
}

// do makes a call.
func (m modelled) do(ctx context.Context, c call) told {
	s := m.sessions[c.Of]
	s.Notes, s.Version = c.Says, c.Seen
	rig := journal.Rig{ID: m.rigs[c.Of].ID, Name: fmt.Sprint(m.names, c.Of), Notes: c.Says, Version: c.Seen, Positions: []journal.RigPosition{{Position: 0}}}
	switch c.Do {
	case "name":
		a, err := m.store.AnglerNamed(ctx, fmt.Sprint(c.Says, c.Of, m.names))
		return m.answer(told{ID: a.ID}, err)
	case "save":
		got, err := m.writers[c.Of].LogSession(ctx, journal.Draft{Session: s})
		return m.answer(told{Version: got.Version, Says: got.Notes}, err)
	case "delete":
		return m.answer(told{}, m.writers[c.Of].DeleteSession(ctx, s.ID, c.Seen))
	case "restore":
		return m.answer(told{}, m.writers[c.Of].RestoreSession(ctx, s.ID, c.Seen))
	case "undo":
		_, err := m.writers[c.Of].Undo(ctx, journal.ID{})
		return m.answer(told{}, err)
	case "import", "sheet":
		add, by := journal.Addition{}, m.store
		if c.Do == "sheet" {
			add.Told, add.Step, by = "Imported a sheet", journal.NewID(), m.writers[c.Of]
		}
		if s.Version++; c.Seen > 0 {
			add.Replaced = map[journal.ID]int{s.ID: c.Seen}
		}
		add.Sessions = []journal.Session{s}
		return m.answer(told{}, by.Add(ctx, add, nil))
	case "save rig":
		got, err := m.store.SaveRig(ctx, rig)
		return m.answer(told{Version: got.Version, Says: got.Notes}, err)
	case "delete rig":
		return m.answer(told{}, m.store.DeleteRig(ctx, rig.ID, c.Seen))
	case "read rig":
		got, err := m.store.RigByID(ctx, rig.ID)
		return m.answer(told{Version: got.Version, Says: got.Notes}, err)
	}
	got, err := m.store.SessionByID(ctx, s.ID)
	return m.answer(told{Version: got.Version, Says: got.Notes}, err)
}

// answer puts an error into a word, with what is held instead.
func (m modelled) answer(done told, err error) told {
	var c *journal.Conflict
	switch {
	case err == nil:
		return done
	case errors.As(err, &c):
		t := told{Err: "conflict", Version: c.Held, Deleted: c.Deleted}
		switch held := c.Stored.(type) {
		case journal.Session:
			t.Says = held.Notes
		case journal.Rig:
			t.Says = held.Notes
		}
		return t
	case errors.Is(err, journal.ErrConflict):
		return told{Err: "conflict"}
	case errors.Is(err, journal.ErrNotFound):
		return told{Err: "missing"}
	case journal.IsInvalid(err):
		return told{Err: "invalid"}
	}
	return told{Err: err.Error()}
}

var (
	long      = flag.Bool("long", false, "try the model-based tests for minutes, not seconds")
	histories = flag.Int("histories", 0, "how many histories of calls made at once are tried (default: 6, with -long 200)")
	firstSeed = flag.Int("first", 0, "the seed of the first history")
)

// Calls one after the other: each must be answered as the model says. What fails is
// cut down to the fewest calls that show it.
func TestTheStoreAnswersAsTheModel(t *testing.T) {
	b := newBench(t)
	for name, value := range map[string]string{"rapid.nofailfile": "true", "rapid.checks": "15", "rapid.steps": "25"} {
		if *long && name != "rapid.nofailfile" {
			value += "0"
		}
		if err := flag.Set(name, value); err != nil {
			t.Fatal(err)
		}
	}
	rapid.Check(t, func(r *rapid.T) {
		m, state := newModelled(t, b), map[string]thing{}
		r.Repeat(map[string]func(*rapid.T){"call": func(r *rapid.T) {
			c := call{Do: rapid.SampledFrom(allCalls).Draw(r, "do"), Of: rapid.IntRange(0, things-1).Draw(r, "of"), Says: rapid.SampledFrom([]string{"a", "b"}).Draw(r, "says")}
			if c.kindOf() == "name" {
				c.Says = rapid.SampledFrom([]string{"Odo", "ODO", " odo"}).Draw(r, "spelled")
			}
			key := fmt.Sprint(c.kindOf(), c.Of)
			x := state[key]
			c.Seen = max(0, x.Version-rapid.IntRange(-1, 2).Draw(r, "behind"))
			ok, next := explains(x, c, m.do(context.Background(), c))
			if !ok {
				_, want := x.step(c)
				r.Fatalf("%+v of %+v: want %+v", c, x, want)
			}
			state[key] = next
		}})
	})
	neverBoth(t, b.url)
}

// explains reports whether a call on a thing may be answered so, and what is there then.
func explains(x thing, c call, got told) (bool, thing) {
	if c.Do == "name" { // any id the first time, and that ever after
		ok := got.Err == "" && (x.Version == 0 || x.ID == got.ID)
		return ok, thing{Version: 1, ID: got.ID}
	}
	next, want := x.step(c)
	return want == got, next
}

// Calls at once: some order of them must explain every answer, so that nothing
// acknowledged is lost, and nothing is live and deleted.
func TestCallsAtOnceAreInSomeOrder(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	n, clients, calls := 6, 4, 30
	if *long {
		n, clients = 200, 6
	}
	if *histories > 0 {
		n = *histories
	}
	for seed := *firstSeed; seed < *firstSeed+n; seed++ {
		m := newModelled(t, b)
		history := m.history(seed, clients, calls)
		for _, part := range orderModel.Partition(history) { // one by one, to show the one that fails
			result := porcupine.CheckOperationsTimeout(orderModel, part, 30*time.Second)
			if result == porcupine.Ok {
				continue
			}
			for _, op := range part {
				t.Logf("%d %d–%d %+v: %+v", op.ClientId, op.Call, op.Return, op.Input, op.Output)
			}
			t.Fatalf("history %d: no order of these calls explains the answers (%s)", seed, result)
		}
	}
	t.Logf("%d histories of %d clients that call %d times each, %d calls in all", n, clients, calls, n*clients*calls)
	neverBoth(t, b.url)
}

// history lets some clients call at once. A client has seen what it was last told.
func (m modelled) history(seed, clients, calls int) []porcupine.Operation {
	var mu sync.Mutex
	var all []porcupine.Operation
	var wg sync.WaitGroup
	start := time.Now()
	for client := range clients {
		wg.Go(func() {
			r := rand.New(rand.NewPCG(uint64(seed), uint64(client)))
			seen := map[string]int{}
			for range calls {
				c := call{Do: allCalls[r.IntN(len(allCalls))], Of: r.IntN(things), Says: fmt.Sprint(r.IntN(3))}
				if c.Do == "name" {
					c.Says = []string{"Odo", "ODO", " odo"}[r.IntN(3)]
				}
				key := fmt.Sprint(c.kindOf(), c.Of)
				c.Seen = seen[key]
				op := porcupine.Operation{ClientId: client, Input: c, Call: time.Since(start).Nanoseconds()}
				got := m.do(context.Background(), c)
				op.Output, op.Return = got, time.Since(start).Nanoseconds()
				if got.Err != "invalid" {
					seen[key] = got.Version
				}
				mu.Lock()
				all = append(all, op)
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	return all
}

// orderModel looks for an order, of each thing by itself.
var orderModel = porcupine.Model{
	Partition: func(history []porcupine.Operation) [][]porcupine.Operation {
		parts := map[string][]porcupine.Operation{}
		for _, op := range history {
			c := op.Input.(call)
			key := fmt.Sprint(c.kindOf(), c.Of)
			parts[key] = append(parts[key], op)
		}
		var list [][]porcupine.Operation
		for _, part := range parts {
			list = append(list, part)
		}
		return list
	},
	Init: func() any { return thing{} },
	Step: func(state, input, output any) (bool, any) {
		return explains(state.(thing), input.(call), output.(told))
	},
}

// A claim was stated when it began to ask what it asks: new words leave that as it was, another direction does not.
func TestWhenAClaimWasStated(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	c := ownClaim(t)
	c.StatedAt = new(time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC))
	c = saveClaim(t, s, c)
	if c.StatedAt.Month() != time.March {
		t.Fatalf("stated %v", c.StatedAt)
	}
	c.Words, c.StatedAt = "Loops are trouble", nil
	if c = saveClaim(t, s, c); c.StatedAt == nil || c.StatedAt.Month() != time.March {
		t.Errorf("in other words: stated %v", c.StatedAt)
	}
	c.Direction = journal.Less
	if c = saveClaim(t, s, c); time.Since(*c.StatedAt) > time.Hour {
		t.Errorf("turned round: stated %v", c.StatedAt)
	}
	start := claims(t, s)[0]
	if start.StatedAt != nil {
		t.Errorf("a claim of the starting board was stated %v", start.StatedAt)
	}
	start.Direction = journal.Less
	if start = saveClaim(t, s, start); start.StatedAt == nil {
		t.Error("a starting claim turned round was never stated")
	}
}

// A claim of the starting board as it was kept before its givens went is renewed, one that was edited is not.
func TestStartingClaimsAreRenewed(t *testing.T) {
	t.Parallel()
	former := journal.StartingClaims()[3]
	former.Given = []string{"angler", "junction", "tippet"}
	former.Normalize()
	edited := former
	edited.Given = []string{"angler"}
	former.Renew()
	edited.Renew()
	if former.Given != nil || !former.Equal(journal.StartingClaims()[3]) || edited.Given == nil {
		t.Errorf("renewed %v, edited %v", former.Given, edited.Given)
	}
	none := journal.StartingClaims()[3]
	none.Given = []string{"None"}
	none.Normalize()
	if err := none.Validate(); err != nil || none.Given[0] != journal.NoGiven {
		t.Errorf("%v: %v", none.Given, err)
	}
	none.Given = []string{"none", "angler"}
	if err := none.Validate(); !journal.IsInvalid(err) {
		t.Errorf("none and the angler: %v", err)
	}
}

// The migration empties the givens of starting claims that are as they were, and leaves those edited alone.
func TestStartingClaimsMigrate(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	s, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	givens := [][]string{{"angler", "water", "bulk"}, {"angler"}}
	for i, c := range claims(t, s)[:2] {
		c.Given = givens[i]
		saveClaim(t, s, c)
	}
	text, err := migrations.Files.ReadFile("00015_claims_stated.sql")
	if err != nil {
		t.Fatal(err)
	}
	_, update, _ := strings.Cut(string(text), "UPDATE claim")
	update, _, _ = strings.Cut(update, ";")
	conn, err := pgx.Connect(t.Context(), pgtest.AsSuperuser(url))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	if _, err := conn.Exec(t.Context(), "UPDATE claim"+update); err != nil {
		t.Fatal(err)
	}
	if list := claims(t, s); list[0].Given != nil || !slices.Equal(list[1].Given, givens[1]) {
		t.Errorf("left with %v and %v", list[0].Given, list[1].Given)
	}
}
