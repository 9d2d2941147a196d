package page

import (
	"bytes"
	"regexp"
)

// unitAfter finds a number with a space and a unit behind it, up to the end of the unit's word.
var unitAfter = regexp.MustCompile(`([0-9¼½¾⅛⅜⅝⅞]) ((?:in|ft|mm|cm|m|h|min|s|lbf|oz|N|kg|g|°F|°C|cfs|ft²/s|m²/s|m³/s|m/s|ft/s)\b|°F|°C)`)

// wordless are the elements whose text is not for people, or goes back as it is.
var wordless = [][]byte{[]byte("script"), []byte("style"), []byte("textarea"), []byte("pre"), []byte("option")}

// glue keeps a unit on the line of its number: in the words of a page, the space between them becomes one that
// does not break.
func glue(page []byte) []byte {
	out := make([]byte, 0, len(page)+len(page)/32)
	for len(page) > 0 {
		open := bytes.IndexByte(page, '<')
		if open < 0 {
			open = len(page)
		}
		out = append(out, unitAfter.ReplaceAll(page[:open], []byte("$1\u00a0$2"))...)
		page = page[open:]
		end := bytes.IndexByte(page, '>') + 1
		if end == 0 {
			return append(out, page...)
		}
		for _, name := range wordless {
			if bytes.HasPrefix(page[1:end], name) {
				if close := bytes.Index(page, append([]byte("</"), name...)); close > 0 {
					end = close
				}
				break
			}
		}
		out, page = append(out, page[:end]...), page[end:]
	}
	return out
}
