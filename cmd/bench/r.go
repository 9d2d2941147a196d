package main

import (
	"bufio"
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// fitsR asks R what we are asked.
//
//go:embed fits.R
var fitsR string

// agreement is how far a log ratio or log rate, or its standard error by itself, may be from R's.
const agreement = 1e-6

// alternatives are the ways in which R is asked, and how they are called.
var alternatives = map[string]string{
	"written": "as most would write it",
	"expert":  "as an expert would",
}

// lacksR says why R can't be asked, nil when it can.
func lacksR() error {
	if _, err := exec.LookPath("Rscript"); err != nil {
		return errors.New("no Rscript is on the PATH")
	}
	if err := exec.Command("Rscript", "--vanilla", "-e", "library(sandwich); library(splines)").Run(); err != nil {
		return errors.New("the package sandwich of R is missing")
	}
	return nil
}

// byR is what R said of a question.
type byR struct {
	rows      int
	read      time.Duration // the CSV of the rows, which is not in times
	times     map[string]timed
	estimates map[string][]estimate
	furthest  float64 // difference of an estimate from ours
}

// askR asks R the same question on the exported rows, and fails where it finds another answer.
func (b *bench) askR(f fit, rows string, ours answered, rounds int) (*byR, error) {
	script := filepath.Join(b.dir, "fits.R")
	if err := os.WriteFile(script, []byte(fitsR), 0o600); err != nil {
		return nil, err
	}
	args := append([]string{"--vanilla", script, rows, f.key, reference, strconv.Itoa(rounds)}, ours.curve...)
	cmd := exec.Command("Rscript", args...)
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("ask R: %w: %s", err, complaints.Bytes())
	}
	r, err := readR(out)
	if err != nil {
		return nil, err
	}
	for how := range alternatives {
		if err := r.compare(how, ours.estimates); err != nil {
			return nil, fmt.Errorf("compared with R %s: %w", alternatives[how], err)
		}
	}
	return r, nil
}

// readR reads what fits.R prints.
func readR(out []byte) (*byR, error) {
	r := &byR{times: map[string]timed{}, estimates: map[string][]estimate{}}
	for lines := bufio.NewScanner(bytes.NewReader(out)); lines.Scan(); {
		words := strings.Split(lines.Text(), "\t")
		kind, name, values := words[0], words[1], words[2:]
		var numbers []float64
		if kind == "estimate" {
			name, values = words[2], words[3:]
		}
		for _, text := range values {
			v, err := strconv.ParseFloat(text, 64)
			if err != nil {
				return nil, fmt.Errorf("understand what R said, %q: %w", lines.Text(), err)
			}
			numbers = append(numbers, v)
		}
		switch {
		case kind == "rows":
			r.rows = int(numbers[0])
		case kind == "estimate":
			r.estimates[words[1]] = append(r.estimates[words[1]], estimate{name, numbers[0], numbers[1]})
		case name == "read":
			r.read = seconds(numbers[0])
		default:
			r.times[name] = append(r.times[name], seconds(numbers[0]))
		}
	}
	return r, nil
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// compare fails unless R's estimates are ours.
func (r *byR) compare(how string, ours []estimate) error {
	theirs := r.estimates[how]
	if len(ours) == 0 || len(theirs) != len(ours) {
		return fmt.Errorf("%d estimates, and we have %d", len(theirs), len(ours))
	}
	known := map[string]estimate{}
	for _, e := range theirs {
		known[e.of] = e
	}
	for _, e := range ours {
		other, ok := known[e.of]
		if !ok {
			return fmt.Errorf("no estimate for %s", e.of)
		}
		if err := r.differ(e.of+", log", math.Abs(e.log-other.log), e.log, other.log); err != nil {
			return err
		}
		if math.IsNaN(e.se) {
			continue
		}
		if err := r.differ(e.of+", standard error", math.Abs(e.se/other.se-1), e.se, other.se); err != nil {
			return err
		}
	}
	return nil
}

func (r *byR) differ(what string, by, ours, theirs float64) error {
	if !(by <= agreement) {
		return fmt.Errorf("%s: %.12g, and ours is %.12g: further apart than %g", what, theirs, ours, agreement)
	}
	r.furthest = max(r.furthest, by)
	return nil
}

// print sets R's times beside ours.
func (r *byR) print(ours timed) {
	for _, how := range []string{"written", "expert"} {
		times, reading := r.speedup(ours, how)
		fmt.Printf("  R, %s, its rows in memory  %s: rigtally has %.2f times its speed, %.2f with its reading them\n", alternatives[how], r.times[how], times, reading)
	}
	fmt.Printf("  R read the %d rows from CSV in %s; all estimates agree to %.0e\n", r.rows, round(r.read), r.furthest)
}

// speedup is how many times R's speed is ours, with R's rows in its memory and with
// its reading them from CSV.
func (r *byR) speedup(ours timed, how string) (times, reading float64) {
	theirs := r.times[how].median().Seconds()
	return theirs / ours.median().Seconds(), (theirs + r.read.Seconds()) / ours.median().Seconds()
}
