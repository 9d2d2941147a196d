package page

import (
	"fmt"
	"html/template"
	"io/fs"
	"regexp"
)

// icons are the drawings of static/icons.svg by name, each ready to stand in a page.
type icons map[string]template.HTML

var symbol = regexp.MustCompile(`(?s)<symbol id="([a-z-]+)" viewBox="([0-9 ]+)">\s*(.*?)\s*</symbol>`)

// loadIcons takes the sprite apart, so that a page holds the few icons that it
// shows: they are there without signal, in print and in a file sent to somebody.
func loadIcons(from fs.FS) (icons, error) {
	const name = "static/icons.svg"
	sprite, err := fs.ReadFile(from, name)
	if err != nil {
		return nil, fmt.Errorf("read the icons: %w", err)
	}
	set := icons{}
	for _, m := range symbol.FindAllSubmatch(sprite, -1) {
		set[string(m[1])] = template.HTML(fmt.Sprintf(`<svg class="icon" viewBox="%s" width="24" height="24" aria-hidden="true" focusable="false">%s</svg>`, m[2], m[3]))
	}
	if len(set) == 0 {
		return nil, fmt.Errorf("there is no icon in %s", name)
	}
	return set, nil
}

func (i icons) get(name string) (template.HTML, error) {
	drawing, ok := i[name]
	if !ok {
		return "", fmt.Errorf("there is no icon %q", name)
	}
	return drawing, nil
}
