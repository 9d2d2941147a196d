package demo_test

import (
	"fmt"
	"strings"

	"rigtally/journal/demo"
)

// The whole truth of an invented season. Twists, turns and break-offs, which
// share the effects of tangles and junction breaks, are left out here.
func ExampleEffects() {
	for _, e := range demo.Effects() {
		if e.Outcome == "twists" || e.Outcome == "turns" || e.Outcome == "break-off" {
			continue
		}
		line := fmt.Sprintf("%s by %s: %s is %.2f of %s", e.Outcome, e.Factor, e.Level, e.Ratio, e.Versus)
		if e.Given != nil {
			line += ", given " + strings.Join(e.Given, ", ")
		}
		fmt.Println(line)
	}
	// Output:
	// tangles by tag-length: 90 mm is 1.09 of 120 mm
	// tangles by tag-length: 150 mm is 1.09 of 120 mm
	// tangles by tag-length: 180 mm is 1.43 of 120 mm
	// tangles by tag-length: 210 mm is 2.25 of 120 mm
	// tangles by tag-length: 230 mm is 3.35 of 120 mm
	// tangles by hang: eye is 0.50 of tag
	// tangles by hang: bend is 0.45 of tag
	// tangles by junction: blood is 1.50 of figure-eight, given angler
	// tangles by junction: tippet ring is 0.75 of figure-eight, given angler
	// tangles by junction: double surgeon's is 1.00 of figure-eight, given angler
	// tangles by junction: triple surgeon's is 1.00 of figure-eight, given angler
	// tangles by junction: uni is 1.00 of figure-eight, given angler
	// tangles by junction: perfection loop is 1.00 of figure-eight, given angler
	// tangles by facing: up is 1.00 of down
	// tangles by facing: side is 1.00 of down
	// tangles by prop: half-hitch is 1.40 of none
	// tangles by prop: overhand is 1.40 of none
	// tangles by bulk: hackled is 1.20 of slim
	// tangles by bulk: legged is 1.70 of slim
	// tangles by swivel: tippet ring is 1.00 of none
	// tangles by swivel: micro swivel is 1.00 of none
	// tangles by stroke: oval is 1.40 of sidearm
	// tangles by stroke: overhead is 1.15 of sidearm
	// tangles by stroke: roll is 0.90 of sidearm
	// tangles by stroke: lob is 0.90 of sidearm
	// tangles by material: fluorocarbon is 1.00 of nylon
	// tangles by angler: Wren Tallowby is 0.30 of Juno Pellwright, given junction
	// tangles by angler: Ottoline Skerrit is 0.90 of Juno Pellwright, given junction
	// tangles by angler: Bastian Holloweave is 1.20 of Juno Pellwright, given junction
	// tangles by angler: Fen Amberquist is 1.50 of Juno Pellwright, given junction
	// junction-break by junction: blood is 2.00 of figure-eight
	// junction-break by junction: uni is 1.30 of figure-eight
	// junction-break by junction: perfection loop is 1.50 of figure-eight
	// junction-break by junction: double surgeon's is 1.00 of figure-eight
	// junction-break by junction: triple surgeon's is 0.90 of figure-eight
	// junction-break by junction: tippet ring is 0.80 of figure-eight
	// junction-break by facing: up is 1.60 of down
	// junction-break by facing: side is 1.20 of down
	// junction-break by tippet: 5X is 0.70 of 6X
	// junction-break by tippet: 7X is 1.40 of 6X
	// junction-break by tippet: 8X is 2.20 of 6X
	// junction-break by prop: half-hitch is 1.30 of none
	// junction-break by prop: overhand is 1.60 of none
	// foul-hook by hang: eye is 1.30 of tag
	// foul-hook by hang: bend is 1.80 of tag
	// loss by hook-size: 18 is 1.20 of 16
	// loss by hook-size: 20 is 1.40 of 16
	// loss by angler: Wren Tallowby is 0.70 of Juno Pellwright
	// loss by angler: Ottoline Skerrit is 1.00 of Juno Pellwright
	// loss by angler: Bastian Holloweave is 1.30 of Juno Pellwright
	// loss by angler: Fen Amberquist is 1.30 of Juno Pellwright
	// hookups by angler: Wren Tallowby is 1.30 of Juno Pellwright
	// hookups by angler: Ottoline Skerrit is 0.90 of Juno Pellwright
	// hookups by angler: Bastian Holloweave is 0.80 of Juno Pellwright
	// hookups by angler: Fen Amberquist is 0.70 of Juno Pellwright
	// hookups by water: Lower Kestane is 1.20 of Oxbane River, given temperature
	// hookups by water: Tamsel Creek is 0.80 of Oxbane River, given temperature
	// hookups by water: Lake Ferrule is 0.60 of Oxbane River, given temperature
	// hookups by temperature: 5 °C is 0.41 of 13 °C, given water
	// hookups by temperature: 8 °C is 0.71 of 13 °C, given water
	// hookups by temperature: 18 °C is 0.71 of 13 °C, given water
}
