package webtest

import (
	"encoding/csv"
	"regexp"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
)

// formula is what a spreadsheet program would run when it opens a CSV with it.
const formula = `=cmd|' /C calc'!A0 `

// Formulas has every name and note of a database begin with a formula. Whoever has opened its journal opens it anew.
func Formulas(t testing.TB, database string) {
	t.Helper()
	conn := Got(pgx.Connect(t.Context(), pgtest.AsSuperuser(database)))(t)
	defer conn.Close(t.Context())
	// Nothing is to follow from it, such as aliases.
	_, err := conn.Exec(t.Context(), `SET session_replication_role = replica; DO $$ DECLARE c record; BEGIN
		FOR c IN SELECT table_name, column_name FROM information_schema.columns JOIN information_schema.tables USING (table_schema, table_name)
			WHERE table_schema = 'public' AND table_type = 'BASE TABLE' AND data_type = 'text'
			AND (table_name, column_name) <> ('claim', 'source') AND column_name IN ('name', 'notes', 'note', 'a_note', 'b_note', 'words', 'label', 'source', 'fly', 'junction_name', 'account') LOOP
			EXECUTE format('UPDATE %1$I SET %2$I = $1 || %2$I WHERE %2$I <> '''' OR %2$L IN (''notes'', ''note'')', c.table_name, c.column_name) USING `+quoted(formula)+`;
		END LOOP; END $$`)
	if err != nil {
		t.Fatal(err)
	}
}

func quoted(text string) string { return "'" + strings.ReplaceAll(text, "'", "''") + "'" }

// number is one with its sign, which spreadsheet programs show and do not run.
var number = regexp.MustCompile(`^[+-]?[0-9.]+(e[+-]?[0-9]+)?$`)

// Harmless finds no cell of a CSV that a spreadsheet program would run, and returns how many hold a formula that it would
// not.
func Harmless(t testing.TB, name, text string) (guarded int) {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil || len(rows) == 0 {
		t.Errorf("%s is no CSV: %v\n%.300s", name, err, text)
	}
	for _, row := range rows {
		for _, cell := range row {
			if strings.ContainsAny(cell[:min(1, len(cell))], "=+-@\t\r") && !number.MatchString(cell) {
				t.Errorf("%s: a spreadsheet runs %q", name, cell)
			}
			if strings.HasPrefix(cell, "'"+strings.TrimSpace(formula)) {
				guarded++
			}
		}
	}
	return guarded
}
