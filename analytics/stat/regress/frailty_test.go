package regress

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"slices"
	"strconv"
	"testing"

	"rigtally/analytics/stat/published"
)

// frailtyCase is what R finds for a data set of testdata/reference/frailty.
type frailtyCase struct {
	Coef          map[string]float64
	SEInformation map[string]float64 `json:"se_information"`
	SESandwich    map[string]float64 `json:"se_sandwich"`
	C2            float64
	LogC2         float64 `json:"log_c2"`
	SELogC2       float64 `json:"se_log_c2"`
	LogLik        float64
	PoissonLogLik float64 `json:"poisson_loglik"`
}

// frailtyRows reads a data set: columns of names, and the terms of the model with what makes
// each of them 1.
func frailtyRows(t *testing.T, file, cluster, exposure, events string, unit float64, terms map[string][2]string, order []string) (Rows, float64) {
	t.Helper()
	lines, err := csv.NewReader(bytes.NewReader(published.File(t, "frailty/"+file))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := func(name string) int { return slices.Index(lines[0], name) }
	number := func(line []string, name string) float64 {
		v, err := strconv.ParseFloat(line[at(name)], 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	d := &Design{P: len(order)}
	known, clusters := map[string]int{}, []int{}
	constant := 0.0
	for _, line := range lines[1:] {
		for _, term := range order {
			x := 1.0
			if is, ok := terms[term]; ok && line[at(is[0])] != is[1] {
				x = 0
			}
			d.X = append(d.X, x)
		}
		y, tt := number(line, events), number(line, exposure)*unit
		lgamma, _ := math.Lgamma(y + 1)
		constant += y*math.Log(tt) - lgamma
		d.Y, d.Exposure = append(d.Y, y), append(d.Exposure, tt)
		name := line[at(cluster)]
		if _, ok := known[name]; !ok {
			known[name] = len(known)
		}
		clusters = append(clusters, known[name])
	}
	return Rows{Cells: d, Clusters: len(known), All: func(add func(cluster, cell int, y, exposure float64)) {
		for i, s := range clusters {
			add(s, i, d.Y[i], d.Exposure[i])
		}
	}}, constant
}

// The fit agrees with R's, to six digits: wave damage to ships, published in McCullagh & Nelder
// (1989, Generalized Linear Models, §6.3), whose coefficients and standard errors Stata's
// manual of panel data prints for the random-effects Poisson model; and three invented seasons.
func TestFrailtyAgainstR(t *testing.T) {
	var expected map[string]frailtyCase
	if err := json.Unmarshal(published.File(t, "frailty/expected.json"), &expected); err != nil {
		t.Fatal(err)
	}
	season := []string{"(intercept)", "junction blood", "angler B", "angler C", "water upper"}
	seasonTerms := map[string][2]string{"junction blood": {"junction", "blood"}, "angler B": {"angler", "B"}, "angler C": {"angler", "C"}, "water upper": {"water", "upper"}}
	for name, want := range expected {
		t.Run(name, func(t *testing.T) {
			rows, constant := Rows{}, 0.0
			order := season
			if name == "ships" {
				order = []string{"(intercept)", "operated 1975-79", "built 1965-69", "built 1970-74", "built 1975-79"}
				rows, constant = frailtyRows(t, "ships.csv", "type", "service", "incidents", 1, map[string][2]string{"operated 1975-79": {"period", "75"},
					"built 1965-69": {"year", "65"}, "built 1970-74": {"year", "70"}, "built 1975-79": {"year", "75"}}, order)
			} else {
				rows, constant = frailtyRows(t, name+".csv", "session", "minutes", "tangles", 1./60, seasonTerms, order)
			}
			fit, err := Frailty(rows)
			if err != nil {
				t.Fatal(err)
			}
			model := fit.Cov
			sandwich, err := fit.sandwich()
			if err != nil {
				t.Fatal(err)
			}
			for j, term := range order {
				near(t, term, fit.Coef[j], want.Coef[term])
				near(t, term+" by information", math.Sqrt(model.At(j, j)), want.SEInformation[term])
				near(t, term+" by sandwich", math.Sqrt(sandwich.At(j, j)), want.SESandwich[term])
			}
			if name == "few-14" { // at the boundary R stops near it, and its log c² means nothing
				if fit.Variance != 0 {
					t.Errorf("c² is %g, want 0", fit.Variance)
				}
				return
			}
			near(t, "c²", fit.Variance, want.C2)
			near(t, "standard error of log c²", fit.SELogVariance, want.SELogC2)
			near(t, "log-likelihood", fit.LogLik+constant, want.LogLik)
			near(t, "Poisson log-likelihood", fit.PoissonLogLik+constant, want.PoissonLogLik)
		})
	}
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-6*max(1, math.Abs(want))) {
		t.Errorf("%s: %.10g, R has %.10g", what, got, want)
	}
}
