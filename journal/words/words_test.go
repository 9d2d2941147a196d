package words_test

import (
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/field"
	"rigtally/journal/words"
)

// files reads the table as it is held.
func files(t *testing.T) words.Extension {
	t.Helper()
	names, err := filepath.Glob("*.toml")
	if err != nil || len(names) == 0 {
		t.Fatalf("no files: %v", err)
	}
	all := words.Extension{}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		more, err := words.Parse(text)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for section, meanings := range more {
			if all[section] == nil {
				all[section] = map[string][]string{}
			}
			for meaning, list := range meanings {
				if all[section][meaning] != nil {
					t.Errorf("%s has [words.%s] %s again", name, section, meaning)
				}
				all[section][meaning] = list
			}
		}
	}
	return all
}

// Ensure that every field that a column can tell has its words, and no other has.
func TestKeysAreThoseOfColumns(t *testing.T) {
	t.Parallel()
	table := files(t)
	known := map[string]bool{"break_minutes": true, "fish": true, "time": true, "bites": true}
	for _, c := range exchange.Columns() {
		if strings.HasSuffix(c.Title, ", which follows from the rest") || c.Key == "uncounted" || c.Key == exchange.CountsKept || c.Gauge {
			continue
		}
		known[c.Key] = true
		if _, ok := table["columns"][c.Key]; !ok {
			t.Errorf("%s has no words", c.Key)
		}
	}
	for key := range table["columns"] {
		if !known[key] {
			t.Errorf("[words.columns] has %s, which no column tells", key)
		}
	}
	bench := map[string]bool{"id": true}
	for _, c := range exchange.PullColumns() {
		bench[c.Key] = true
	}
	for key := range table["bench"] {
		if !bench[key] {
			t.Errorf("[words.bench] has %s, which no column tells", key)
		}
	}
	counts := map[string]bool{"nothing": true, "fish": true}
	for _, c := range exchange.Columns() {
		counts[c.Key] = counts[c.Key] || c.Of != nil
	}
	for key := range table["events"] {
		if !counts[key] {
			t.Errorf("[words.events] has %s, which is not counted", key)
		}
	}
}

// Ensure that vocabularies are spelled word by word, the journal's and no other.
func TestVocabulariesAreTheJournals(t *testing.T) {
	t.Parallel()
	table := files(t)
	compare := func(section string, want []string) {
		got := slices.Sorted(maps.Keys(table[section]))
		want = slices.Sorted(slices.Values(want))
		if !slices.Equal(got, want) {
			t.Errorf("[words.%s] spells %q, the journal's words are %q", section, got, want)
		}
	}
	vocabularies := func(d field.Description) {
		switch {
		case d.Key == "junction":
			compare("knots", slices.DeleteFunc(slices.Clone(d.Words), func(w string) bool { return w == string(journal.JunctionOther) }))
		case d.Words != nil:
			compare(d.Key, d.Words)
		}
	}
	for _, c := range exchange.Columns() {
		if c.Noted != nil {
			vocabularies(c.Noted.Description)
		}
	}
	for _, f := range journal.PullFields() {
		vocabularies(f.Description)
	}
}

// Ensure that no header means two fields beside a unit of one quantity.
func TestHeadersWithUnitsAreClear(t *testing.T) {
	t.Parallel()
	type header struct {
		name     string
		quantity units.Quantity
	}
	owner := map[header]string{}
	for _, c := range exchange.Columns() {
		if c.Quantity == "" {
			continue
		}
		for _, name := range slices.Concat(words.Built().WithUnit(c.Key), words.Built().Headings(c.Key)) {
			h := header{words.Header(name), c.Quantity}
			if other := owner[h]; other != "" && other != c.Key {
				t.Errorf("%q beside a unit of %s means both %s and %s", name, c.Quantity, other, c.Key)
			}
			owner[h] = c.Key
		}
	}
}

// Months and weekdays are held against Unicode's CLDR: testdata/reference/calendar-words.tsv says how they were taken.
func TestCalendar(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "reference", "calendar-words.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	table, languages := words.Built(), map[string]bool{}
	for line := range strings.Lines(string(text)) {
		cells := strings.Split(strings.TrimSpace(line), "\t")
		if strings.HasPrefix(line, "#") {
			continue
		}
		language, kind, names := cells[0], cells[1], cells[2:]
		languages[language] = true
		for i, name := range names {
			switch {
			case strings.Trim(name, "0123456789") == "": // Czech and Finnish write short dates in figures
			case strings.Contains(kind, "weekday"):
				if !table.InDate(name) {
					t.Errorf("%s: %q is not known as a weekday", language, name)
				}
				if strings.Contains(kind, "short") {
					continue // mar. is a weekday and a month
				}
				if m := table.Month(name); m != 0 {
					t.Errorf("%s: %q is a weekday, and read as month %d", language, name, m)
				}
			default:
				if m := table.Month(name); m != i+1 {
					t.Errorf("%s, %s: %q is month %d, want %d", language, kind, name, m, i+1)
				}
			}
		}
	}
	for _, language := range []string{"en", "de", "fr", "es", "it", "pl", "cs", "sv", "nb", "fi"} {
		if !languages[language] {
			t.Errorf("no names of %s were compared", language)
		}
	}
}

func TestMonthByItsBeginning(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]int{"Septem": 9, "sept.": 9, "Febr": 2, "MÄRZ": 3, "maerz": 3, "jui": 0, "czer": 6, "cer": 0, "marr": 11, "mar": 3, "ma": 0, "mardi": 0, "martes": 0, "tangle": 0, "": 0} {
		if got := words.Built().Month(text); got != want {
			t.Errorf("%q is month %d, want %d", text, got, want)
		}
	}
}

