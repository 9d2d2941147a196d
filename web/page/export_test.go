package page

// What tests of the pages need of the package.
var NewMenu = newMenu

// MenuPages are the keys of the pages that the navigation leads to.
func MenuPages() (keys []string) {
	for _, g := range groups {
		for _, p := range g.pages {
			keys = append(keys, p.Key)
		}
	}
	return keys
}
