package table

import (
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// Ensure that whatever a spreadsheet program could run is marked (OWASP, "CSV Injection": = + - @ tab and return at the start
// of a cell, also in wide characters), that numbers are not, and that the mark comes off again.
func TestGuard(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"=cmd|' /C calc'!A0": "'=cmd|' /C calc'!A0",
		"+1 more":            "'+1 more",
		"-5 degrees":         "'-5 degrees",
		"@SUM(A1)":           "'@SUM(A1)",
		"\t=1+1":             "'\t=1+1",
		"\rx":                "'\rx",
		"  =1+1":             "'  =1+1",
		"\"=1+1":             "'\"=1+1",
		"'=1+1":              "''=1+1",
		"＝1+1":               "'＝1+1",
		"－5 degrees":         "'－5 degrees",
		"\u00a0@x":           "'\u00a0@x",
		"-3.5":               "-3.5",
		"+1,020":             "+1,020",
		"-1e-9":              "-1e-9",
		"-20 %":              "-20 %",
		"-":                  "-",
		"-1+1":               "'-1+1",
		"":                   "",
		"Maud":               "Maud",
		"'t Zand":            "'t Zand",
		"6-8":                "6-8",
		"a=b":                "a=b",
	} {
		if got := Guard(text); got != want {
			t.Errorf("%q became %q, want %q", text, got, want)
		}
	}
	random := rand.New(rand.NewPCG(1, 2))
	signs := []rune("=+-@＝＋－＠\t\r\n '\"15.,%eéx")
	for range 20000 {
		var b strings.Builder
		for range random.IntN(6) {
			b.WriteRune(signs[random.IntN(len(signs))])
		}
		text := b.String()
		guarded := Guard(text)
		if back := Unguard(guarded); back != text {
			t.Errorf("%q became %q, and %q again", text, guarded, back)
		}
		if first := strings.TrimLeft(guarded, " "); guarded != "" && !harmless.MatchString(guarded) && strings.ContainsAny(first[:min(1, len(first))], "=+-@\t\r\n") {
			t.Errorf("%q became %q, which begins like a formula", text, guarded)
		}
	}
}

// Ensure that words of an answer are marked in its CSV, and its numbers are not.
func TestCSVIsGuarded(t *testing.T) {
	t.Parallel()
	var c Columns[string]
	c.Words("=key", "Title", func(s string) string { return s })
	c.Plain("plain", func(s string) string { return "@" + s })
	c.Count("n", "", func(string) int { return -3 })
	c.Value("v", func(string) *float64 { return new(-3.5) })
	var b strings.Builder
	if err := c.Make([]string{"=cmd"}).WriteCSV(&b); err != nil {
		t.Fatal(err)
	}
	if want := "'=key,plain,n,v\n'=cmd,'@=cmd,-3,-3.5\n"; b.String() != want {
		t.Errorf("got %q, want %q", b.String(), want)
	}
}

// Ensure that nobody writes CSV but those who guard its cells: this package, and those that call Guard themselves.
func TestWritersOfCSV(t *testing.T) {
	t.Parallel()
	guarded := []string{"internal/table/csv.go", "journal/exchange/csv.go", "journal/sheet/report.go", "cmd/bench/workbooks.go"} // the last measures, and writes nothing for people
	root := filepath.Join("..", "..")
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
			if d != nil && d.IsDir() && d.Name() == "node_modules" {
				return filepath.SkipDir
			}
			return err
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		name, err := filepath.Rel(root, path)
		if strings.Contains(string(text), "csv.NewWriter(") && !slices.Contains(guarded, filepath.ToSlash(name)) {
			t.Errorf("%s writes CSV by itself; let internal/table do it, or guard its cells", name)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
