package browsertest

import (
	"fmt"
	"os"
	"regexp"
	"testing"
)

// The colours of a heat map go one way in lightness, in clear steps, so that
// their order is seen by every eye and in grey: on light paper the darker is the
// more, on dark paper the lighter.
func TestHeatColoursGoOneWay(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("../static/figure.css")
	if err != nil {
		t.Fatal(err)
	}
	sets := regexp.MustCompile(`:root \{ --heat-1[^}]*\}`).FindAllString(string(text), -1)
	if len(sets) != 2 {
		t.Fatalf("%d schemes of colours, want a light and a dark one", len(sets))
	}
	for i, set := range sets {
		var steps []string
		for n := 1; n <= 5; n++ {
			m := regexp.MustCompile(fmt.Sprintf(`--heat-%d: #([0-9a-f]{6});`, n)).FindStringSubmatch(set)
			if m == nil {
				t.Fatalf("scheme %d has no step %d", i, n)
			}
			steps = append(steps, m[1])
		}
		for n := 1; n < len(steps); n++ {
			darker := luminance(steps[n]) < luminance(steps[n-1])
			if darker != (i == 0) || contrast(steps[n], steps[n-1]) < 1.3 {
				t.Errorf("scheme %d: from #%s to #%s is no clear step the same way", i, steps[n-1], steps[n])
			}
		}
	}
}
