package drawing

import (
	"fmt"
	"strings"

	"rigtally/internal/svg"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Where things stand on the line of a session, in units of its view box.
const (
	sessionWidth = 360.0
	sessionLeft  = 66.0
	sessionRight = 352.0
	laneTop      = 34.0
	laneHeight   = 26.0
)

// lane is a row of a session's line, for what happened of one sort.
type lane struct {
	name string
	on   func(journal.Event) bool
	mark func(c *canvas, e journal.Event, at point)
}

var lanes = []lane{
	{"Fish", func(e journal.Event) bool { return e.Kind == journal.EventHookup }, func(c *canvas, e journal.Event, at point) {
		if e.Ending == journal.Landed {
			c.circle(bodyLook.with("rig-dot"), at, 4.5)
		} else {
			c.circle(knotLook, at, 3.75)
		}
	}},
	{"Tangles", func(e journal.Event) bool { return e.Kind == journal.EventTangle }, func(c *canvas, _ journal.Event, at point) {
		c.path(knotLook, point{at.x, at.y - 7}, point{at.x, at.y + 7})
	}},
	{"Breaks", func(e journal.Event) bool { return e.Ending == journal.BrokeOff }, func(c *canvas, _ journal.Event, at point) {
		c.path(knotLook, point{at.x - 4, at.y - 4}, point{at.x + 4, at.y + 4})
		c.path(knotLook, point{at.x - 4, at.y + 4}, point{at.x + 4, at.y - 4})
	}},
	{"Tag", func(e journal.Event) bool { return e.Kind == journal.EventFlyChange || e.Kind == journal.EventRetie }, func(c *canvas, e journal.Event, at point) {
		if e.Kind == journal.EventRetie {
			c.curve(bodyLook.with("rig-dot"), svg.Format("M%v %vl5 9h-10z", at.x, at.y-5))
		} else {
			c.curve(knotLook, svg.Format("M%v %vl5 -9h-10z", at.x, at.y+5))
		}
	}},
}

// Session draws what happened along the minutes of a session, stint after stint. It is "" where the time of a stint
// is not known, or no moment is. Events without a minute are for the page to list.
func Session(s journal.Session, id string) string {
	total, moments := 0.0, 0
	var told []string
	for i, st := range s.Stints {
		if st.Minutes == nil {
			return ""
		}
		told = append(told, fmt.Sprintf("Stint %d from minute %.0f.", i+1, total))
		for _, l := range lanes {
			var at []string
			for _, e := range st.Events {
				if e.Minute != nil && l.on(e) {
					at = append(at, fmt.Sprintf("%.0f", total+float64(*e.Minute)))
					moments++
				}
			}
			if len(at) > 0 {
				told = append(told, l.name+" at "+strings.Join(at, ", ")+".")
			}
		}
		total += *st.Minutes
	}
	if moments == 0 || total <= 0 {
		return ""
	}
	x := func(minute float64) float64 { return sessionLeft + (sessionRight-sessionLeft)*min(minute/total, 1) }
	foot := laneTop + laneHeight*float64(len(lanes))
	c := &canvas{}
	c.open("session-line", sessionWidth, foot+24, "The session along its minutes", strings.Join(told, " "), id)
	for i, l := range lanes {
		y := laneTop + laneHeight*(float64(i)+0.5)
		c.text("", "start", noteSize, point{0, y + 4.5}, l.name)
		c.path(measureLook, point{sessionLeft, y}, point{sessionRight, y})
	}
	begun := 0.0
	for i, st := range s.Stints {
		from, to := x(begun), x(begun+*st.Minutes)
		c.path(lineLook, point{from, laneTop - 8}, point{from, foot})
		name := fmt.Sprintf("Stint %d", i+1)
		if to-from < 52 {
			name = fmt.Sprint(i + 1)
		}
		c.text("", "start", noteSize, point{from + 4, laneTop - 12}, name)
		for j, l := range lanes {
			for _, e := range st.Events {
				if e.Minute != nil && l.on(e) {
					l.mark(c, e, point{x(begun + float64(*e.Minute)), laneTop + laneHeight*(float64(j)+0.5)})
				}
			}
		}
		begun += *st.Minutes
	}
	c.path(lineLook, point{sessionLeft, foot}, point{sessionRight, foot})
	step := 30.0
	for total/step > 4 {
		step *= 2
	}
	for m := step; m < total-step/3; m += step {
		c.path(lineLook, point{x(m), foot}, point{x(m), foot + 4})
		c.text("", "middle", noteSize, point{x(m), foot + 18}, units.FormatDuration(m))
	}
	c.Put("</svg>")
	return c.String()
}