func TestAnswers(t *testing.T) {
	t.Parallel()
	table := words.Built()
	for word, want := range map[string]string{"Yes": "yes", "Ja": "yes", "sí": "yes", "Ano": "yes", "kyllä": "yes", "tak": "yes", "Nein": "no", "NIE": "no", "ei": "no", "Ne": "no", "maybe": "", "": ""} {
		if yes, no := table.Yes(word), table.No(word); yes != (want == "yes") || no != (want == "no") {
			t.Errorf("%q: yes %t, no %t", word, yes, no)
		}
	}
	for word, want := range map[string]string{"keine": "none", "żadnych": "none", "ei yhtään": "none", "Lost count": "unknown", "k.A.": "unknown", "brak danych": "unknown", "non compté": "unknown", "brak": "", "3": "", "": ""} {
		if none, unknown := table.None(word), table.Unknown(word); none != (want == "none") || unknown != (want == "unknown") {
			t.Errorf("%q: none %t, unknown %t", word, none, unknown)
		}
	}
	for cell, want := range map[string]string{"TOTAL": "sums", "Summe Mai": "sums", "Łącznie:": "sums", "Yhteensä": "sums", "Ø": "", "Durchschnitt": "means", "Průměr": "means", "Totality": "", "Summer": ""} {
		if sums, means := table.Sums(cell), table.Means(cell); sums != (want == "sums") || means != (want == "means") {
			t.Errorf("%q: sums %t, means %t", cell, sums, means)
		}
	}
	for word, want := range map[string]string{"Tangle": "tangles", "wind knot": "wind_knots", "Hänger": "snags", "Haenger": "snags", "décroché": "lost", "zaczep": "snags", "landad": "landed", "Fish": "fish", "nic": "", "weather": "-", "river": "-"} {
		key, ok := table.Event(word)
		if !ok {
			key = "-"
		}
		if key != want {
			t.Errorf("the event %q is %q, want %q", word, key, want)
		}
	}
}

func TestKnots(t *testing.T) {
	t.Parallel()
	table := words.Built().Knots()
	for text, want := range map[string]string{
		"Blutknoten": "blood", "Nœud de sang": "blood", "noeud de sang": "blood", "Chirurgenknoten": "double surgeon's", "Węzeł potrójny": "", "ósemka": "figure-eight", "OSEMKA": "figure-eight", "Åttaknut": "figure-eight", "aattaknut": "figure-eight",
		"kolminkertainen kirurgisolmu": "triple surgeon's", "kroužek": "tippet ring", "Blood Knot": "blood", "knot": "", "other": "", "Wasserknoten": "",
	} {
		if got := table[words.CompactKnot(text)]; got != want {
			t.Errorf("%q is %q, want %q", text, got, want)
		}
	}
}

func TestWith(t *testing.T) {
	t.Parallel()
	table, err := words.Built().With(words.Extension{"columns": {"angler": {"Skipper"}}, "knots": {"blood": {"Harbour bend"}}, "months": {"may": {"Bealtaine"}}, "counts": {"unknown": {"heaps"}}})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Contains(table.Headings("angler"), "Skipper") || table.Knots()["harbourbend"] != "blood" || table.Month("Bealtaine") != 5 || !table.Unknown("Heaps") || table.Month("June") != 6 {
		t.Error("what was added is not there, or what was there is not")
	}
	if old := words.Built(); slices.Contains(old.Headings("angler"), "Skipper") || old.Month("Bealtaine") != 0 {
		t.Error("the table that comes with the program was changed")
	}
	for _, tt := range []struct {
		more words.Extension
		want []string // in the message
	}{
		{words.Extension{"columns": {"guide": {"Guest"}}}, []string{`"Guest"`, "guide", "angler"}},
		{words.Extension{"columns": {"guide": {"gäste"}}}, []string{`"gäste"`, "guide", "angler"}},
		{words.Extension{"columns": {"anglr": {"Skipper"}}}, []string{`"anglr"`, "angler"}},
		{words.Extension{"colums": {"angler": {"Skipper"}}}, []string{"colums", "columns"}},
		{words.Extension{"columns": {"angler": {"--"}}}, []string{`"--"`, "angler", "no letter"}},
		{words.Extension{"knots": {"uni": {"Blutknoten"}}}, []string{`"Blutknoten"`, "uni", "blood"}},
		{words.Extension{"knots": {"uni": {"blood"}}}, []string{`"blood"`, "uni"}},
		{words.Extension{"columns": {"angler": {"Boat"}, "water": {"boat"}}}, []string{`"boat"`, "water", "angler"}},
		{words.Extension{"months": {"may": {"juin"}}}, []string{`"juin"`, "may", "june"}},
	} {
		_, err := words.Built().With(tt.more)
		if err == nil {
			t.Errorf("%v was taken", tt.more)
			continue
		}
		for _, want := range tt.want {
			if !strings.Contains(err.Error(), want) {
				t.Errorf("%v: the message lacks %s: %v", tt.more, want, err)
			}
		}
	}
}

func TestLettersFold(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{"Łowisko": "lowisko", "Süßwasser": "susswasser", "Lystfiskersø": "lystfiskerso", "Nœud": "noeud", "Æsche": "aesche", "Å": "a", "Řeka": "reka", "Ðð": "dd", "Þ": "th"} {
		if got := field.Plain(text); got != want {
			t.Errorf("%q folds to %q, want %q", text, got, want)
		}
	}
}

func BenchmarkParse(b *testing.B) {
	var texts [][]byte
	names, _ := filepath.Glob("*.toml")
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			b.Fatal(err)
		}
		texts = append(texts, text)
	}
	for b.Loop() {
		for _, text := range texts {
			if _, err := words.Parse(text); err != nil {
				b.Fatal(err)
			}
		}
	}
}
