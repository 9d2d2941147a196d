package exchange_test

import (
	"cmp"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
	"rigtally/journal/sheet"
)

// backupLines are those of a small invented journal.
func backupLines(t *testing.T) []string {
	t.Helper()
	store := journaltest.Store(t)
	journaltest.Import(t, store, "date,angler,water,beat,junction,tag_mm,hookups,foul\n2025-04-01,Maud,Tessel,Glide,blood,150,2,0\n2025-04-02,Orrin,Tessel,,ring,165,1,0\n", sheet.Options{})
	return strings.SplitAfter(strings.TrimSuffix(journaltest.Unsealed(journaltest.Backup(t, store)), "\n"), "\n")
}

// Ensure that a damaged or strange backup is refused by line, and nothing written.
func TestMalformedBackups(t *testing.T) {
	t.Parallel()
	lines := backupLines(t)
	if len(lines) != 10 { // head, outfit, two anglers, a water, two rigs, two sessions, end
		t.Fatalf("the backup has %d lines", len(lines))
	}
	all := strings.Join(lines, "")
	cut := strings.Join(lines[:9], "")
	replace := func(old, with string) string {
		if !strings.Contains(all, old) {
			t.Fatalf("the backup has no %s", old)
		}
		return strings.Replace(all, old, with, 1)
	}
	for _, tt := range []struct{ name, text, want string }{
		{"empty", "", "empty"},
		{"a CSV", "date,angler,water\n", "line 1: this is no backup"},
		{"another program's", "{\"rows\":[]}\n", "line 1: this is no backup"},
		{"a newer program's", replace(`"version":2`, `"version":4`), "line 1: this backup was made by a newer rigtally (version 4"},
		{"of no version", replace(`,"version":2`, ``), "line 1: this is no backup"},
		{"cut off between lines", cut, "ends after line 9 without its last record"},
		{"cut off in a line", cut[:len(cut)-20], "line 9: ends in the middle of a record"},
		{"without a line", strings.Join(lines[:8], "") + lines[9], "line 9: says that 8 records come before it, but there are 7"},
		{"with a line twice", strings.Join(lines[:4], "") + lines[3] + strings.Join(lines[4:], ""), "line 5: has the id of line 4 again"},
		{"two joined", all + "\n" + all, "line 11: comes after the end"},
		{"an unknown record", replace(`{"angler"`, `{"boat"`), `line 3: holds "boat", which this rigtally does not know`},
		{"an unknown detail", replace(`"active":true`, `"active":true,"age":7`), `line 3: holds "age"`},
		{"a word for a number", replace(`"version":1,"stints"`, `"version":"one","stints"`), "line 8: session.version can't be a string"},
		{"no JSON", strings.Join(lines[:2], "") + "hello\n" + strings.Join(lines[2:], ""), "line 3: is no record of a backup (hello…)"},
		{"two records in a line", strings.Join(lines[:2], "") + strings.TrimSpace(lines[2]) + lines[3] + strings.Join(lines[4:], ""), "line 3: is no record of a backup"},
		{"an angler without a name", replace(`"name":"Maud"`, `"name":""`), "the angler has no name"},
		{"a rig without a fly", replace(`"positions":[{`, `"positions":[],"notes":"","x":[{`), "line 6:"},
		{"a session of nobody", strings.Join(lines[:2], "") + strings.Join(lines[4:9], "") + `{"end":{"records":6}}`, "names an angler that the backup does not hold"},
		{"events that can't be", replace(`"hooking":"fair"`, `"hooking":"unfair"`), `hooking "unfair" is not known`},
		{"a day that never was", replace(`"2025-04-01"`, `"2025-02-31"`), "is not a day of the calendar"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			store := journaltest.Store(t)
			_, err := exchange.ReadBackup(t.Context(), store, strings.NewReader(tt.text), nil)
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v, want something with %q", err, tt.want)
			}
			if c := journaltest.Contents(t, store); len(c.Anglers)+len(c.Waters)+len(c.Rigs)+len(c.Sessions) > 0 {
				t.Error("something was written")
			}
		})
	}
}

// Ensure that a backup brought into another journal adds what is missing, and is
// leaves what the journal tells otherwise, which it tells.
func TestBackupIntoAnother(t *testing.T) {
	t.Parallel()
	all := strings.Join(backupLines(t), "")
	store := journaltest.Store(t)
	journaltest.Import(t, store, "date,angler,water\n2025-05-01,Sable,Hob's Mere\n", sheet.Options{})
	r, err := exchange.ReadBackup(t.Context(), store, strings.NewReader(all), nil)
	if err != nil || r.Added != 2 || r.Stints != 2 || len(r.NewAnglers) != 2 {
		t.Fatalf("did %+v, %v", r, err)
	}
	for name, tt := range map[string]struct{ text, want string }{
		"a session changed": {strings.Replace(all, `"hooking":"fair"`, `"hooking":"foul"`, 1), "2025-04-01, Maud on Tessel"},
		"an angler renamed": {strings.Replace(all, `"name":"Maud"`, `"name":"Maude"`, 1), "the angler Maud, which is Maude in the backup"},
	} {
		before := journaltest.Backup(t, store)
		r := readBack(t, store, tt.text)
		if said := strings.Join(r.Sentences(), "\n"); !strings.Contains(said, tt.want) {
			t.Errorf("%s: it says\n%s\nwithout %q", name, said, tt.want)
		}
		if journaltest.Backup(t, store) != before {
			t.Errorf("%s: the journal was changed", name)
		}
	}
}

