package browsertest

import (
	"cmp"
	"context"
	"flag"
	"fmt"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"rigtally/web/webtest"
)

// axe reads axe-core, which npm puts beside the chart library at test time. It is
// no part of the program.
func axe(t *testing.T) string {
	t.Helper()
	if testing.Short() {
		t.Skip("going through all pages takes minutes")
	}
	source, err := os.ReadFile("../assets/node_modules/axe-core/axe.min.js")
	if err != nil {
		t.Skip("axe-core is not there: accessibility is not tested; run make assets to fetch it from npm")
	}
	return string(source)
}

// pagesAt narrows the tests that go through all pages to addresses that hold a text.
var pagesAt = flag.String("pages", "", "go through the pages whose address holds this text only")

// atRest waits until a page shows something that is not for screen readers alone, which on some a script puts
// together, and then for what a chart or a script adds.
func atRest(t *testing.T, ctx context.Context) {
	t.Helper()
	_, err := chromedp.Run(ctx, chromedp.Poll[bool](`[...document.querySelectorAll("main :not(.unseen)")].some((e) => !e.children.length && e.checkVisibility() && e.innerText?.trim())`, chromedp.WithPollingTimeout(patience)))
	if err == nil {
		err = chromedp.Do(ctx, chromedp.Sleep(200*time.Millisecond))
	}
	if err != nil {
		t.Fatal(err)
	}
}

// violation is what axe-core holds against a page.
type violation struct {
	ID    string `json:"id"`
	Help  string `json:"help"`
	Nodes []struct {
		HTML    string `json:"html"`
		Summary string `json:"failureSummary"`
	} `json:"nodes"`
}

// axeRun asks for every rule of axe-core, targets of 24 px (WCAG 2.2 AA) among
// them, and on logging pages contrast of AAA; or for colours only.
const axeRun = `axe.run(document, {
	resultTypes: ["violations"],
	...(%t ? { runOnly: ["color-contrast", "color-contrast-enhanced"] } : {}),
	rules: { "target-size": { enabled: !%t }, "color-contrast-enhanced": { enabled: %t } },
}).then((r) => r.violations.map((v) => ({ id: v.id, help: v.help, nodes: v.nodes.map((n) => ({ html: n.html.slice(0, 160), failureSummary: n.failureSummary })) })))`

// looks are the ways to see a page: each width and each scheme once. What a colour is on which ground TestContrast
// tells for both.
var looks = []struct {
	on   screen
	dark bool
}{{phone, false}, {laptop, true}}

// tags finds the tags of a page, with what tells one element's kind from another's.
var tags = regexp.MustCompile(`<[a-z][^\s>]*|\s(?:class|role|type|open|hidden|disabled)(?:="[^"]*")?`)

// sights are the kinds of elements that pages have shown, each with the one before it.
type sights map[string]bool

// add reports whether a page shows something new.
func (s sights) add(page string) (something bool) {
	kind, before := "", ""
	see := func() {
		something = something || !s[before+kind]
		s[before+kind] = true
	}
	for _, part := range tags.FindAllString(page, -1) {
		if part[0] == '<' {
			see()
			kind, before = "", kind
		}
		kind += part
	}
	see()
	return something
}

// moves lists what moves on a page although less motion is asked for (prefers-reduced-motion).
const moves = `[...document.querySelectorAll("*")].filter((e) => {
	const s = getComputedStyle(e);
	return s.animationName !== "none" || s.transitionDuration.split(",").some((d) => parseFloat(d) > 0) || s.scrollBehavior === "smooth";
}).map((e) => e.outerHTML.slice(0, 100))`

// isLogging tells the pages on which a session is logged, which are read in the sun.
func isLogging(address string) bool {
	path, _, _ := strings.Cut(address, "?")
	return slices.Contains([]string{"/", "/log", "/live", "/after", "/waiting", "/offline", "/expired"}, path) || strings.HasSuffix(path, "/edit") && strings.HasPrefix(path, "/sessions/")
}

