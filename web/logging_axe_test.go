package web

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// The logging pages as they are in use: with questions open, in a dialog, with a
// conflict shown. Contrast is asked for at AAA.
func TestBrowserAxeOnLoggingInUse(t *testing.T) {
	t.Parallel()
	source := axe(t)
	b := newBook(t)
	h, g := openOffline(t, phone), newGate(t, b.site)
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
