package main

import (
	"bufio"
	"bytes"
	"context"
	_ "embed"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/prose"
)

// The questions that are timed: a plain one, a corrected one and a curve.
var (
	plainQuestion     = analytics.Request{Outcome: "tangles", By: []string{"junction"}, Versus: "figure-eight", Units: units.Metric}
	correctedQuestion = analytics.Request{Outcome: "tangles", By: []string{"junction"}, Versus: "figure-eight", Given: []string{"tag-length:linear", "bulk", "angler"}, Units: units.Metric}
	curveQuestion     = analytics.CurveRequest{Outcome: "tangles", Given: []string{"bulk", "angler"}, Units: units.Metric}
)

// agreement is how near to R's the coefficients and standard errors must be.
const agreement = 1e-6

//go:embed fits.R
var fitsR []byte

// fits times answers from the stored rows to the printed text, at two sizes of
// one outfit, against R on the same rows already in its memory.
func (b *bench) fits(ctx context.Context) error {
	for _, size := range []struct {
		stints, rounds, rRounds int
	}{{5_000, 15, 5}, {1_000_000, 3, 1}} {
		if err := b.fitAt(ctx, size.stints, size.rounds, size.rRounds); err != nil {
			return fmt.Errorf("at %d stints: %w", size.stints, err)
		}
	}
	return nil
}

func (b *bench) fitAt(ctx context.Context, stints, rounds, rRounds int) error {
	name := fmt.Sprintf("fits_%d", stints)
	store, err := b.open(ctx, name)
	if err != nil {
		return err
	}
	defer store.Close()
	conn, err := pgx.Connect(ctx, b.server.URL(name))
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	held, err := grow(ctx, store, conn, stints)
	if err != nil {
		return err
	}
	ours, rates, curve, err := answerAll(ctx, store, rounds)
	if err != nil {
		return err
	}
	r, err := b.askR(ctx, conn, curve, rRounds)
	if err != nil {
		return err
	}
	if r != nil {
		if err := r.agree(rates, curve); err != nil {
			return err
		}
	}
	fmt.Printf("\n%d stints of one outfit, from stored rows to printed answer\n", held)
	for _, q := range []string{"plain", "corrected", "curve"} {
		fmt.Printf("  %-10s rigtally %s", q, ours[q])
		if r != nil {
			fmt.Printf("; R as written %s, %.1f times as long", r.times[q], r.times[q].median().Seconds()/ours[q].median().Seconds())
			if t, ok := r.times[q+"-expert"]; ok {
				fmt.Printf("; R by an expert %s, %.1f times", t, t.median().Seconds()/ours[q].median().Seconds())
			}
		}
		fmt.Println()
	}
	if r == nil {
		fmt.Println("  Rscript with the packages sandwich and splines is not here, so there is nothing to compare with")
	} else {
		fmt.Printf("  coefficients and standard errors agree with R within %.0e; R's times leave out reading its rows from a file (read.csv: %s), rigtally's hold reading the database\n", agreement, r.times["read"])
	}
	return nil
}

// answerAll times the three questions and returns the last answers.
func answerAll(ctx context.Context, store *journal.Store, rounds int) (map[string]timed, analytics.RateAnswer, analytics.CurveAnswer, error) {
	times := map[string]timed{}
	var rates analytics.RateAnswer
	var curve analytics.CurveAnswer
	steps := []struct {
		name string
		ask  func() error
	}{
		{"plain", func() error {
			a, err := analytics.Rates(ctx, store, plainQuestion)
			if err != nil {
				return err
			}
			return prose.Text(io.Discard, a, units.Metric)
		}},
		{"corrected", func() (err error) {
			if rates, err = analytics.Rates(ctx, store, correctedQuestion); err != nil {
				return err
			}
			return prose.Text(io.Discard, rates, units.Metric)
		}},
		{"curve", func() (err error) {
			if curve, err = analytics.Curve(ctx, store, curveQuestion); err != nil {
				return err
			}
			return prose.CurveText(io.Discard, curve, units.Metric)
		}},
	}
	for _, s := range steps {
		for i := range rounds + 1 {
			d, err := clock(s.ask)
			if err != nil {
				return nil, rates, curve, err
			}
			if i > 0 { // the first fills the caches, as R's data are in memory
				times[s.name] = append(times[s.name], d)
			}
		}
	}
	return times, rates, curve, nil
}

