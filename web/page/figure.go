package page

import (
	"strings"
	"time"
	"unicode"

	"rigtally/charts"
)

// Figure is a chart with its words, as the template "figure" shows it: the
// caption, the drawing, the key, how to read it, and ways to keep it, as a
// picture or as numbers. A page that shows one starts its head with the
// template "figure-head".
type Figure struct {
	Title  string        // the caption: what the chart shows
	Says   string        // a sentence that goes into the saved picture with it; "" for none
	Spoken string        // what the chart shows, for those who can't see it
	Chart  *charts.Chart // nil shows nothing
	How    string        // how to read it, below; "" for none
	CSV    string        // address of the same numbers; "" for none
	File   string        // name of the saved picture, without its ending
	Source string        // whose numbers they are, at the foot of the saved picture
	Unseen bool          // the page has drawn it its own way: it is only to be saved
}

// NewFigure makes a figure whose file is named after its parts and whose source
// is the journal of the page, today.
func (d *Desk) NewFigure(f Frame, title string, chart *charts.Chart, fileParts ...string) *Figure {
	return &Figure{Title: title, Chart: chart, File: FileName(fileParts...), Source: sourceLine(f.Outfit.Name, d.Now())}
}

// sourceLine says whose numbers a picture shows, and of when.
func sourceLine(outfit string, now time.Time) string {
	whose := "a fishing journal"
	if outfit != "" {
		whose = "the journal of " + outfit
	}
	return "Source: " + whose + ", kept with rigtally. As of " + now.Format("2 January 2006") + "."
}

// FileName joins words into a name that every system takes as a file's.
func FileName(parts ...string) string {
	words := strings.FieldsFunc(strings.ToLower(strings.Join(parts, " ")), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	name := strings.Join(words, "-")
	if name == "" {
		return "chart"
	}
	if len(name) > 80 {
		name = strings.ToValidUTF8(name[:80], "")
	}
	return name
}
