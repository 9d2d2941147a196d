package sheet_test

import (
	"errors"
	"strings"
	"testing"

	"rigtally/journal/journaltest"
	"rigtally/journal/sheet"
)

// rules are those of --same and --new.
func rules(t *testing.T, same []string, isNew ...string) []sheet.NameRule {
	t.Helper()
	var list []sheet.NameRule
	for _, text := range same {
		r, err := sheet.ParseNameRule(text)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, r)
	}
	for _, text := range isNew {
		r, err := sheet.NewName(text)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, r)
	}
	return list
}

// Ensure that a name near one that the journal has is asked about, writes nothing until
// it is answered, and is what the answer says.
func TestNearNames(t *testing.T) {
	t.Parallel()
	const first = "date,angler,guide,water,beat,minutes,junction\n" +
		"2025-04-01,J. Felt,Maud Perrin,Tessel River,Upper Bend,60,blood\n" +
		"2025-04-01,J. Felt,Maud Perrin,Tessel River,Upper Bend,60,my own loop\n"
	const second = "date,angler,guide,water,beat,minutes,junction\n" +
		"2025-05-01,Jon Felt,Maude Perrin,Tesel River,Uper Bend,60,blodo\n" +
		"2025-05-01,J. Felt,Maud Perrin,Tessel River,Uper Bend,60,my own lop\n"
	same := []string{"Jon Felt=J. Felt", "maude perrin=Maud Perrin", "Tesel River=Tessel River", "Uper Bend=Upper Bend", "blodo=Blood", "my own lop=my own loop"}
	store := journaltest.Store(t)
	journaltest.Import(t, store, first, sheet.Options{})
	before := journaltest.Backup(t, store)

	table := readSheet(t, second, "may.csv", sheet.Options{})
	p, err := table.Preview(t.Context(), store)
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]string{}
	for _, n := range p.New {
		if n.Asked {
			found[n.Kind+" "+n.Name] = n.Similar
		}
	}
	for name, want := range map[string]string{"angler Jon Felt": "J. Felt", "angler Maude Perrin": "Maud Perrin", "water Tesel River": "Tessel River", "beat Uper Bend": "Upper Bend",
		"junction blodo": "blood", "junction my own lop": "my own loop"} {
		if found[name] != want {
			t.Errorf("%s: means %q, want %q", name, found[name], want)
		}
	}
	_, err = table.Import(t.Context(), store, sheet.How{})
	var stopped *sheet.Stopped
	if !errors.As(err, &stopped) || len(stopped.Names) != len(p.Asked()) {
		t.Fatalf("was not stopped but gave %v", err)
	}
	if want := `--same "Jon Felt=J. Felt" or --new "Jon Felt"`; !strings.Contains(err.Error(), want) {
		t.Errorf("does not say %s:\n%v", want, err)
	}
	if journaltest.Backup(t, store) != before {
		t.Error("a preview or a stop wrote something")
	}

	r := journaltest.Import(t, store, second, sheet.Options{Names: rules(t, same)})
	c := journaltest.Contents(t, store)
	if r.Added != 1 || len(c.Anglers) != 2 || len(c.Waters) != 1 || len(c.Waters[0].Beats) != 1 || len(r.NewRigs) != 0 || len(c.Sessions[1].Stints) != 2 {
		t.Errorf("did %+v", r)
	}
	// Corrected in the sheet by now: the same sessions.
	corrected := strings.NewReplacer("Jon Felt", "J. Felt", "Maude", "Maud", "Tesel", "Tessel", "Uper", "Upper", "blodo", "blood", "own lop", "own loop").Replace(second)
	if r := journaltest.Import(t, store, corrected, sheet.Options{}); r.Added != 0 || r.AlreadyThere != 1 {
		t.Errorf("the corrected sheet did %+v", r)
	}
}

// Ensure that a name that is meant as it stands is new, and asked about only once.
func TestNewNames(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	journaltest.Import(t, store, "date,angler,water,minutes\n2025-04-01,J. Felt,Tessel,60\n", sheet.Options{})
	const text = "date,angler,water,minutes\n2025-05-01,Jon Felt,Tessel,60\n2025-05-02,Orrin,Tessel,60\n"
	journaltest.Import(t, store, text, sheet.Options{Names: rules(t, nil, "jon felt")})
	if n := len(journaltest.Contents(t, store).Anglers); n != 3 {
		t.Errorf("%d anglers", n)
	}
	more := journaltest.Import(t, store, text+"2025-05-03,JON FELT,Tessel,30\n", sheet.Options{})
	if more.Added != 1 || len(more.NewAnglers) != 0 {
		t.Errorf("did %+v", more)
	}
}

// Ensure that of two near names of one sheet the rarer is the question, and that names
// which only look near are none.
func TestNearNamesOfOneSheet(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	table := readSheet(t, "date,angler,water,rig,minutes\n2025-04-01,Orin,Tessel,Rig 1,60\n2025-04-02,Orrin,Tessel,Rig 2,60\n2025-04-03,Orrin,Tessel,Long rig,60\n2025-04-06,Orrin,Tessel,Long rig,60\n"+
		"2025-04-04,Anna B.,Beat 1,Lng rig,60\n2025-04-05,Anna C.,Beat 2,Rig 2,60\n", "test.csv", sheet.Options{})
	p, err := table.Preview(t.Context(), store)
	if err != nil {
		t.Fatal(err)
	}
	asked := p.Asked()
	if len(asked) != 1 || asked[0].Name != "Orin" || asked[0].Similar != "Orrin" || asked[0].Known || asked[0].Rows != 1 || asked[0].First != "row 2" {
		t.Errorf("asks %+v", asked)
	}
	rigs := map[string]string{}
	for _, n := range p.New {
		if n.Kind == sheet.KindRig {
			rigs[n.Name] = n.Similar
		}
	}
	if len(rigs) != 4 || rigs["Lng rig"] != "Long rig" || rigs["Rig 1"] != "" || rigs["Rig 2"] != "" || rigs["Long rig"] != "" {
		t.Errorf("of rigs it says %v", rigs)
	}
	if p.Sessions != 6 || p.Stints != 6 || len(p.New) != 4+3+4 {
		t.Errorf("previews %+v", p)
	}
}

// Ensure that rules that can't be are refused, and that one of no name is told.
func TestNameRules(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"", "Jon", "=Jon", "Jon=", "Jon= ", "Jon=" + strings.Repeat("x", 500)} {
		if r, err := sheet.ParseNameRule(text); err == nil {
			t.Errorf("%q was read as %+v", text, r)
		}
	}
	table := readSheet(t, "date,angler,water,minutes\n2025-04-01,Maud,Tessel,60\n", "test.csv", sheet.Options{Names: rules(t, []string{"Jon=Orrin"})})
	if !strings.Contains(strings.Join(table.Warnings, "\n"), "No name in this sheet is “Jon”") {
		t.Errorf("warns of %q", table.Warnings)
	}
}
