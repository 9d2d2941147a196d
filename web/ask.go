package web

import (
	"context"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/bench"
	"rigtally/analytics/claim"
	"rigtally/analytics/life"
	"rigtally/analytics/plan"
	"rigtally/analytics/season"
	"rigtally/analytics/trial"
	"rigtally/internal/units"
	"rigtally/journal"
)

// The questions that take a while, each worked out once for all who ask it.

func (s *Server) ratesOf(ctx context.Context, r analytics.Request) (analytics.RateAnswer, error) {
	return askOnce(ctx, s, "rates", r, func(ctx context.Context) (analytics.RateAnswer, error) { return analytics.Rates(ctx, s.store, r) })
}

func (s *Server) curveOf(ctx context.Context, r analytics.CurveRequest) (analytics.CurveAnswer, error) {
	return askOnce(ctx, s, "curve", r, func(ctx context.Context) (analytics.CurveAnswer, error) { return analytics.Curve(ctx, s.store, r) })
}

func (s *Server) seasonOf(ctx context.Context, r season.Request) (season.Answer, error) {
	r.Angler = strings.ToLower(r.Angler)
	return askOnce(ctx, s, "season", r, func(ctx context.Context) (season.Answer, error) { return season.Review(ctx, s.store, r) })
}

func (s *Server) board(ctx context.Context, sys units.System) (claim.Board, error) {
	return askOnce(ctx, s, "claims", sys, func(ctx context.Context) (claim.Board, error) { return claim.Judge(ctx, s.store, sys) })
}

func (s *Server) planOf(ctx context.Context, r plan.Request) (plan.Answer, error) {
	return askOnce(ctx, s, "plan", r, func(ctx context.Context) (plan.Answer, error) { return plan.Weigh(ctx, s.store, r) })
}

func (s *Server) lifeOf(ctx context.Context, r life.Request) (life.Answer, error) {
	return askOnce(ctx, s, "life", r, func(ctx context.Context) (life.Answer, error) { return life.Follow(ctx, s.store, r) })
}

func (s *Server) benchOf(ctx context.Context, r bench.Request) (bench.Answer, error) {
	return askOnce(ctx, s, "bench", r, func(ctx context.Context) (bench.Answer, error) { return bench.Compare(ctx, s.store, r) })
}

func (s *Server) outlookOf(ctx context.Context, t journal.Trial) (*trial.Outlook, error) {
	return askOnce(ctx, s, "outlook", t, func(ctx context.Context) (*trial.Outlook, error) {
		return trial.PlanOutlook(ctx, s.store, t)
	})
}