// grow fills a journal with copies of an invented season until it holds about as
// many stints as asked for. Counts and spells are copied, events are not: no
// question reads them.
func grow(ctx context.Context, store *journal.Store, conn *pgx.Conn, stints int) (int, error) {
	const stintsPerSession = 2.42 // of the demo season
	sessions := int(math.Min(float64(stints), 10_000) / stintsPerSession)
	if err := demo.Load(ctx, store, demo.Generate(3, sessions)); err != nil {
		return 0, err
	}
	var held int
	if err := conn.QueryRow(ctx, `SELECT count(*) FROM stint`).Scan(&held); err != nil {
		return 0, err
	}
	if more := stints/held - 1; more > 0 {
		if err := multiply(ctx, conn, more); err != nil {
			return 0, err
		}
		held *= more + 1
	}
	return held, nil
}

// multiply adds copies of every session with its stints, under ids of their own.
func multiply(ctx context.Context, conn *pgx.Conn, copies int) error {
	ids := map[string][]string{"session": {"id"}, "stint": {"id", "session_id"}, "stint_position": {"stint_id", "session_id"}, "tag_spell": {"stint_id", "session_id"}}
	tx, err := conn.Begin(ctx)
	if err != nil {
		return err
	}
	defer tx.Rollback(ctx)
	for _, table := range []string{"session", "stint", "stint_position", "tag_spell"} {
		rows, err := tx.Query(ctx, `SELECT column_name::text FROM information_schema.columns WHERE table_schema = 'public' AND table_name = $1 AND is_generated = 'NEVER' ORDER BY ordinal_position`, table)
		if err != nil {
			return err
		}
		columns, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil {
			return err
		}
		values := make([]string, len(columns))
		for i, c := range columns {
			values[i] = "t." + c
			for _, id := range ids[table] {
				if c == id {
					values[i] = "md5(t." + c + "::text || n)::uuid"
				}
			}
		}
		sql := fmt.Sprintf("INSERT INTO %s (%s) SELECT %s FROM generate_series(1, %d) n CROSS JOIN (SELECT * FROM %s) t", table, strings.Join(columns, ", "), strings.Join(values, ", "), copies, table)
		if _, err := tx.Exec(ctx, sql); err != nil {
			return fmt.Errorf("multiply %s: %w", table, err)
		}
	}
	if err := tx.Commit(ctx); err != nil {
		return err
	}
	_, err = conn.Exec(ctx, "VACUUM ANALYZE")
	return err
}

// inR are R's times by question, and its coefficients with standard errors.
type inR struct {
	times map[string]timed
	coef  map[string]map[string][2]float64
}

// askR gives R the rows that the questions are about; nil when there is no R.
func (b *bench) askR(ctx context.Context, conn *pgx.Conn, curve analytics.CurveAnswer, rounds int) (*inR, error) {
	rscript, err := exec.LookPath("Rscript")
	if err != nil || exec.Command(rscript, "-e", "library(sandwich); library(splines)").Run() != nil {
		return nil, nil
	}
	data, script := filepath.Join(b.dir, "rows.csv"), filepath.Join(b.dir, "fits.R")
	if err := os.WriteFile(script, fitsR, 0o600); err != nil {
		return nil, err
	}
	f, err := os.Create(data)
	if err != nil {
		return nil, err
	}
	_, err = conn.PgConn().CopyTo(ctx, f, `COPY (
		SELECT c.session_id AS session, p.junction, p.bulk, a.name AS angler, coalesce(c.tag_mm, p.tag_length_mm) AS tag_mm, c.minutes / 60.0 AS hours, c.tangles
		FROM tag_exposure c JOIN rig_position p USING (outfit_id, rig_id, position) JOIN session s ON s.outfit_id = c.outfit_id AND s.id = c.session_id
		JOIN angler a ON a.outfit_id = c.outfit_id AND a.id = s.angler_id
		WHERE p.hang = 'tag' AND c.minutes > 0 AND p.junction <> '' AND p.bulk <> '' AND coalesce(c.tag_mm, p.tag_length_mm) IS NOT NULL
	) TO STDOUT WITH CSV HEADER`)
	if err := firstError(err, f.Close()); err != nil {
		return nil, fmt.Errorf("write the rows for R: %w", err)
	}
	args := []string{script, data, strconv.Itoa(rounds)}
	for _, v := range append(append([]float64{}, curve.Knots...), curve.Boundary...) {
		args = append(args, strconv.FormatFloat(v, 'g', 17, 64))
	}
	out, err := exec.CommandContext(ctx, rscript, args...).Output()
	if err != nil {
		return nil, fmt.Errorf("run R: %w", err)
	}
	return readR(out)
}

