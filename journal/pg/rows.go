package pg

import (
	"context"

	"rigtally/journal"
	"rigtally/journal/facts"
)

// Ask returns the sufficient statistics of a question's groups.
func (s *Store) Ask(ctx context.Context, q journal.Question) (journal.Answer, error) {
	f, err := s.Facts(ctx)
	if err != nil {
		return journal.Answer{}, err
	}
	return f.Ask(q)
}

// Rows returns the rows that a question is about, from the journal as it is now.
func (s *Store) Rows(ctx context.Context, q journal.Question) (*facts.Rows, error) {
	f, err := s.Facts(ctx)
	if err != nil {
		return nil, err
	}
	return f.Rows(q)
}

// SeasonRows returns the sessions of a year, 0 for all years, with what each stint counts.
func (s *Store) SeasonRows(ctx context.Context, year int) (facts.SeasonRows, error) {
	f, err := s.Facts(ctx)
	if err != nil {
		return facts.SeasonRows{}, err
	}
	return f.Season(year), nil
}
