package browsertest

import (
	"context"
	"flag"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/storage"
	"github.com/chromedp/chromedp"

	"rigtally/analytics/caution"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/gauge"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/webtest"
)

var (
	picturesTo   = flag.String("pictures", "", "`folder` to write a picture of every page to, as JOURNAL/PAGE-SCREEN-SCHEME.png; none when empty")
	picturesOnly = flag.String("only", "*", "`patterns` of names of pictures to take, with commas, such as today-*,findings-desktop-light")
	picturesOf   = flag.String("journals", "empty,one,demo,many", "`journals` to take pictures of, with commas")
)

// tallest is as far as a browser draws in one picture.
const tallest = 16000

// TestPictures takes a picture of every page of some journals on each of picturedScreens, light
// and dark. It fails when a page can't be shown.
func TestPictures(t *testing.T) {
	if *picturesTo == "" {
		t.Skip("takes pictures with -pictures FOLDER; make pictures")
	}
	for _, name := range strings.Split(*picturesOf, ",") {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s, chosen := picturedJournal(t, name)
			folder := filepath.Join(*picturesTo, name)
			if err := os.MkdirAll(folder, 0o755); err != nil {
				t.Fatal(err)
			}
			for _, scheme := range []string{"light", "dark"} {
				browser := openPlain(t, laptop, scheme == "dark")
				for _, p := range picturedPages {
					for _, on := range picturedScreens {
						file := strings.Join([]string{p.name, on.name, scheme}, "-")
						if address, is := chosen[p.address]; is {
							p.address = address
						}
						if !wanted(file) || p.address == cautiousSession || p.address == risingSession {
							continue
						}
						if picture := p.take(t, browser, s.URL, on); picture != nil {
							if err := os.WriteFile(filepath.Join(folder, file+".png"), picture, 0o644); err != nil {
								t.Fatal(err)
							}
						}
					}
				}
			}
		})
	}
}

// picturedScreens are what pages are pictured on: a phone upright and on its side, the smallest one with letters
// twice as large, and a desktop.
var picturedScreens = []picturedScreen{{"phone", phone, "100%"}, {"landscape", screen{844, 390, true}, "100%"}, {"large", screen{320, 640, true}, "200%"}, {"desktop", laptop, "100%"}}

type picturedScreen struct {
	name string
	screen
	letters string
}

func wanted(file string) bool {
	return slices.ContainsFunc(strings.Split(*picturesOnly, ","), func(pattern string) bool {
		ok, err := path.Match(pattern, file)
		return ok && err == nil
	})
}

// picturedJournal serves a journal, with its clock in the evening of the last session's day, so that Today has
// something to tell and pictures of one program are alike. It returns the addresses of cautiousSession and
// risingSession, too, where there are such.
func picturedJournal(t *testing.T, name string) (s *webtest.Site, chosen map[string]string) {
	t.Helper()
	evening := journal.Date{Year: 2026, Month: time.June, Day: 20}
	now := func() time.Time { return evening.In(time.UTC).Add(20 * time.Hour) }
	s = webtest.ServeWith(t, func(*pg.Store) web.Options {
		return web.Options{Now: now, LastBackup: func() (at time.Time, failed string) {
			if name == "one" {
				failed = "2026-06-20 19:12: the disk of the backups, /media/second/rigtally, is full: write /media/second/rigtally/.part-1.rigtally: no space left on device; make room there, or name a folder on another disk with backup_dir (--backup-dir)"
			}
			if name != "empty" {
				at = now().Add(-22 * time.Hour)
			}
			return at, failed
		}}
	})
	season := demo.Generate(demo.Seed, demo.Sessions)
	var err error
	switch name {
	case "empty":
	case "one": // the session that shows most
		tells := func(s journal.Session) (n int) {
			for _, st := range s.Stints {
				n += 5 + len(st.Events)
			}
			return n
		}
		season.Sessions = []journal.Session{slices.MaxFunc(season.Sessions, func(a, b journal.Session) int { return tells(a) - tells(b) })}
		err = demo.Load(t.Context(), s.Store, season)
	case "demo":
		_, err = demo.Fill(t.Context(), s.Store, season)
	case "many": // as a busy outfit has after some ten years
		_, err = demo.Fill(t.Context(), s.Store, demo.Generate(demo.Seed, 3000))
	default:
		t.Fatalf("no journal is called %q; choose of empty, one, demo, many", name)
	}
	s.Must(err)
	c, err := s.Store.Contents(t.Context())
	s.Must(err)
	ids := make([]journal.ID, len(c.Sessions))
	for i, session := range c.Sessions {
		ids[i] = session.ID
	}
	fills, err := s.Store.Fills(t.Context(), ids...)
	s.Must(err)
	chosen = map[string]string{}
	most, steepest := 0, 0.0
	for _, session := range c.Sessions {
		at := "sessions/" + session.ID.String()
		if n := len(caution.Of(session, fills[session.ID])); n > most {
			most, chosen[cautiousSession] = n, at
		}
		for _, f := range fills[session.ID] {
			if f.Quantity == gauge.Flow && f.Change6H != nil && *f.Change6H > steepest {
				steepest, chosen[risingSession] = *f.Change6H, at
			}
		}
	}
	if lines, _, err := s.Store.SessionLines(t.Context(), journal.SessionFilter{Limit: 1}); err == nil && len(lines) > 0 {
		evening = lines[0].Day
	}
	return s, chosen
}