func TestSniff(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]exchange.Kind{
		"":                             exchange.CSVFile,
		"date,angler\n":                exchange.CSVFile,
		"{\"rigtally\":\"journal\"}\n": exchange.BackupFile,
		"{\"url\":\"https://docs.google.com/x\",\"doc_id\":\"x\"}": exchange.CSVFile, // a shortcut, which is refused as no workbook
		"\xef\xbb\xbf\r\n {\"rigtally\":\"x\"}":                    exchange.BackupFile,
		"{" + strings.Repeat("x", 2000) + "\nend":                  exchange.BackupFile,
	} {
		kind, whole, err := exchange.Sniff(strings.NewReader(text))
		if err != nil || kind != want {
			t.Errorf("%.20q is a %s (%v), want %s", text, kind, err, want)
		}
		b, err := io.ReadAll(whole)
		if err != nil || string(b) != text {
			t.Errorf("%.20q was not given back whole", text)
		}
	}
}

// Ensure that a backup made before stints said of what count was kept still goes in
// whole: its stints say nothing of it, and what it becomes goes in too.
func TestBackupOfVersion1(t *testing.T) {
	t.Parallel()
	old, err := os.ReadFile(filepath.Join("..", "..", "testdata", "backups", "journal-version-1.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	store := journaltest.Store(t)
	r, err := exchange.ReadBackup(t.Context(), store, strings.NewReader(string(old)), nil)
	if err != nil {
		t.Fatal(err)
	}
	if sessions := strings.Count(string(old), "\n{\"session\":"); r.Added != sessions || sessions == 0 {
		t.Errorf("added %d sessions of %d", r.Added, sessions)
	}
	for _, s := range journaltest.Contents(t, store).Sessions {
		for _, st := range s.Stints {
			if !st.Recorded.Assumed() {
				t.Errorf("a stint of %s says that count was kept of %v", s.Day, st.Recorded.Kinds())
			}
		}
	}
	// Nothing of it changed but its version, that what is not a session has one too by now, the outfit its prior, and how a
	// water's gauge is written.
	got := strings.NewReplacer(`"gauges":[{"provider":"x","number":"1"}]`, `"gauge_provider":"x","gauge_site":"1"`, `{"rigtally":"journal","version":2`, `{"rigtally":"journal","version":1`, `,"prior_sd":0.35`, "").Replace(journaltest.Unsealed(journaltest.Backup(t, store)))
	lines := strings.Split(got, "\n")
	for i, line := range lines[1:] {
		if !strings.HasPrefix(line, `{"session"`) && !strings.HasPrefix(line, `{"deleted_session"`) {
			lines[i+1] = strings.Replace(line, `,"version":1`, "", 1)
		}
	}
	if got = strings.Join(lines, "\n"); got != string(old) {
		t.Error(journaltest.FirstDifference(got, string(old)))
	}
	again, err := exchange.ReadBackup(t.Context(), store, strings.NewReader(string(old)), nil)
	if err != nil || again.Added != 0 || again.AlreadyThere != r.Added {
		t.Errorf("a second time it did %+v, %v", again, err)
	}
}

// Ensure that a backup keeps which rig was made the usual one and since when, and that the later of two holds.
func TestBackupKeepsTheUsualRig(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	from := journaltest.Store(t)
	journaltest.Import(t, from, "date,angler,water,junction,tag_mm\n2025-04-01,Maud,Tessel,blood,150\n2025-04-02,Maud,Tessel,ring,165\n", sheet.Options{})
	before := exported(t, from)
	rigs := journaltest.Contents(t, from).Rigs
	if err := from.SetUsualRig(ctx, rigs[0].ID); err != nil {
		t.Fatal(err)
	}
	text := exported(t, from)
	if strings.Contains(before, "usual_rig") || strings.Count(text, `{"usual_rig":{"rig_id":"`+rigs[0].ID.String()+`"`) != 1 {
		t.Fatalf("the backup holds\n%s", text)
	}
	usual := func(store *pg.Store) string {
		t.Helper()
		id, err := store.UsualRig(ctx)
		if err != nil {
			t.Fatal(err)
		}
		return cmp.Or(id, &journal.ID{}).String()
	}
	store := journaltest.Store(t)
	readBack(t, store, before)
	if id := usual(store); id != (journal.ID{}).String() {
		t.Errorf("a backup without a usual rig made %v one", id)
	}
	readBack(t, store, text)
	if again := exported(t, store); again != text || usual(store) != rigs[0].ID.String() {
		t.Errorf("the usual rig is %v; exported again:\n%s\nwant:\n%s", usual(store), again, text)
	}
	if err := store.SetUsualRig(ctx, rigs[1].ID); err != nil {
		t.Fatal(err)
	}
	if readBack(t, store, text); usual(store) != rigs[1].ID.String() {
		t.Error("an older backup undid what was made the usual rig since")
	}
	if readBack(t, from, exported(t, store)); usual(from) != rigs[1].ID.String() {
		t.Error("the later of two usual rigs was passed over")
	}
	text = journaltest.Unsealed(text)
	for _, bad := range []struct{ text, want string }{
		{strings.Replace(text, `"rig_id":"`+rigs[0].ID.String(), `"rig_id":"`+journal.NewID().String(), 1), "line 7: the usual rig is one that the backup does not hold"},
		{strings.Replace(text, `{"usual_rig":`, `{"usual_rig":{"rig_id":"`+rigs[0].ID.String()+`"}}`+"\n"+`{"usual_rig":`, 1), "line 7: is not the one usual rig, with since when"},
	} {
		if _, err := exchange.ReadBackup(ctx, store, strings.NewReader(bad.text), nil); err == nil || !strings.Contains(err.Error(), bad.want) {
			t.Errorf("got %v, want something with %q", err, bad.want)
		}
	}
}
