package pg_test

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/anishathalye/porcupine"
	"pgregory.net/rapid"
)

var long = flag.Bool("long", false, "try the model-based tests for minutes, not seconds")

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
	histories, clients, calls := 6, 4, 30
	if *long {
		histories, clients = 200, 6
	}
	for seed := range histories {
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