// take shows the whole page and takes its picture; nil when the journal has no such page.
func (p picturedPage) take(t *testing.T, browser context.Context, site string, on picturedScreen) []byte {
	t.Helper()
	ctx, cancel := context.WithTimeout(browser, 2*time.Minute)
	defer cancel()
	do := func(what ...chromedp.Action[chromedp.Void]) {
		if err := chromedp.Do(ctx, what...); err != nil {
			t.Fatalf("%s: %v", p.name, err)
		}
	}
	do(chromedp.EmulateViewport(on.width, on.height), chromedp.Navigate(site+"/"+p.address))
	if p.link != "" {
		found, ok := strings.CutPrefix(p.link, "js:")
		if !ok {
			found = "document.querySelector('" + p.link + "')?.href"
		}
		href := evaluated[string](t, ctx, "(("+found+") || '') && new URL("+found+", location).href")
		if href == "" {
			return nil
		}
		do(chromedp.Navigate(href))
	}
	// Some pages are put together by a script, and charts draw after the page.
	_, err := chromedp.Run(ctx, chromedp.Poll[bool](`[...document.querySelectorAll("main :not(.unseen)")].some((e) => !e.children.length && e.checkVisibility() && e.innerText?.trim())`))
	if err != nil {
		t.Fatalf("%s shows nothing: %v", p.name, err)
	}
	do(chromedp.Sleep(400 * time.Millisecond))
	for _, selector := range p.press {
		do(chromedp.Evaluate[chromedp.Void]("document.querySelector('"+selector+"')?.click()"), chromedp.Sleep(150*time.Millisecond))
	}
	if len(p.press) > 0 {
		defer func() { // what was pressed is kept in the browser, and other pages would show it
			do(chromedp.Navigate("about:blank"))
			_, _ = chromedp.Call(ctx, storage.ClearDataForOrigin, storage.ClearDataForOriginParams{Origin: site, StorageTypes: "all"})
		}()
	}
	do(chromedp.Evaluate[chromedp.Void](`document.documentElement.style.fontSize = "` + on.letters + `"; 0`))
	if evaluated[bool](t, ctx, `["No such page", "Not in this journal"].includes(document.querySelector("h1")?.textContent)`) {
		return nil
	}
	// A screen as high as the page, so that what is fixed to its foot stays there.
	height := evaluated[int64](t, ctx, "document.documentElement.scrollHeight")
	do(chromedp.EmulateViewport(on.width, min(max(height, on.height), tallest)), chromedp.Sleep(200*time.Millisecond))
	picture, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatalf("%s: %v", p.name, err)
	}
	return picture
}

func evaluated[T any](t *testing.T, ctx context.Context, expression string, how ...chromedp.EvaluateOption) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, how...))
	if err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// picturedPage is a page by its address. A link, if set, is a CSS selector on that page whose first match
// is followed, or an expression for an address after "js:"; what is to press is pressed on the page in the end.
type picturedPage struct {
	name, address, link string
	press               []string
}

