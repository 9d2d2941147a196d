package webtest

import (
	"context"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
)

// Address is where the sites of tests say that others reach them.
const Address = "https://journal.example.org"

// Join makes somebody a member, as if an invitation had been taken up.
func (s *Site) Join(name string, role journal.Role, angler *journal.ID) journal.ID {
	s.T.Helper()
	conn := Got(pgx.Connect(s.T.Context(), pgtest.AsSuperuser(s.Database)))(s.T)
	defer conn.Close(context.Background())
	person := journal.NewID()
	var fishes *string
	if angler != nil {
		fishes = new(angler.String())
	}
	_, err := conn.Exec(s.T.Context(), `WITH made AS (INSERT INTO person (id, account) VALUES ($2, $3 || ' ' || $6) RETURNING id)
		INSERT INTO member (outfit_id, person_id, name, role, angler_id) SELECT $1, id, $3, $4, $5 FROM made`, s.Store.OutfitID().String(), person.String(), name, string(role), fishes, person.String())
	s.Must(err)
	return person
}
