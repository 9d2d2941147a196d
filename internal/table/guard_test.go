package table

import (
	"math/rand/v2"
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
