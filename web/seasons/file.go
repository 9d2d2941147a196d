package seasons

import (
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"strings"

	"rigtally/analytics/season"
	"rigtally/prose/review"

	"rigtally/charts"
	"rigtally/internal/units"
)

// reviewView is a review as the page and the file show it.
type reviewView struct {
	review.Review
	Parts []reviewPart
}

// reviewPart is a section with its figures.
type reviewPart struct {
	review.Section
	Drawn []drawnFigure
}

// drawnFigure is a figure as it stands in a page.
type drawnFigure struct {
	Name, Title      string
	SVG              template.HTML
	Key              []charts.Key
	SVGFile, CSVFile string // where to keep it from; empty in a file
}

// newReviewView draws a season's figures into its words. Everything in a drawing is
// escaped where it is written.
func newReviewView(a season.Answer, sys units.System) reviewView {
	v := reviewView{Review: review.Of(a, sys)}
	drawings := map[string]charts.Drawing{}
	for _, d := range charts.Season(a, sys) {
		drawings[d.Name] = d
	}
	for _, s := range v.Sections {
		part := reviewPart{Section: s}
		for _, f := range s.Figures {
			if d, ok := drawings[f.Name]; ok {
				part.Drawn = append(part.Drawn, drawnFigure{Name: d.Name, Title: d.Title, SVG: d.SVG(d.Spoken), Key: d.Key})
			}
		}
		v.Parts = append(v.Parts, part)
	}
	return v
}

// reviewFile is what the file's template fills in.
type reviewFile struct {
	Title  string
	Style  template.HTML // the whole style element
	Policy string
	Review reviewView
}

// WriteFile writes a review as one HTML file that needs no network, no script and
// no other file: its charts are in it as SVG, and its policy lets nothing in but its
// own style, which it names by its hash (CSP level 2, source hashes).
func WriteFile(w io.Writer, files fs.FS, a season.Answer, sys units.System) error {
	style, err := reviewStyle(files)
	if err != nil {
		return err
	}
	t, err := template.New("").ParseFS(files, "templates/shared/review.html")
	if err != nil {
		return fmt.Errorf("read the review's template: %w", err)
	}
	sum := sha256.Sum256([]byte(style))
	v := newReviewView(a, sys)
	f := reviewFile{Title: v.Title, Style: template.HTML("<style>" + style + "</style>"), Review: v,
		Policy: "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; base-uri 'none'; form-action 'none'"}
	if err := t.ExecuteTemplate(w, "review-file", f); err != nil {
		return fmt.Errorf("fill the review's file: %w", err)
	}
	return nil
}

// reviewStyle is the look of the file: the pages' own colours and the review's rules.
// On paper it is always the light one.
func reviewStyle(files fs.FS) (string, error) {
	var all strings.Builder
	for _, name := range []string{"static/tokens.css", "static/drawn.css", "static/season.css"} {
		text, err := fs.ReadFile(files, name)
		if err != nil {
			return "", fmt.Errorf("read the review's style: %w", err)
		}
		all.Write(text)
	}
	return strings.ReplaceAll(all.String(), "@media (prefers-color-scheme: dark)", "@media screen and (prefers-color-scheme: dark)"), nil
}
