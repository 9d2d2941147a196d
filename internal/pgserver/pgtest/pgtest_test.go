package pgtest_test

import (
	"context"
	"os"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, migrate)) }

func migrate(ctx context.Context, keeper, _ string) error {
	conn, err := pgx.Connect(ctx, keeper)
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	_, err = conn.Exec(ctx, "CREATE TABLE water (name text PRIMARY KEY); GRANT ALL ON water TO PUBLIC")
	return err
}

// Ensure that each test gets the migrated tables and sees nothing of the others' rows.
func TestNewDatabase(t *testing.T) {
	t.Parallel()
	for range 6 {
		t.Run("", func(t *testing.T) {
			t.Parallel()
			conn, err := pgx.Connect(t.Context(), pgtest.NewDatabase(t))
			if err != nil {
				t.Fatal(err)
			}
			defer conn.Close(t.Context())
			if _, err := conn.Exec(t.Context(), "INSERT INTO water VALUES ('Invented Creek')"); err != nil {
				t.Fatal(err)
			}
			var n int
			if err := conn.QueryRow(t.Context(), "SELECT count(*) FROM water").Scan(&n); err != nil || n != 1 {
				t.Errorf("got %d rows (%v), want the test's own one", n, err)
			}
		})
	}
}
