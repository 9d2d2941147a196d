package page

import "slices"

// tab is an entry of the navigation.
type tab struct {
	Key, Href, Text string
	Holds           []string // keys of further pages that lie behind this one
	Unless          string   // the pattern of a page that leads there, where that is served
	Current         string   // aria-current: "page" on that page itself, "true" in its group
}

// group is an entry of the first row; with more than one page it has a second row.
type group struct {
	key, text string
	pages     []tab
}

// groups are the pages that the navigation leads to, by their keys: one row by question, not by method.
var groups = []group{
	{"today", "Today", []tab{{Key: "today", Href: "/", Text: "Today"}}},
	{"sessions", "Sessions", []tab{{Key: "sessions", Href: "/sessions", Text: "Sessions", Holds: []string{"import", "steps", "names"}}}},
	{"rigs", "Rigs", []tab{{Key: "rigs", Href: "/rigs", Text: "Rigs"}}},
	{"answers", "Answers", []tab{
		{Key: "tag-length", Href: "/tag-length", Text: "Tag length", Holds: []string{"planner"}},
		{Key: "junction", Href: "/junction", Text: "Junction", Holds: []string{"life"}},
		{Key: "findings", Href: "/findings", Text: "Any question"},
		{Key: "claims", Href: "/claims", Text: "Claims"},
		{Key: "next", Href: "/next", Text: "Settle it", Holds: []string{"trials", "bench"}},
	}},
	{"season", "Season", []tab{{Key: "season", Href: "/season", Text: "Season", Unless: "GET /clients"}}},
	{"compare", "Compare", []tab{{Key: "compare", Href: "/compare", Text: "Compare"}}},
	{"clients", "Clients", []tab{
		{Key: "clients", Href: "/clients", Text: "Clients", Holds: []string{"season"}},
		{Key: "people", Href: "/people", Text: "People"},
	}},
}

// menu is the navigation as one page shows it.
type menu struct {
	Name    string // of the second row
	Entries []tab  // the first row
	Within  []tab  // the second row, empty when the group has one page
}

// newMenu returns how the navigation looks from the page of a key. It leads only
// to pages that are served.
func newMenu(served map[string]bool) func(current string) menu {
	return func(current string) menu {
		var m menu
		for _, g := range groups {
			var pages []tab
			here := false
			for _, p := range g.pages {
				pattern := "GET " + p.Href
				if p.Href == "/" {
					pattern += "{$}"
				}
				if served[pattern] && !served[p.Unless] {
					if p.Key == current {
						p.Current, here = "page", true
					} else if slices.Contains(p.Holds, current) {
						p.Current, here = "true", true
					}
					pages = append(pages, p)
				}
			}
			if len(pages) == 0 {
				continue
			}
			entry := tab{Key: g.key, Href: pages[0].Href, Text: g.text}
			switch {
			case here && len(pages) > 1:
				entry.Current, m.Name, m.Within = "true", g.text, pages
			case here:
				entry.Current = pages[0].Current
			}
			m.Entries = append(m.Entries, entry)
		}
		return m
	}
}
