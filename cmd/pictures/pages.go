package main

// page is a page by its address. A link, if set, is a CSS selector on that page
// whose first match is followed, or an expression for an address after "js:"; what is to press, selectors with commas, is
// pressed on the page in the end.
type page struct{ name, address, link, press string }

// pages are all pages that can be told apart, those that a journal has nothing
// for are left out of its pictures.
var pages = []page{
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
	{name: "curve", address: "curve?outcome=tangles&given=angler&given=water&given=bulk"},
	{name: "claims", address: "claims"},
	{name: "claim", address: "claims", link: `main a[href^="/claims/0"]`},
	{name: "claim-new", address: "claims/new"},
	{name: "season", address: "season"},
	{name: "season-one", address: "season", link: `js:document.querySelector("#angler option:nth-child(3)") && "/season?angler=" + document.querySelector("#angler option:nth-child(3)").value`},
	{name: "life", address: "life"},
	{name: "planner", address: "planner"},
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
	{name: "settings", address: "settings"},
	{name: "problem", address: "findings?outcome=beauty"},
	{name: "session-counts", address: "sessions", link: `js:document.querySelector("main a[href^='/sessions/0']") && document.querySelector("main a[href^='/sessions/0']").href + "#counts"`},
	{name: "rig-copy", address: "rigs", link: `js:[...document.querySelectorAll("main a[href$='/copy']")].at(2)?.href`},
	{name: "session-caution", address: cautious},
	{name: "live-under-way", address: "live", press: "#start,[data-kind=landed],[data-kind=twist],[data-kind=landed],[data-kind=snag],[data-kind=check],[data-kind=lost],[data-kind=broke-off]"},
}

// cautious stands for the address of the session that calls for most cautions.
const cautious = "cautious"

type screen struct {
	name          string
	width, height int64
}

var screens = []screen{{"phone", 390, 844}, {"desktop", 1440, 900}}
