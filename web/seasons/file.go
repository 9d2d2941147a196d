package seasons

import (
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"rigtally/analytics/season"
	"rigtally/charts"
	"rigtally/drawing"
	"rigtally/internal/units"
	"rigtally/prose"
	"rigtally/prose/review"
)

// reviewView is a review as the page and the file show it.
type reviewView struct {
	review.Review
	Initials string // the mark of the outfit
	Days     template.HTML
	Changes  []changeView
	Note     string // of whoever hands it over
	Fill     string // classes by how much there is to print, so that both sheets are full and nothing is cut
}

// changeView is a change with the dropper as it was and as it could be.
type changeView struct {
	review.Advice
	Do            string
	Before, After template.HTML
}

// longestNote is how much of a note the page has room for.
const longestNote = 200

// newReviewView draws a season into its words. Everything in a drawing is escaped where it is written.
func newReviewView(a season.Answer, sys units.System, note string) reviewView {
	v := reviewView{Review: review.Of(a, sys), Note: strings.TrimSpace(note)}
	if runes := []rune(v.Note); len(runes) > longestNote {
		v.Note = string(runes[:longestNote]) + "…"
	}
	v.Initials, v.Days = initials(v.Outfit), charts.Season(a, v.Spoken)
	v.Headline, v.Lead, v.FindOut = together(v.Headline), together(v.Lead), together(v.FindOut)
	for _, row := range v.Beside.Rows {
		for i := range row {
			row[i] = together(row[i])
		}
	}
	for i, advice := range v.Advice {
		c := changeView{Advice: advice, Do: together(prose.Capital(advice.Change))}
		for j := range c.Says {
			c.Says[j] = together(c.Says[j])
		}
		if advice.Was != nil {
			before, after := drawing.Change(*advice.Was, *advice.Could, drawing.Options{Units: sys, ID: "change-" + strconv.Itoa(i+1)})
			c.Before, c.After = template.HTML(before), template.HTML(after)
		}
		v.Changes = append(v.Changes, c)
	}
	words := 0
	for _, part := range v.Record {
		if len(part.Table.Rows) == 0 {
			words += len(strings.Join(part.Text, ""))
		}
	}
	for _, m := range v.Method {
		words += len(m.What + m.How)
	}
	v.Fill = fmt.Sprintf("changes-%d record-%d", len(v.Changes), min(words/500, 9))
	return v
}

// together keeps a number and its unit on one line.
func together(text string) string {
	return regexp.MustCompile(`(\d) (\d/\d|h|min|in|mm|cm|fish|days?|tangles?|sessions?)\b`).ReplaceAllString(text, "$1\u00a0$2")
}

// initials are the first letters of a name's first two words.
func initials(name string) string {
	text := ""
	for _, word := range strings.Fields(name) {
		if r := []rune(word)[0]; unicode.IsLetter(r) && utf8.RuneCountInString(text) < 2 {
			text += string(unicode.ToUpper(r))
		}
	}
	return text
}

// reviewFile is what the file's template fills in.
type reviewFile struct {
	Style  template.HTML // the whole style element
	Policy string
	Review reviewView
}

// WriteFile writes a review, with a note of whoever hands it over, as one HTML file that needs no network, no
// script and no other file: its drawings and its face of headings are in it, and its policy lets nothing in but
// its own style, which it names by its hash (CSP level 2, source hashes).
func WriteFile(w io.Writer, files fs.FS, a season.Answer, sys units.System, note string) error {
	style, err := reviewStyle(files)
	if err != nil {
		return err
	}
	t, err := template.New("").ParseFS(files, "templates/shared/review.html", "templates/shared/card.html")
	if err != nil {
		return fmt.Errorf("read the review's template: %w", err)
	}
	sum := sha256.Sum256([]byte(style))
	f := reviewFile{Style: template.HTML("<style>" + style + "</style>"), Review: newReviewView(a, sys, note),
		Policy: "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'; font-src data:; base-uri 'none'; form-action 'none'"}
	if err := t.ExecuteTemplate(w, "review-file", f); err != nil {
		return fmt.Errorf("fill the review's file: %w", err)
	}
	return nil
}

// reviewStyle is the look of the file: the pages' own colours, the face of headings if it was built in, and the
// review's rules. On paper it is always the light one.
func reviewStyle(files fs.FS) (string, error) {
	var all strings.Builder
	if face, err := fs.ReadFile(files, "static/vendor/aleo-700.woff2"); err == nil {
		all.WriteString(`@font-face { font-family: "Aleo"; font-weight: 700; src: url("data:font/woff2;base64,` + base64.StdEncoding.EncodeToString(face) + `") format("woff2"); }` + "\n")
	}
	for _, name := range []string{"static/tokens.css", "static/season.css"} {
		text, err := fs.ReadFile(files, name)
		if err != nil {
			return "", fmt.Errorf("read the review's style: %w", err)
		}
		all.Write(text)
	}
	return strings.ReplaceAll(all.String(), "@media (prefers-color-scheme: dark)", "@media screen and (prefers-color-scheme: dark)"), nil
}
