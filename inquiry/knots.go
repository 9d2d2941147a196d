package inquiry

import (
	"context"
	"strings"

	"rigtally/analytics/bench"
	"rigtally/analytics/claim"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// BenchFactorKeys name what pulls may be divided by.
func BenchFactorKeys() []string {
	return keys(bench.Factors(), func(f journal.Factor) string { return f.Key })
}

// Bench asks which knot is stronger.
func Bench() Inquiry[bench.Request, bench.Answer] {
	return Inquiry[bench.Request, bench.Answer]{
		Description: Description{
			Key:   "bench",
			Title: "Say which knot is stronger, and how sure that is",
			Use:   "compare --by FACTOR[,FACTOR]",
			Help: `Compare the strength of pulls: means with Welch's t and Fieller's interval of their ratio,
the Hodges–Lehmann shift with the exact Mann–Whitney p, how much of the bare line's
strength a knot keeps, the Weibull line and the strength that nine pulls in ten reach.
Only pulls with the same tippet, material, wet or dry, and part pulled on are compared; when
the question is about one part of a knot, the rest of the knot must be the same too.

Factors: ` + strings.Join(BenchFactorKeys(), ", ") + `.

A slip counts as a failure in means and tests. For the Weibull line it says only that the
line holds at least that much, unless you give --slips failure.

text is for people. json and csv are for programs: nothing is rounded, forces are in N.`,
			Example: `  rigtally bench compare --by facing --where junction=figure-eight
  rigtally bench compare --by junction --where tippet=6X --where wet=wet
  rigtally bench compare --by junction,facing --versus blood,down --format json`,
			Missing: "--by is missing; name what to compare, such as --by junction or --by facing",
			Params: []Param{
				{Key: "by", Says: "one or two `factors` to compare by", Kind: List, Words: BenchFactorKeys, Needed: true},
				where("`factor=value` that must hold; may be repeated"),
				{Key: "versus", Says: "`level` to compare the others with (default: the knot with the most pulls)"},
				{Key: "slips", Says: "`what` a slip counts as for the Weibull line: censored or failure", Default: []string{bench.SlipsCensored}, Words: func() []string { return []string{bench.SlipsCensored, bench.SlipsFail} }},
			},
		},
		Request: func(ctx context.Context, in Asking, q Query) (bench.Request, error) {
			by := q.All("by")
			if len(by) == 0 {
				pulls, err := in.Source.BenchPulls(ctx)
				if err != nil {
					return bench.Request{}, err
				}
				by = FirstOfBench(pulls)
			}
			return bench.Request{By: by, Where: q.All("where"), Versus: q.Get("versus"), Slips: q.Get("slips"), Units: in.Units}, nil
		},
		Answer: func(ctx context.Context, from Source, r bench.Request) (bench.Answer, error) {
			return bench.Compare(ctx, from, r)
		},
		File:    func(a bench.Answer) string { return prose.BenchQuestion(a.By) },
		Say:     prose.SayBench,
		Numbers: prose.BenchTable,
	}
}

// FirstOfBench is what pulls are best divided by to begin with: by junction, and by facing too
// where one knot was pulled both ways.
func FirstOfBench(pulls []journal.BenchPull) []string {
	facings := map[string]journal.Facing{}
	for _, p := range pulls {
		if p.Facing == "" {
			continue
		}
		if other, known := facings[p.Knot()]; known && other != p.Facing {
			return []string{"junction", "facing"}
		}
		facings[p.Knot()] = p.Facing
	}
	return []string{"junction"}
}

// BesideRequest asks whether the bench foretells the water.
type BesideRequest struct {
	By    string
	Where []string
	Units units.System
}

// Beside compares bench and water.
func Beside() Inquiry[BesideRequest, bench.BesideWater] {
	return Inquiry[BesideRequest, bench.BesideWater]{
		Description: Description{
			Key:   "bench-water",
			Title: "Compare bench and water: strength, and junction breaks per load",
			Use:   "water [--by FACTOR]",
			Help: `Show how strong each knot was on the bench next to how often it broke on the water:
junction breaks per load (hookups and snags).

` + prose.BesideHonest,
			Example: "  rigtally bench water\n  rigtally bench water --by facing --where junction=figure-eight",
			Params: []Param{
				{Key: "by", Says: "`factor`: " + strings.Join(bench.BesideFactors(), ", "), Default: []string{"junction"}, Words: bench.BesideFactors},
				where("`factor=value` that must hold; may be repeated"),
			},
		},
		Request: func(_ context.Context, in Asking, q Query) (BesideRequest, error) {
			return BesideRequest{q.Get("by"), q.All("where"), in.Units}, nil
		},
		Answer: func(ctx context.Context, from Source, r BesideRequest) (bench.BesideWater, error) {
			return bench.Beside(ctx, from, r.By, r.Where, r.Units)
		},
		File:    func(b bench.BesideWater) string { return "bench beside water " + b.Factor.Key },
		Say:     prose.SayBeside,
		Numbers: prose.BesideTable,
	}
}

// Claims holds rules of thumb against the journal.
func Claims() Inquiry[units.System, claim.Board] {
	return Inquiry[units.System, claim.Board]{
		Description: Description{
			Key:   "claims",
			Title: "Check rules of thumb against this journal",
			Use:   "claims",
			Help: `Check rules of thumb against this journal: for each claim on the board, the ratio with
its 95% interval, what it is corrected for, how sure it is, the hours behind it and the
hours it needs still. The board starts with rules common in the trade; add your own,
change them, retire them. A claim that names nothing to hold equal holds angler and water
equal, as every question does; --given none compares as fished.

holds here               as the claim says, and it stands out among all claims
the opposite holds here  the same, the other way round
settled by itself        its own question is, but among all claims it does not stand out
leans that way, the other way
same for practice        the 90% interval of the ratio lies within 0.80 to 1.25
can't tell yet           none of these, which is not the same as no difference

p is two-sided. q is p adjusted for the comparisons of the claim's own question, where it
is settled below 0.05 and leans below 0.20; what holds is below 0.05 adjusted for all
claims on the board, too.
text is for people. json and csv are for programs: nothing is rounded.`,
			Example: `  rigtally claims
  rigtally claims add "Loops tangle less than blood knots" --outcome tangles --factor junction \
    --level "perfection loop" --versus blood --direction less --given angler,water
  rigtally claims add "Longer tags foul-hook more" --outcome foul-hook --factor tag-length --direction more
  rigtally claims change 3 --level legged,hackled
  rigtally claims retire "A prop weakens the junction"`,
		},
		Request: func(_ context.Context, in Asking, _ Query) (units.System, error) { return in.Units, nil },
		Answer: func(ctx context.Context, from Source, sys units.System) (claim.Board, error) {
			return claim.Judge(ctx, from, sys)
		},
		File:    func(claim.Board) string { return "claims" },
		Say:     prose.SayBoard,
		Numbers: prose.BoardTable,
	}
}
