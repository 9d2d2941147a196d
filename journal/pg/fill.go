package pg

import (
	"context"
	"errors"
	"time"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// FillAsk chooses sessions that are to take what gauges say: those of a water, of a list, or of some days, both counted; of
// several of these the ones that all choose, and all sessions where none is said.
type FillAsk struct {
	Water    *journal.ID
	Sessions []journal.ID
	From, To *journal.Date
}

// FillPlan says what filling sessions does.
type FillPlan struct {
	Sessions int // that were looked at: those of waters with a gauge
	Takes    []FillCount
	Changed  int // sessions that take something else than they did
	Without  []FillGap
	Examples []FillExample // a few
}

// FillCount is how many sessions take a quantity, and how many of them have one typed, which stays.
type FillCount struct {
	Quantity        gauge.Quantity
	Sessions, Typed int
}

// FillGap is a reason for which sessions take nothing, in words, and the days of the first and the last of them.
type FillGap struct {
	Why      string
	Sessions int
	From, To journal.Date
}

// FillExample is what a session takes.
type FillExample struct {
	Session journal.ID
	Day     journal.Date
	Fills   []gauge.Fill
}

var errNotBuilt = errors.New("gauges are not built yet")

// PlanFill says what Fill would do, and changes nothing.
func (s *Store) PlanFill(ctx context.Context, ask FillAsk) (FillPlan, error) {
	return FillPlan{}, errNotBuilt
}

// Fill has sessions take what the gauges of their waters say, beside what was typed.
func (s *Store) Fill(ctx context.Context, ask FillAsk) (FillPlan, error) {
	return FillPlan{}, errNotBuilt
}

// ClearFills takes away what sessions took, and returns how many had anything.
func (s *Store) ClearFills(ctx context.Context, ask FillAsk) (int, error) { return 0, errNotBuilt }

// Fills are what sessions took.
func (s *Store) Fills(ctx context.Context, sessions ...journal.ID) (map[journal.ID][]gauge.Fill, error) {
	return nil, errNotBuilt
}

// FillDue has sessions of a time, in every outfit, take what a site says: those logged since a water was linked to it, and
// those that took something of it before. It returns how many changed.
func (s *Store) FillDue(ctx context.Context, site gauge.Site, from, to time.Time) (int, error) {
	return 0, errNotBuilt
}