// What axe-core must find is found, so that finding nothing says something.
func TestBrowserAxeFindsWhatIsWrong(t *testing.T) {
	t.Parallel()
	source := axe(t)
	s := webtest.New(t)
	ctx := openPlain(t, phone, false)
	do(t, ctx, chromedp.Navigate(s.URL+"/"), chromedp.Evaluate[chromedp.Void](source+";0"),
		chromedp.Evaluate[chromedp.Void](`document.querySelector("main").insertAdjacentHTML("beforeend", "<img src='/icon-192.png'><input><p class='pale'>pale</p>");
			document.querySelector(".pale").style.color = "#999"; 0`))
	violations, err := chromedp.Run(ctx, chromedp.Evaluate[[]violation](fmt.Sprintf(axeRun, false, false, false), chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"image-alt", "label", "color-contrast"} {
		if !slices.ContainsFunc(violations, func(v violation) bool { return v.ID == id }) {
			t.Errorf("axe-core does not find %s", id)
		}
	}
}

func TestBrowserAxeFindsNoViolation(t *testing.T) {
	t.Parallel()
	source := axe(t)
	one, seen := webtest.NewBook(t).Site, sights{}
	for _, journal := range []struct {
		name     string
		site     *webtest.Site
		looks    int // the first so many
		browsers int // that share the pages
	}{{"a season", webtest.SmallSeason(t, 60), len(looks), 3}, {"one session", one, 1, 1}, {"an empty journal", webtest.New(t), 1, 1}} {
		found, _ := webtest.Walk(journal.site)
		addresses := slices.Sorted(maps.Values(found))
		if journal.name == "a season" {
			addresses = append(addresses, webtest.More...)
		}
		// What scripts show is not in the page.
		addresses = slices.DeleteFunc(addresses, func(a string) bool { return !seen.add(journal.site.Get(a).Body) && !isLogging(a) })
		for share := range journal.browsers {
			t.Run(fmt.Sprint(journal.name, " ", share+1), func(t *testing.T) {
				t.Parallel()
				ctx := openPlain(t, phone, false)
				for i, address := range addresses {
					if i%journal.browsers == share && strings.Contains(address, *pagesAt) {
						lookAt(t, ctx, journal.site.URL, address, source, journal.looks)
					}
				}
			})
		}
	}
}

// lookAt measures whether one page fits the smallest phone, also with letters twice as large, and puts it through
// axe-core in the first n looks.
func lookAt(t *testing.T, ctx context.Context, url, address, source string, n int) {
	t.Helper()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(phone.width, phone.height), chromedp.Navigate(url+address)); err != nil {
		t.Fatalf("%s: %v", address, err)
	}
	atRest(t, ctx)
	do(t, ctx, chromedp.Evaluate[chromedp.Void](`for (const d of document.querySelectorAll("details")) d.open = true; 0`), chromedp.Evaluate[chromedp.Void](source+";0"))
	do(t, ctx, chromedp.EmulateViewport(320, 640))
	for _, letters := range []string{"100%", "200%"} {
		for _, what := range evaluated[[]string](t, ctx, `document.documentElement.style.fontSize = "`+letters+`"; `+small+`.concat(`+crowded+`)`) {
			t.Errorf("%s, 320 px, letters of %s: %s", address, letters, what)
		}
	}
	do(t, ctx, chromedp.Evaluate[chromedp.Void](`document.documentElement.style.fontSize = ""; 0`))
	for i, look := range looks[:n] {
		prefer(t, ctx, look.on, look.dark)
		// A screen as high as the page: what the bar at the foot covers can be scrolled from under it.
		height, err := chromedp.Run(ctx, chromedp.Evaluate[int64]("document.documentElement.scrollHeight"))
		if err == nil {
			err = chromedp.Do(ctx, chromedp.EmulateViewport(look.on.width, min(height, 15000)))
		}
		if err != nil {
			t.Fatalf("%s: %v", address, err)
		}
		moving, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](moves))
		if err != nil || len(moving) > 0 {
			t.Errorf("%s moves for those who asked for less of it: %q, %v", address, moving, err)
		}
		script := fmt.Sprintf(axeRun, false, false, isLogging(address))
		violations, err := chromedp.Run(ctx, chromedp.Evaluate[[]violation](script, chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatalf("%s: run axe-core: %v", address, err)
		}
		for _, v := range violations {
			for _, n := range v.Nodes[:min(3, len(v.Nodes))] {
				t.Errorf("%s, look %d (%d px, dark %t): %s (%s): %s: %s", address, i, look.on.width, look.dark, v.Help, v.ID, n.HTML, strings.Join(strings.Fields(n.Summary), " "))
			}
		}
	}
}

func prefer(t *testing.T, ctx context.Context, on screen, dark bool) {
	t.Helper()
	features := []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: cmp.Or(map[bool]string{true: "dark"}[dark], "light")}, {Name: "prefers-reduced-motion", Value: "reduce"}}
	_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: features})
	if err == nil {
		err = chromedp.Do(ctx, chromedp.EmulateViewport(on.width, on.height))
	}
	if err != nil {
		t.Fatal(err)
	}
}

// The logging pages as they are in use: with questions open, in a dialog, with a
// conflict shown. Contrast is asked for at AAA.
func TestBrowserAxeOnLoggingInUse(t *testing.T) {
	t.Parallel()
	source := axe(t)
	b := webtest.NewBook(t)
	h, g := openOffline(t, phone), newGate(t, b.Site)
	check := func(state string) {
		t.Helper()
		do(t, h.ctx, chromedp.Evaluate[chromedp.Void](source+";0"))
		for _, dark := range []bool{false, true} {
			prefer(t, h.ctx, phone, dark)
			violations, err := chromedp.Run(h.ctx, chromedp.Evaluate[[]violation](fmt.Sprintf(axeRun, dark, dark, true), chromedp.EvalAwaitPromise))
			if err != nil {
				t.Fatal(err)
			}
			for _, v := range violations {
				for _, n := range v.Nodes[:min(3, len(v.Nodes))] {
					t.Errorf("%s, dark %t: %s (%s): %s: %s", state, dark, v.Help, v.ID, n.HTML, strings.Join(strings.Fields(n.Summary), " "))
				}
			}
		}
	}
	h.open(g.url + "/live")
	h.wait(`document.querySelector("#begin:not([hidden]) #pick-angler")`)
	check("the start of live")
	h.tap(`#start`)
	h.fishing()
	h.tap(kind("broke-off"))
	check("live, broke off")
	h.tap(`#conditions-open`)
	do(t, h.ctx, chromedp.SendKeys(chromedp.CSS(`#c-water_temp_c`), "21"))
	h.tap(`label:has(#c-storm)`)
	check("conditions")
	h.tap(`#conditions-dialog [data-close]`)
	h.tap(`#counts-open`)
	h.tap(padKind("tangles"))
	h.tap(padKind("snags"))
	check("what is counted")
	h.tap(`#counts [data-close]`)
	h.sees("Not counted in the whole of this stint: snags and tangles.")
	check("live, some of it not counted")
	h.tap(kind("check"))
	h.tap(`#end-open`)
	check("end")
	h.tap(`#end-details`)
	h.wait(`document.querySelector("#after:not([hidden])")`)
	h.tap(kind("fly-change"))
	h.tap(`#noted-count`)
	check("looked over")
	conflicting(t, b, h, g)
	check("conflict")
}
