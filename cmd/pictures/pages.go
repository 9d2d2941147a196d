package main

// page is a page by its address. A link, if set, is a CSS selector on that page
// whose first match is followed.
type page struct{ name, address, link string }

// pages are all pages that can be told apart, those that a journal has nothing
// for are left out of its pictures.
var pages = []page{
	{"today", "", ""},
	{"log", "log", ""},
	{"live", "live", ""},
	{"after", "after", ""},
	{"waiting", "waiting", ""},
	{"sessions", "sessions", ""},
	{"session", "sessions", `main a[href^="/sessions/0"]`},
	{"deleted", "sessions/deleted", ""},
	{"rigs", "rigs", ""},
	{"rig", "rigs", `main a[href^="/rigs/0"]`},
	{"rig-form", "rigs/new", ""},
	{"rig-rules", "rigs/rules", ""},
	{"findings", "findings?outcome=junction-break&by=junction", ""},
	{"findings-one", "findings?outcome=tangles&by=tag-length", ""},
	{"findings-two-factors", "findings?outcome=tangles&by=bulk&by=stroke", ""},
	{"findings-corrected", "findings?outcome=tangles&by=junction&given=angler&given=water", ""},
	{"tag-length", "tag-length", ""},
	{"curve", "curve?outcome=tangles&given=angler&given=water&given=bulk", ""},
	{"claims", "claims", ""},
	{"claim", "claims", `main a[href^="/claims/0"]`},
	{"claim-new", "claims/new", ""},
	{"season", "season", ""},
	{"season-one", "season", `main a[href^="/season?"]`},
	{"life", "life", ""},
	{"planner", "planner", ""},
	{"bench", "bench", ""},
	{"bench-facing", "bench?by=facing&where=junction=figure-eight", ""},
	{"bench-water", "bench/water", ""},
	{"bench-pulls", "bench/pulls", ""},
	{"bench-new", "bench/pulls/new", ""},
	{"bench-pull", "bench/pulls", `main a[href^="/bench/pulls/0"]`},
	{"trials", "trials", ""},
	{"trial", "trials", `main a[href^="/trials/0"]`},
	{"trial-new", "trials/new", ""},
	{"anglers", "anglers", ""},
	{"angler", "anglers", `main a[href^="/anglers/0"]`},
	{"waters", "waters", ""},
	{"water", "waters", `main a[href^="/waters/0"]`},
	{"settings", "settings", ""},
	{"problem", "findings?outcome=beauty", ""},
}

type screen struct {
	name          string
	width, height int64
}

var screens = []screen{{"phone", 390, 844}, {"desktop", 1440, 900}}
