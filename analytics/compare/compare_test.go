package compare_test

import (
	"fmt"
	"maps"
	"math"
	"math/big"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"rigtally/analytics/compare"
	"rigtally/journal"
)

// Ensure that every number has a place among the levels of its question, and no two the same.
func TestEveryNumberHasItsPlace(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, q := range compare.Questions() {
		levels := q.Levels()
		if len(levels) == 0 {
			t.Errorf("%s has no levels", q.Outcome.Key)
		}
		for _, l := range levels {
			if seen[l.Key] {
				t.Errorf("two levels have the key %s", l.Key)
			}
			seen[l.Key] = true
		}
	}
}

const key = "tangles"

// draw makes weeks of what some anglers have in a number. From week to week some of them fish on, correct what they noted, or take it out.
func draw(t *rapid.T) []compare.Cell {
	anglers := make([]journal.ID, rapid.IntRange(1, 7).Draw(t, "anglers"))
	for i := range anglers {
		anglers[i] = journal.ID{byte(i + 1)}
	}
	now := compare.Cell{}
	var weeks []compare.Cell
	for range rapid.IntRange(1, 8).Draw(t, "weeks") {
		for _, a := range anglers {
			switch rapid.SampledFrom([]string{"rests", "fishes", "fishes", "corrects", "leaves", "goes back"}).Draw(t, "does") {
			case "fishes":
				hours := float64(rapid.IntRange(1, 40).Draw(t, "hours"))
				now[a] = journal.Part{Count: now[a].Count + float64(rapid.IntRange(0, 30).Draw(t, "tangles")), Base: now[a].Base + hours, Hours: now[a].Hours + hours}
			case "corrects":
				if p, fished := now[a]; fished {
					p.Count++
					now[a] = p
				}
			case "leaves":
				delete(now, a)
			case "goes back":
				if len(weeks) > 0 {
					delete(now, a)
					if p, fished := weeks[0][a]; fished {
						now[a] = p
					}
				}
			}
		}
		weeks = append(weeks, maps.Clone(now))
	}
	return weeks
}

// publish is what each of the weeks was told by, as far as a number was told.
func publish(weeks []compare.Cell) (told []compare.Cell) {
	var earlier []journal.Comparison
	for _, w := range weeks {
		c := compare.Next(earlier, journal.Date{}, map[string]compare.Cell{key: maps.Clone(w)})
		earlier = append([]journal.Comparison{c}, earlier...)
		if cell, shown := c.Basis[key]; shown {
			told = append(told, cell)
		}
	}
	return told
}

// Ensure that whoever looks, no number and no difference of two has parts of fewer than three others, or of one over
// 60% of the hours. The rule is counted here by itself, in hours alone.
func TestNoDifferenceOfTwoViewsIsOnePersons(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		told := append(publish(draw(t)), compare.Cell{})
		for i, a := range told {
			for _, b := range told[:i] {
				differs := map[journal.ID]float64{}
				for id := range union(a, b) {
					if a[id] != b[id] {
						differs[id] = math.Abs(a[id].Hours - b[id].Hours)
					}
				}
				if len(differs) == 0 {
					continue
				}
				for viewer := range union(a, b) {
					sum, most, others := 0.0, 0.0, 0
					for id, h := range differs {
						if id != viewer && h > 0 {
							sum, most, others = sum+h, max(most, h), others+1
						}
					}
					if others < 3 || most > 0.6*sum {
						t.Fatalf("to %v a difference has %d others, the most of them %.0f of %.0f h:\n%v\n%v", viewer, others, most, sum, a, b)
					}
				}
			}
		}
	})
}

func union(a, b compare.Cell) map[journal.ID]bool {
	all := map[journal.ID]bool{}
	for _, c := range []compare.Cell{a, b} {
		for id := range c {
			all[id] = true
		}
	}
	return all
}

