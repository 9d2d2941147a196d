package main

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
)

// flatRow is a row of the flat CSV by its headers.
type flatRow map[string]string

// sum adds up columns, a minus before those to take off; not every one may be kept.
func (r flatRow) sum(columns string) (total float64, kept bool) {
	for name := range strings.FieldsSeq(columns) {
		sign := 1.0
		if rest, minus := strings.CutPrefix(name, "-"); minus {
			name, sign = rest, -1
		}
		n, err := strconv.ParseFloat(r[name], 64)
		if err != nil {
			return 0, false
		}
		total += sign * n
	}
	return total, true
}

// flatOutcomes says of each outcome how the columns' descriptions have it counted:
// what happens over what, in a whole stint and, where it differs, on one dropper.
var flatOutcomes = map[string]struct{ events, exposure, onDropper, perDropper string }{
	"tangles":        {"tangles", "minutes", "", ""},
	"twists":         {"twists", "minutes", "", ""},
	"turns":          {"turns", "checks", "", ""},
	"foul-hook":      {"foul_hookups", "hookups", "", ""},
	"loss":           {"fair_lost", "fair_hookups", "", ""},
	"break-off":      {"broke_off", "hookups", "", ""},
	"junction-break": {"junction_breaks", "hookups snags", "junction_failures", "junction_loads"},
	"hookups":        {"hookups", "minutes", "", ""},
	"landed":         {"landed", "minutes", "", ""},
	"downtime":       {"minutes_lost", "minutes", "", ""},
}

// flatSums is what the CSV says of a group.
type flatSums struct {
	events, exposure float64
	stints           int
	sessions         map[string]bool
}

func (s *flatSums) add(row flatRow, outcome, events, exposure string) {
	if outcome == "downtime" && row["untimed_tangles"] != "0" {
		return // some minutes were not noted
	}
	t, kept := row.sum(exposure)
	k, counted := row.sum(events)
	if !kept || !counted || t <= 0 {
		return
	}
	if exposure == "minutes" {
		t /= 60
	}
	s.events += k
	s.exposure += t
	s.stints++
	s.sessions[row["session"]] = true
}

// flatTotals adds up whole stints.
func flatTotals(rows []flatRow, outcome string) flatSums {
	o := flatOutcomes[outcome]
	var order []string
	stints := map[string]flatRow{}
	for _, row := range rows {
		key := row["session"] + row["stint"]
		whole, known := stints[key]
		if !known {
			order = append(order, key)
			whole = flatRow{"session": row["session"], "minutes": row["minutes"]} // the rows of its flies repeat them
			stints[key] = whole
		}
		for column := range strings.FieldsSeq("hookups foul_hookups fair_hookups landed lost fair_lost broke_off junction_breaks snags tangles twists checks turns minutes_lost untimed_tangles") {
			if n, err := strconv.Atoi(row[column]); err == nil {
				before, _ := strconv.Atoi(whole[column])
				whole[column] = strconv.Itoa(before + n)
			}
		}
	}
	sums := flatSums{sessions: map[string]bool{}}
	for _, key := range order {
		sums.add(stints[key], outcome, o.events, o.exposure)
	}
	return sums
}

// flatByJunction adds up droppers on a tag by their junction.
func flatByJunction(rows []flatRow, outcome string) map[string]*flatSums {
	o := flatOutcomes[outcome]
	if o.onDropper != "" {
		o.events, o.exposure = o.onDropper, o.perDropper
	}
	groups := map[string]*flatSums{}
	for _, row := range rows {
		if row["hang"] != "tag" || row["junction"] == "" {
			continue
		}
		g := groups[row["junction"]]
		if g == nil {
			g = &flatSums{sessions: map[string]bool{}}
			groups[row["junction"]] = g
		}
		g.add(row, outcome, o.events, o.exposure)
	}
	for level, g := range groups {
		if g.stints == 0 {
			delete(groups, level)
		}
	}
	return groups
}

// Ensure that the flat CSV alone, read by encoding/csv, gives every outcome's total
// and every row by junction as the program answers them from the journal.
func TestFlatCSVAlone(t *testing.T) {
	t.Parallel()
	url := demoAt(t, 400)
	file := filepath.Join(t.TempDir(), "stints.csv")
	mustRun(t, url, "export", "--to", file)
	rows := readFlat(t, file)
	for outcome := range flatOutcomes {
		compareFlat(t, url, outcome, nil, map[string]flatSums{"": flatTotals(rows, outcome)})
		groups := map[string]flatSums{}
		for level, g := range flatByJunction(rows, outcome) {
			groups[level] = *g
		}
		if len(groups) < 3 {
			t.Errorf("%s: only %d junctions in the CSV", outcome, len(groups))
		}
		compareFlat(t, url, outcome, []string{"--by", "junction"}, groups)
	}
}

