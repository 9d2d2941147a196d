package page

import (
	"bytes"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"sync"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
)

// Frame is what the layout shows around a page; every page's struct embeds it.
type Frame struct {
	Title  string
	Tab    string // the key of the current entry of the navigation, see groups; "" for none
	Notice string // a sentence on what was just done
	Wide   bool   // whether the page uses the whole width of a large screen
	Outfit journal.Outfit
	Units  units.System
	Who    journal.Who // for whom the page is
}

// Frame reads what the layout needs. done in the address names the notice.
func (d *Desk) Frame(r *http.Request, tab, title string) (Frame, error) {
	o, err := d.Store.Outfit(r.Context())
	if err != nil {
		return Frame{}, err
	}
	return Frame{Title: title, Tab: tab, Notice: notices[r.URL.Query().Get("done")], Outfit: o, Units: units.System(o.Units), Who: d.Store.Who()}, nil
}

// Framed makes an action of one that shows something in a frame.
func (d *Desk) Framed(tab, title string, show func(http.ResponseWriter, *http.Request, Frame) error) Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		f, err := d.Frame(r, tab, title)
		if err != nil {
			return err
		}
		return show(w, r, f)
	}
}

// Showing makes an action that shows in a frame what the address names, under the title that it gives the page.
func Showing[T any](d *Desk, tab string, read func(*http.Request) (T, error), title func(T) string, show func(http.ResponseWriter, *http.Request, Frame, T) error) Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		found, err := read(r)
		if err != nil {
			return err
		}
		f, err := d.Frame(r, tab, title(found))
		if err != nil {
			return err
		}
		return show(w, r, f, found)
	}
}

// notices are the sentences that an address may ask to be shown. They are fixed,
// so that a link from elsewhere can't put words on a page.
var notices = map[string]string{
	"logged":          "The session is saved.",
	"restored":        "The session is back as it was.",
	"river-filled":    "Filled in from the gauge.",
	"river-none":      "The gauge had no reading that fits this session, so nothing was filled in.",
	"river-cleared":   "What came from the gauge is taken out.",
	"rig-saved":       "The rig is saved.",
	"rig-revised":     "Saved as a new revision. Earlier sessions keep the old one.",
	"rig-deleted":     "The rig is deleted.",
	"rules-saved":     "The rules are saved.",
	"rules-restored":  "The rules are in use again.",
	"angler-saved":    "The angler is saved.",
	"member-saved":    "Saved.",
	"member-out":      "Signed out everywhere. Whoever can still sign in may do so again.",
	"member-removed":  "Removed. Whoever it was can’t come in any more.",
	"share-withdrawn": "Withdrawn. The link shows nothing any more.",
	"withdrawn":       "Withdrawn. Its link no longer lets anybody in.",
	"water-saved":     "The water is saved.",
	"settings-saved":  "The settings are saved.",
	"claim-saved":     "The claim is saved.",
	"claim-retired":   "The claim is off the board. It is kept below, and can be put back.",
	"pull-recorded":   "Recorded. Its set-up stays for the next pull.",
	"pull-saved":      "The pull is saved.",
	"pull-restored":   "The pull is back as it was.",
	"claim-restored":  "The claim is back on the board.",
	"recorded-back":   "Undone. It says what it said before.",
	"trial-planned":   "The trial is planned. Its order is drawn and sealed.",
	"trial-started":   "Started. What to tie is below.",
	"trial-back":      "The start is taken back. The next one has the same arm, and the trial notes that.",
	"trial-attached":  "What was fished is attached.",
	"trial-apart":     "It stays on the list and is not counted.",
	"trial-off":       "What was noted is cleared. It waits for a session.",
	"trial-matched":   "Looked again for what was fished. Clear matches are attached.",
	"trial-renamed":   "Name and notes are saved. The plan is as it was.",
	"trial-ended":     "The trial has ended, and its seal is open below.",
	"trial-deleted":   "The trial is deleted. Nothing in it had been started.",
}

// templates makes one set for each page when it is first shown: the layout, the parts and the page. Whoever comes in
// sees few of them, and all together take a tenth of a second and some megabytes.
type templates map[string]func() (*template.Template, error)

// Load takes in the templates of every page. They lead only to what is served.
func (d *Desk) Load(from fs.FS, asset func(name string) string, served map[string]bool) (err error) {
	d.templates, err = loadTemplates(from, asset, served)
	return err
}

// loadTemplates finds every page, and parses the layout and the parts in shared that each is shown with.
func loadTemplates(from fs.FS, asset func(name string) string, served map[string]bool) (templates, error) {
	icons, err := loadIcons(from)
	if err != nil {
		return nil, err
	}
	base, err := template.New("").Funcs(helpers(asset)).Funcs(template.FuncMap{
		"icon": icons.get, "menu": newMenu(served), "serves": func(pattern string) bool { return served[pattern] },
	}).ParseFS(from, "templates/shared/*.html")
	if err != nil {
		return nil, fmt.Errorf("read the templates: %w", err)
	}
	names, err := fs.Glob(from, "templates/*.html")
	if err != nil {
		return nil, fmt.Errorf("list the templates: %w", err)
	}
	set := templates{}
	for _, name := range names {
		set[strings.TrimSuffix(path.Base(name), ".html")] = sync.OnceValues(func() (*template.Template, error) {
			t, err := base.Clone()
			if err == nil {
				_, err = t.ParseFS(from, name)
			}
			if err != nil {
				return nil, fmt.Errorf("read the template %s: %w", name, err)
			}
			return t, nil
		})
	}
	return set, nil
}

// helpers are what templates may call.
func helpers(asset func(string) string) template.FuncMap {
	return template.FuncMap{
		"asset":    asset,
		"capital":  prose.Capital,
		"lower":    prose.Lower,
		"day":      prose.Day,
		"plain":    plain,
		"words":    form.Words,
		"offer":    form.Vocabulary[string],
		"options":  form.Pairs,
		"next":     func(n int) int { return n + 1 },
		"plus":     func(by, to float64) float64 { return to + by },
		"lineDown": func(i int) float64 { return 23 + 18*float64(i) },
		"minus":    func(by, from float64) float64 { return from - by },
	}
}

// Render writes a page: the template "name", in the layout, with the page's
// struct. It writes nothing when the template fails.
func (d *Desk) Render(w http.ResponseWriter, status int, name string, page any) error {
	return d.render(w, status, name, "layout", page)
}

// RenderPart writes one part of a page by itself, for a script that puts it in place.
func (d *Desk) RenderPart(w http.ResponseWriter, status int, page, part string, data any) error {
	return d.render(w, status, page, part, data)
}

func (d *Desk) render(w http.ResponseWriter, status int, name, part string, data any) error {
	html, err := d.fill(name, part, data)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(html) // a browser that went away is no failure
	return nil
}

// Fill returns the template "name", in the layout, with the page's struct.
func (d *Desk) Fill(name string, page any) ([]byte, error) { return d.fill(name, "layout", page) }

func (d *Desk) fill(name, part string, data any) ([]byte, error) {
	read, ok := d.templates[name]
	if !ok {
		return nil, fmt.Errorf("there is no template %q", name)
	}
	t, err := read()
	if err != nil {
		return nil, err
	}
	var buf bytes.Buffer
	if err := t.ExecuteTemplate(&buf, part, data); err != nil {
		return nil, fmt.Errorf("fill the %s of the page %s: %w", part, name, err)
	}
	return d.signed(part, glue(buf.Bytes())), nil
}
