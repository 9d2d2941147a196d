package units

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"
)

// Factors against NIST SP 811, App. B.8; the file says which values are exact
// definitions and which are printed values quoted from memory.
func TestFactorsNISTSP811(t *testing.T) {
	t.Parallel()
	type conversion struct {
		Written  string
		Quantity Quantity
		SI       float64
		Digits   int
	}
	var reference struct {
		Tolerance float64 `json:"relative_tolerance"`
		Exact     []conversion
		Printed   []conversion
	}
	data, err := os.ReadFile("../../testdata/reference/units-nist-sp811.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &reference); err != nil {
		t.Fatal(err)
	}
	if len(reference.Exact) == 0 || len(reference.Printed) == 0 {
		t.Fatal("the reference file has no values")
	}
	for _, c := range reference.Exact {
		got, err := Parser{}.Parse(c.Quantity, c.Written, "")
		if err != nil || math.Abs(got-c.SI) > reference.Tolerance*math.Abs(c.SI) {
			t.Errorf("%s %s = %v, %v; want %v", c.Quantity, c.Written, got, err, c.SI)
		}
	}
	for _, c := range reference.Printed {
		got, err := Parser{}.Parse(c.Quantity, c.Written, "")
		rounded, _ := strconv.ParseFloat(strconv.FormatFloat(got, 'g', c.Digits, 64), 64)
		if err != nil || rounded != c.SI {
			t.Errorf("%s %s = %v, %v; want %v to %d digits", c.Quantity, c.Written, got, err, c.SI, c.Digits)
		}
	}
}
