package page

// What tests of the pages need of the package.
var NewMenu = newMenu

// MenuPages are the keys of the pages that the navigation leads to.
func MenuPages() (keys []string) {
	for _, g := range groups {
		for _, p := range g.pages {
			keys = append(append(keys, p.Key), p.Holds...)
		}
	}
	return keys
}

// Glue is glue.
func Glue(page []byte) []byte { return glue(page) }