// picturedPages are all pages that can be told apart, those that a journal has nothing
// for are left out of its pictures.
var picturedPages = []picturedPage{
	{name: "today"},
	{name: "log", address: "log"},
	{name: "live", address: "live"},
	{name: "after", address: "after"},
	{name: "waiting", address: "waiting"},
	{name: "sessions", address: "sessions"},
	{name: "session", address: "sessions", link: `main a[href^="/sessions/0"]`},
	{name: "deleted", address: "sessions/deleted"},
	{name: "recorded", address: "recorded"},
	{name: "recorded-mark", address: "recorded", link: `main a[href^="/recorded/mark?"]`},
	{name: "rigs", address: "rigs"},
	{name: "rig", address: "rigs", link: `main a[href^="/rigs/0"]`},
	{name: "rig-form", address: "rigs/new"},
	{name: "rig-rules", address: "rigs/rules"},
	{name: "findings", address: "findings?outcome=junction-break&by=junction"},
	{name: "findings-one", address: "findings?outcome=tangles&by=tag-length"},
	{name: "findings-two-factors", address: "findings?outcome=tangles&by=bulk&by=stroke"},
	{name: "findings-corrected", address: "findings?outcome=tangles&by=junction&given=angler&given=water"},
	{name: "tag-length", address: "tag-length"},
	{name: "junction", address: "junction"},
	{name: "clients", address: "clients"},
	{name: "start", address: "start"},
	{name: "curve", address: "curve?outcome=tangles&given=angler&given=water&given=bulk"},
	{name: "claims", address: "claims"},
	{name: "claim", address: "claims", link: `main a[href^="/claims/0"]`},
	{name: "claim-new", address: "claims/new"},
	{name: "season", address: "season"},
	{name: "season-one", address: "season", link: `js:document.querySelector("#angler option:nth-child(3)") && "/season?angler=" + document.querySelector("#angler option:nth-child(3)").value`},
	{name: "life", address: "life"},
	{name: "planner", address: "planner"},
	{name: "next", address: "next"},
	{name: "bench", address: "bench"},
	{name: "bench-facing", address: "bench?by=facing&where=junction=figure-eight"},
	{name: "bench-water", address: "bench/water"},
	{name: "bench-pulls", address: "bench/pulls"},
	{name: "bench-new", address: "bench/pulls/new"},
	{name: "bench-pull", address: "bench/pulls", link: `main a[href^="/bench/pulls/0"]`},
	{name: "trials", address: "trials"},
	{name: "trial", address: "trials", link: `main a[href^="/trials/0"]`},
	{name: "trial-new", address: "trials/new"},
	{name: "anglers", address: "anglers"},
	{name: "angler", address: "anglers", link: `main a[href^="/anglers/0"]`},
	{name: "waters", address: "waters"},
	{name: "water", address: "waters", link: `main a[href^="/waters/0"]`},
	{name: "gauges", address: "waters", link: gaugesOf("")},
	{name: "gauge-find", address: "waters", link: gaugesOf("/find")},
	{name: "gauge-fill", address: "waters", link: gaugesOf("/fill")},
	{name: "gauge-file", address: "waters", link: gaugesOf("/file")},
	{name: "settings", address: "settings"},
	{name: "import", address: "import"},
	{name: "names", address: "names"},
	{name: "name", address: "names", link: `main a[href^="/names/anglers/"]`},
	{name: "steps", address: "steps"},
	{name: "step", address: "steps", link: `main a[href^="/steps/0"]`},
	{name: "people", address: "people"},
	{name: "invite", address: "people/invite"},
	{name: "problem", address: "findings?outcome=beauty"},
	{name: "session-counts", address: "sessions", link: `js:document.querySelector("main a[href^='/sessions/0']") && document.querySelector("main a[href^='/sessions/0']").href + "#counts"`},
	{name: "rig-copy", address: "rigs", link: `js:[...document.querySelectorAll("main a[href$='/copy']")].at(2)?.href`},
	{name: "session-caution", address: cautiousSession},
	{name: "session-rising", address: risingSession},
	{name: "live-end", address: "live", press: []string{"#start", "[data-kind=landed]", "#end-open"}},
	{name: "live-new-rig", address: "live", press: []string{".make-rig button"}},
	{name: "live-under-way", address: "live", press: []string{"#start", "[data-kind=landed]", "[data-kind=twist]", "[data-kind=landed]", "[data-kind=snag]", "[data-kind=check]", "[data-kind=lost]", "[data-kind=broke-off]"}},
}

// gaugesOf leads to a page of the last water's gauges.
func gaugesOf(page string) string {
	const water = `[...document.querySelectorAll("main a[href^='/waters/0']:not([href$='/gauges'])")].at(-1)`
	return "js:" + water + " && " + water + `.href + "/gauges` + page + `"`
}

// What stands for the address of the session that calls for most cautions, and of the one while which the water rose most.
const cautiousSession, risingSession = "cautious", "rising"