func readFlat(t *testing.T, file string) []flatRow {
	t.Helper()
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	cells, err := csv.NewReader(strings.NewReader(string(raw))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []flatRow
	for _, line := range cells[1:] {
		row := flatRow{}
		for i, header := range cells[0] {
			row[header] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// compareFlat holds what the CSV says against the program's answer.
func compareFlat(t *testing.T, url, outcome string, by []string, want map[string]flatSums) {
	t.Helper()
	var answer struct {
		Groups []struct {
			Level            map[string]string
			Stints, Sessions int
			Events, Exposure float64
		}
	}
	args := slices.Concat([]string{"rates", outcome, "--format", "json"}, by)
	if err := json.Unmarshal([]byte(mustRun(t, url, args...)), &answer); err != nil {
		t.Fatal(err)
	}
	if len(answer.Groups) != len(want) {
		t.Errorf("%v: %d groups, the CSV has %d", args, len(answer.Groups), len(want))
	}
	const rounding = 1e-9
	for _, g := range answer.Groups {
		w := want[g.Level["junction"]]
		if g.Events != w.events || math.Abs(g.Exposure-w.exposure) > rounding*w.exposure || g.Stints != w.stints || g.Sessions != len(w.sessions) {
			t.Errorf("%v: %v has %g over %g in %d stints of %d sessions, by the CSV %g over %g in %d of %d",
				args, g.Level, g.Events, g.Exposure, g.Stints, g.Sessions, w.events, w.exposure, w.stints, len(w.sessions))
		}
	}
}

// Ensure that the description beside the CSV has a field for each of its columns in
// their order, each with a type of the standard and a sentence, and that the
// CSV's own cells hold to it. Types and constraints are those of the Table Schema
// standard, https://specs.frictionlessdata.io/table-schema/.
func TestFlatCSVSchema(t *testing.T) {
	t.Parallel()
	url := demoAt(t, 40)
	mustRun(t, url, "import", sampleFile("no-tangles-column.csv"))
	file := filepath.Join(t.TempDir(), "stints.csv")
	out := mustRun(t, url, "export", "--to", file)
	raw, err := os.ReadFile(filepath.Join(filepath.Dir(file), "stints.schema.json"))
	if err != nil || !strings.Contains(out, "stints.schema.json") {
		t.Fatalf("no description: %v, %s", err, out)
	}
	if printed := runIn(t, "", "export", "--schema"); printed.out != string(raw) {
		t.Errorf("--schema prints another one: %d, %s", printed.status, printed.errors)
	}
	var schema struct {
		Fields []struct {
			Name, Title, Description, Type, Unit string
			Constraints                          struct {
				Required bool
				Enum     []string
				Minimum  *float64
			}
		}
		MissingValues []string
		PrimaryKey    []string
	}
	if err := json.Unmarshal(raw, &schema); err != nil {
		t.Fatal(err)
	}
	rows := readFlat(t, file)
	header, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	first, _, _ := strings.Cut(string(header), "\n")
	var names []string
	for _, f := range schema.Fields {
		names = append(names, f.Name)
		if f.Title == "" || !strings.HasSuffix(f.Description, ".") || !slices.Contains([]string{"string", "number", "integer", "boolean", "date", "time"}, f.Type) {
			t.Errorf("the column %s is described as %+v", f.Name, f)
		}
		if f.Type == "number" && f.Unit == "" {
			t.Errorf("the column %s has no unit", f.Name)
		}
		for _, row := range rows {
			cell := row[f.Name]
			n, err := strconv.ParseFloat(cell, 64)
			number := f.Type == "number" || f.Type == "integer"
			switch {
			case cell == "" && !f.Constraints.Required:
			case cell == "", number && err != nil, number && f.Constraints.Minimum != nil && n < *f.Constraints.Minimum,
				f.Type == "integer" && n != math.Trunc(n), len(f.Constraints.Enum) > 0 && !slices.Contains(f.Constraints.Enum, cell):
				t.Fatalf("the cell %q of %s is not as described", cell, f.Name)
			}
		}
	}
	if got := strings.Join(names, ","); got != first {
		t.Errorf("the fields are\n%s\nthe columns\n%s", got, first)
	}
	if !slices.Equal(schema.MissingValues, []string{""}) || !slices.Equal(schema.PrimaryKey, []string{"session", "stint", "position"}) {
		t.Errorf("missing values %q, primary key %q", schema.MissingValues, schema.PrimaryKey)
	}
	if got := runIn(t, url, "export", "--to", file); got.status != 1 || !strings.Contains(got.errors, "--force") {
		t.Errorf("over existing files: status %d, %s", got.status, got.errors)
	}
	mustRun(t, url, "export", "--to", file, "--force")
}

// sampleJournal imports the sample of testdata, whose data are invented.
func sampleJournal(t *testing.T) string {
	t.Helper()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "import", "../../testdata/samples/guide-book-2025.csv")
	return url
}

// The sample, read by R 4.2.2 as the journal holds it, gives with
// f <- glm(tangles ~ junction + tag_mm + bulk + angler + offset(log(hours)), poisson,
// control = glm.control(epsilon = 1e-14, maxit = 100)), refitted from its coefficients, and
// sandwich::vcovCL(f, cluster = session, type = "HC1") these ratios and standard errors.
func TestCorrectedSampleAgreesWithR(t *testing.T) {
	t.Parallel()
	url := sampleJournal(t)
	args := []string{"rates", "tangles", "--by", "junction", "--given", "tag-length:linear,bulk,angler", "--versus", "figure-eight", "--model", "marginal"}
	var answer struct {
		Given  []string
		Groups []struct {
			Level     map[string]string
			Corrected *struct {
				Ratio, P, DF float64
				SELog        float64 `json:"se_log"`
				Method       string
			}
		}
	}
	if err := json.Unmarshal([]byte(mustRun(t, url, append(args, "--format", "json")...)), &answer); err != nil {
		t.Fatal(err)
	}
	want := map[string][2]float64{
		"blood":            {0.93069109673929, 0.33289203534941},
		"double surgeon's": {1.15260613053833, 0.24546319541976},
		"tippet ring":      {2.33445223384477, 0.30998162440364},
	}
	const tol = 1e-8
	for _, g := range answer.Groups {
		w, ok := want[g.Level["junction"]]
		if !ok {
			continue
		}
		delete(want, g.Level["junction"])
		if c := g.Corrected; c == nil || math.Abs(c.Ratio/w[0]-1) > tol || math.Abs(c.SELog/w[1]-1) > tol || c.Method != "Poisson, HC1 by session" {
			t.Errorf("%s: %+v, want ratio %g and se_log %g", g.Level["junction"], c, w[0], w[1])
		}
	}
	if len(want) > 0 || len(answer.Given) != 3 {
		t.Errorf("given %q, not answered: %v", answer.Given, want)
	}
	rows, err := csv.NewReader(strings.NewReader(mustRun(t, url, append(args, "--format", "csv")...))).ReadAll()
	if err != nil || len(rows) != len(answer.Groups)+1 || !slices.Contains(rows[0], "corrected_method") {
		t.Errorf("%v: %q", err, rows)
	}
	if text := mustRun(t, url, args...); !strings.Contains(text, "Like for like (tag length, bulk and angler):") || !strings.Contains(text, "s fished it looks the other way round") {
		t.Errorf("in words:\n%s", text)
	}
}

func TestCurveForms(t *testing.T) {
	t.Parallel()
	url := sampleJournal(t)
	var answer struct {
		Over            string
		Knots, Boundary []float64
		Points          []struct{ At, Rate, Low, High float64 }
		Best            []struct{ At, Probability float64 }
	}
	args := []string{"curve", "tangles", "--knots", "120,160", "--boundary", "80,240"}
	if err := json.Unmarshal([]byte(mustRun(t, url, append(args, "--format", "json")...)), &answer); err != nil {
		t.Fatal(err)
	}
	if answer.Over != "tag-length" || answer.Knots[0] != 120 || answer.Boundary[1] != 240 || len(answer.Points) < 10 || len(answer.Best) != len(answer.Points) {
		t.Errorf("%+v", answer)
	}
	rows, err := csv.NewReader(strings.NewReader(mustRun(t, url, append(args, "--format", "csv")...))).ReadAll()
	if err != nil || len(rows) != len(answer.Points)+1 {
		t.Errorf("%d rows, %v", len(rows), err)
	}
	if text := mustRun(t, url, append(args, "--given", "angler", "--units", "us")...); !strings.Contains(text, "Like for like (angler):") || !strings.Contains(text, " in ") {
		t.Errorf("in words:\n%s", text)
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"curve"}, "the outcome is missing"},
		{[]string{"curve", "tangles", "--over", "junction"}, "a curve goes over a number"},
		{[]string{"curve", "tangles", "--format", "xml"}, "write text, json or csv"},
		{[]string{"curve", "tangles", "--knots", "12"}, "knots must lie where it was fished"},
		{[]string{"rates", "tangles", "--by", "junction", "--given", "junction"}, "can't be given too"},
	} {
		got := runIn(t, url, c.args...)
		if got.status != 2 || !strings.Contains(got.errors, c.want) || got.out != "" {
			t.Errorf("%s: status %d; want %q in:\n%s%s", c.args, got.status, c.want, got.errors, got.out)
		}
	}
}