// Ensure that no sum of whatever multiples of all that was ever told, not rounded and with all hours known, has parts
// of one person alone beside the viewer's own: what was told is solved for each person by Gauss's elimination in
// fractions, what each counted in each week being unknown.
func TestNobodyCanBeSolvedFor(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		told := publish(draw(t))
		people := map[journal.ID]bool{}
		for _, c := range told {
			maps.Copy(people, union(c, nil))
		}
		// An unknown is what somebody's part was in some of what was told; the same part is the same unknown.
		type part struct {
			of journal.ID
			is journal.Part
		}
		var unknown []part
		for _, c := range told {
			for id, p := range c {
				if u := (part{id, p}); !slices.Contains(unknown, u) {
					unknown = append(unknown, u)
				}
			}
		}
		for viewer := range people {
			for person := range people {
				if person == viewer {
					continue
				}
				var rows [][]*big.Rat // others' unknowns, then this person's
				for _, c := range told {
					var others, own []*big.Rat
					for _, u := range unknown {
						v := new(big.Rat)
						if p, in := c[u.of]; in && p == u.is {
							v.SetInt64(1)
						}
						switch u.of {
						case viewer:
						case person:
							own = append(own, v)
						default:
							others = append(others, v)
						}
					}
					rows = append(rows, append(others, own...))
				}
				width := 0
				for _, u := range unknown {
					if u.of != viewer && u.of != person {
						width++
					}
				}
				if left := eliminate(rows, width); left != nil {
					t.Fatalf("%v solves for %v: %v of\n%v", viewer, person, left, told)
				}
			}
		}
	})
}

// eliminate clears the first columns of all rows as far as they go, and returns a row that then holds only what lies behind them.
func eliminate(rows [][]*big.Rat, width int) []*big.Rat {
	done := 0
	for col := range width {
		at := slices.IndexFunc(rows[done:], func(r []*big.Rat) bool { return r[col].Sign() != 0 })
		if at < 0 {
			continue
		}
		rows[done], rows[done+at] = rows[done+at], rows[done]
		for i := done + 1; i < len(rows); i++ {
			by := new(big.Rat).Quo(rows[i][col], rows[done][col])
			for j := range rows[i] {
				rows[i][j] = new(big.Rat).Sub(rows[i][j], new(big.Rat).Mul(by, rows[done][j]))
			}
		}
		done++
	}
	for _, r := range rows[done:] {
		if slices.ContainsFunc(r[width:], func(v *big.Rat) bool { return v.Sign() != 0 }) {
			return r[width:]
		}
	}
	return nil
}

// Ensure that numbers are told where they may be, with two digits, and go on once enough others fished on.
func TestWhatMayBeToldIsTold(t *testing.T) {
	t.Parallel()
	id := func(i int) journal.ID { return journal.ID{byte(i)} }
	cell := func(hours ...float64) compare.Cell {
		c := compare.Cell{}
		for i, h := range hours {
			c[id(i)] = journal.Part{Count: h / 3, Base: h, Hours: h}
		}
		return c
	}
	for _, of := range []struct {
		weeks []compare.Cell
		told  int // the week of the number that is told last, from 1; 0: none
	}{
		{[]compare.Cell{cell(10, 10, 10)}, 0},                                            // two others for each of them
		{[]compare.Cell{cell(10, 10, 10, 10)}, 1},                                        //
		{[]compare.Cell{cell(10, 10, 10, 0)}, 0},                                         // one has no hours
		{[]compare.Cell{cell(40, 10, 10, 10)}, 0},                                        // 40 of 60 h
		{[]compare.Cell{cell(30, 10, 10, 10)}, 1},                                        // 30 of 50 h
		{[]compare.Cell{cell(9, 9, 9, 9), cell(9, 9, 9, 12)}, 1},                         // one fished on
		{[]compare.Cell{cell(9, 9, 9, 9), cell(12, 12, 12, 12)}, 2},                      //
		{[]compare.Cell{cell(9, 9, 9, 9, 9), cell(8)}, 1},                                // all but one took theirs out
		{[]compare.Cell{cell(9, 9, 9, 9), cell(9, 9, 9, 9, 9, 9)}, 1},                    // two are new
		{[]compare.Cell{cell(9, 9, 9, 9), cell(12, 12, 12, 12), cell(9, 9, 9, 12.5)}, 2}, // against the last it would do, against the first not
	} {
		var earlier []journal.Comparison
		for _, w := range of.weeks {
			earlier = append([]journal.Comparison{compare.Next(earlier, journal.Date{}, map[string]compare.Cell{key: w})}, earlier...)
		}
		shown, told := earlier[0].Shown[key]
		if told != (of.told > 0) || told && (!maps.Equal(earlier[0].Basis[key], of.weeks[of.told-1]) || shown != 0.33) {
			t.Errorf("%s: told %v, %v; want that of week %d", fmt.Sprint(of.weeks), told, shown, of.told)
		}
	}
}
