package inquiry

import (
	"context"

	"rigtally/analytics/next"
	"rigtally/prose"
)

// Next asks what is worth finding out next.
func Next() Inquiry[next.Request, next.Answer] {
	return Inquiry[next.Request, next.Answer]{
		Description: Description{
			Key:   "next",
			Title: "Say what is worth finding out next",
			Use:   "next",
			Help: `Say which open question of what to tie is worth finding out next: by the minutes a
season that ten more hours of fishing are expected to save, the most first. Beside each
stands the best bet until then: a choice, not a finding.

Minutes gained are the expected value of sample information, by simulation from what the
journal says and the prior of the settings. What a tangle and a break cost comes from the
journal if it has at least ten notes of it, else from common practice (no source). A season is as
many hours as were fished in one of the last two, whichever had more. Questions whose
outcome costs no minutes stand apart.

text is for people. json and csv are for programs: nothing is rounded, values are as stored.`,
			Example: `  rigtally next
  rigtally next --format json`,
		},
		Request: func(_ context.Context, in Asking, _ Query) (next.Request, error) {
			return next.Request{Prior: in.Prior, Units: in.Units}, nil
		},
		Answer: func(ctx context.Context, from Source, r next.Request) (next.Answer, error) {
			return next.Ask(ctx, from, r)
		},
		File:    func(next.Answer) string { return "what to find out next" },
		Say:     prose.SayNext,
		Numbers: prose.NextTable,
	}
}
