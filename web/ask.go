package web

import (
	"context"
	"strings"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
)

// The questions that take a while, each worked out once for all who ask it.

func (s *Server) ratesOf(ctx context.Context, r analytics.Request) (analytics.RateAnswer, error) {
	return askOnce(ctx, s.desk, r, func(ctx context.Context) (analytics.RateAnswer, error) { return analytics.Rates(ctx, s.store, r) })
}

func (s *Server) curveOf(ctx context.Context, r analytics.CurveRequest) (analytics.CurveAnswer, error) {
	return askOnce(ctx, s.desk, r, func(ctx context.Context) (analytics.CurveAnswer, error) { return analytics.Curve(ctx, s.store, r) })
}

func (s *Server) seasonOf(ctx context.Context, r analytics.SeasonRequest) (analytics.SeasonAnswer, error) {
	r.Angler = strings.ToLower(r.Angler)
	return askOnce(ctx, s.desk, r, func(ctx context.Context) (analytics.SeasonAnswer, error) { return analytics.Season(ctx, s.store, r) })
}

func (s *Server) board(ctx context.Context, sys units.System) (analytics.BoardAnswer, error) {
	return askOnce(ctx, s.desk, sys, func(ctx context.Context) (analytics.BoardAnswer, error) { return analytics.Claims(ctx, s.store, sys) })
}

func (s *Server) planOf(ctx context.Context, r analytics.PlanRequest) (analytics.PlanAnswer, error) {
	return askOnce(ctx, s.desk, r, func(ctx context.Context) (analytics.PlanAnswer, error) { return analytics.Plan(ctx, s.store, r) })
}

func (s *Server) lifeOf(ctx context.Context, r analytics.LifeRequest) (analytics.LifeAnswer, error) {
	return askOnce(ctx, s.desk, r, func(ctx context.Context) (analytics.LifeAnswer, error) { return analytics.Life(ctx, s.store, r) })
}

func (s *Server) benchOf(ctx context.Context, r analytics.BenchRequest) (analytics.BenchAnswer, error) {
	return askOnce(ctx, s.desk, r, func(ctx context.Context) (analytics.BenchAnswer, error) { return analytics.Bench(ctx, s.store, r) })
}

func (s *Server) outlookOf(ctx context.Context, t journal.Trial) (*analytics.TrialOutlook, error) {
	return askOnce(ctx, s.desk, t, func(ctx context.Context) (*analytics.TrialOutlook, error) {
		return analytics.PlanOutlook(ctx, s.store, t)
	})
}