func firstError(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func readR(out []byte) (*inR, error) {
	r := &inR{times: map[string]timed{}, coef: map[string]map[string][2]float64{}}
	for scan := bufio.NewScanner(bytes.NewReader(out)); scan.Scan(); {
		part := strings.Fields(scan.Text())
		switch {
		case len(part) == 3 && part[0] == "time":
			seconds, err := strconv.ParseFloat(part[2], 64)
			if err != nil {
				return nil, fmt.Errorf("read R's times: %w", err)
			}
			r.times[part[1]] = append(r.times[part[1]], time.Duration(seconds*float64(time.Second)))
		case len(part) >= 5 && part[0] == "coef":
			value, err1 := strconv.ParseFloat(part[2], 64)
			se, err2 := strconv.ParseFloat(part[3], 64)
			if err := firstError(err1, err2); err != nil {
				return nil, fmt.Errorf("read R's coefficients: %w", err)
			}
			if r.coef[part[1]] == nil {
				r.coef[part[1]] = map[string][2]float64{}
			}
			r.coef[part[1]][strings.Join(part[4:], " ")] = [2]float64{value, se}
		}
	}
	return r, nil
}

// agree holds the corrected ratios and the shape of the curve to R's.
func (r *inR) agree(rates analytics.RateAnswer, curve analytics.CurveAnswer) error {
	compared := 0
	for _, g := range rates.Groups {
		want, ok := r.coef["corrected"]["junction"+g.Level[0].Word]
		if !ok || g.Corrected == nil || g.Corrected.Ratio == nil {
			continue
		}
		compared++
		if d := math.Abs(math.Log(*g.Corrected.Ratio) - want[0]); d > agreement {
			return fmt.Errorf("the corrected ratio of %s differs from R's by %g on the log scale", g.Level[0].Word, d)
		}
		if d := math.Abs(*g.Corrected.SELog/want[1] - 1); d > agreement {
			return fmt.Errorf("the standard error of %s differs from R's by %g of it", g.Level[0].Word, d)
		}
	}
	if compared < 3 {
		return fmt.Errorf("only %d corrected ratios could be compared with R's", compared)
	}
	return r.agreeCurve(curve)
}

// agreeCurve compares how the curve rises between its points, through the basis
// that R and rigtally share.
func (r *inR) agreeCurve(curve analytics.CurveAnswer) error {
	var b []float64
	for i := 1; i <= len(curve.Knots)+1; i++ {
		for name, v := range r.coef["curve"] {
			if strings.HasPrefix(name, "ns(") && strings.HasSuffix(name, strconv.Itoa(i)) {
				b = append(b, v[0])
			}
		}
	}
	if len(curve.Boundary) != 2 || len(b) != len(curve.Knots)+1 {
		return fmt.Errorf("the curve has %d coefficients in R and %d knots here", len(b), len(curve.Knots))
	}
	spline, err := stat.NewNaturalSpline(curve.Knots, curve.Boundary[0], curve.Boundary[1])
	if err != nil {
		return err
	}
	at := func(x float64) (sum float64) {
		for i, v := range spline.Basis(x) {
			sum += b[i] * v
		}
		return sum
	}
	first := curve.Points[0]
	for _, p := range curve.Points {
		if d := math.Abs(math.Log(p.Rate/first.Rate) - (at(p.At) - at(first.At))); d > agreement {
			return fmt.Errorf("the curve at %g differs from R's by %g on the log scale", p.At, d)
		}
	}
	return nil
}
