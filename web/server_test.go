package web_test

import (
	"os"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/pg"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }
