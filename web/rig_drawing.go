package web

import (
	"math"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

// drawing is a rig from the start of the tippet to the point fly, drawn to
// scale in the units of its view box.
type drawing struct {
	Height, Bottom float64 // of the drawing, and where the line ends
	Top            float64 // where the tippet starts
	Ring           string  // what joins it to the sighter
	Above          string
	Flies          []drawnFly
	Gaps           []drawnGap
	Bar            float64 // length of the scale bar
	BarText        string
	Guessed        bool   // some distance or tag was not noted
	Guess          string // what stands for it
	Words          string
}

// drawnFly is a fly at X, Y with its tag from the line at J, and its label.
type drawnFly struct {
	J, X, Y float64
	OnTag   bool
	Dashed  bool // the tag's length was not noted
	LabelY  float64
	Title   string
	Sub     []string
}

// drawnGap is the distance between two flies.
type drawnGap struct {
	Y     float64
	Text  string
	Upper float64
	Lower float64
}

// Where things stand in the drawing, in units of its view box.
const (
	drawLineX = 96.0
	drawTop   = 56.0
	drawSpan  = 360.0 // the tippet's length at most
	drawTag   = 96.0  // the longest tag at most
	drawRow   = 62.0  // between labels at least
)

// What is drawn where nothing was noted, in mm. Common practice, no source.
const (
	guessGap = 500
	guessTag = 150
)

// drawRig lays a rig out. It returns nil for one without flies.
func drawRig(rig journal.Rig, sys units.System) *drawing {
	if len(rig.Positions) == 0 {
		return nil
	}
	d := &drawing{Top: drawTop, Above: "leader above, not to scale", Ring: string(rig.Swivel)}
	heights, total := d.heights(rig)
	longest := 0.0
	for _, p := range rig.Droppers() {
		if p.Hang == journal.HangTag {
			longest = max(longest, tagOr(p))
		}
	}
	if rig.TippetLengthMM != nil {
		total = max(total, *rig.TippetLengthMM)
	} else {
		total += 200 // some line above the top junction
	}
	scale := drawSpan / total
	if longest > 0 {
		scale = min(scale, drawTag/longest)
	}
	d.Bottom = d.Top + total*scale
	for i := len(rig.Positions) - 1; i >= 0; i-- { // from the top down, as one reads
		p := rig.Positions[i]
		d.Flies = append(d.Flies, d.fly(p, d.Bottom-heights[i]*scale, scale, sys))
	}
	for i, p := range rig.Positions {
		if i > 0 && p.DistanceMM != nil {
			low, high := d.Bottom-heights[i-1]*scale, d.Bottom-heights[i]*scale
			d.Gaps = append(d.Gaps, drawnGap{(low + high) / 2, units.FormatLength(*p.DistanceMM, sys), high, low})
		}
	}
	d.spreadLabels()
	d.bar(scale, sys)
	d.Guess = units.FormatLength(guessGap, sys) + " between flies, a tag of " + units.FormatLength(guessTag, sys)
	d.Words = "Drawing of " + rigLine(rig, sys) + ". The same is in the table."
	return d
}

// heights returns how far above the point each position is, in mm, and the sum.
func (d *drawing) heights(rig journal.Rig) ([]float64, float64) {
	heights := make([]float64, len(rig.Positions))
	at := 0.0
	for i, p := range rig.Positions {
		switch {
		case i == 0:
		case p.DistanceMM != nil:
			at += *p.DistanceMM
		default:
			at += guessGap
			d.Guessed = true
		}
		heights[i] = at
	}
	return heights, at
}

func tagOr(p journal.RigPosition) float64 {
	if p.TagLengthMM == nil {
		return guessTag
	}
	return *p.TagLengthMM
}

func (d *drawing) fly(p journal.RigPosition, y, scale float64, sys units.System) drawnFly {
	f := drawnFly{J: y, X: drawLineX, Y: y, OnTag: p.Hang == journal.HangTag, Title: positionLabel(p.Position)}
	if f.OnTag {
		angle := map[journal.Facing]float64{"down": 35, "up": 145, "side": 90}[p.Facing] // degrees from straight down
		if p.Facing == "" {
			angle = 60
		}
		length := tagOr(p) * scale
		f.X += length * math.Sin(angle*math.Pi/180)
		f.Y += length * math.Cos(angle*math.Pi/180)
		f.Dashed = p.TagLengthMM == nil
		d.Guessed = d.Guessed || f.Dashed
	}
	switch {
	case p.Position == 0:
		f.Sub = []string{p.Fly}
	case f.OnTag:
		knot, rest, _ := strings.Cut(hangWords(p, sys), ", ")
		f.Sub = []string{knot, rest}
	default:
		f.Sub = []string{hangWords(p, sys)}
	}
	f.LabelY = f.Y
	return f
}

// spreadLabels keeps labels from lying on each other.
func (d *drawing) spreadLabels() {
	next := d.Top
	for i := range d.Flies {
		f := &d.Flies[i]
		f.LabelY = max(f.LabelY, next)
		next = f.LabelY + drawRow
	}
	d.Height = max(d.Bottom, next-drawRow) + 64
}

// bar chooses a round length for the scale.
func (d *drawing) bar(scale float64, sys units.System) {
	lengths := []float64{2000, 1000, 500, 200, 100, 50, 20, 10}
	if sys == units.US {
		lengths = []float64{1828.8, 914.4, 609.6, 304.8, 152.4, 76.2, 25.4}
	}
	for _, mm := range lengths {
		d.Bar, d.BarText = mm*scale, units.FormatLength(mm, sys)
		if d.Bar <= 120 {
			return
		}
	}
}
