package page

// tab is an entry of the navigation.
type tab struct {
	Key, Href, Text string
	Current         string // aria-current: "page" on that page itself, "true" in its group
}

// group is an entry of the first row; with more than one page it has a second row.
type group struct {
	key, text string
	pages     []tab
}

// groups are the pages that the navigation leads to, by their keys.
var groups = []group{
	{"today", "Today", []tab{{Key: "today", Href: "/", Text: "Today"}}},
	{"sessions", "Sessions", []tab{{Key: "sessions", Href: "/sessions", Text: "Sessions"}}},
	{"rigs", "Rigs", []tab{{Key: "rigs", Href: "/rigs", Text: "Rigs"}}},
	{"findings", "Findings", []tab{
		{Key: "findings", Href: "/findings", Text: "Compare"},
		{Key: "tag-length", Href: "/tag-length", Text: "Tag length"},
		{Key: "claims", Href: "/claims", Text: "Claims"},
		{Key: "season", Href: "/season", Text: "Season"},
		{Key: "life", Href: "/life", Text: "Knot life"},
	}},
	{"decide", "Decide", []tab{
		{Key: "planner", Href: "/planner", Text: "Tag planner"},
		{Key: "next", Href: "/next", Text: "Find out next"},
		{Key: "trials", Href: "/trials", Text: "Trials"},
		{Key: "bench", Href: "/bench", Text: "Bench"},
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
				if served[pattern] {
					if p.Key == current {
						p.Current, here = "page", true
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
				entry.Current = "page"
			}
			m.Entries = append(m.Entries, entry)
		}
		return m
	}
}
