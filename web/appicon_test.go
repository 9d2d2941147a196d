package web_test

import (
	"bytes"
	"image/color"
	"image/png"
	"net/http"
	"strings"
	"testing"

	"rigtally/web"
	"rigtally/web/webtest"
)

// The app's icon is a PNG of the size asked for: paper at its edge, ink and the
// sighter's colour within the middle four fifths, which every mask leaves (W3C,
// Web Application Manifest, "maskable").
func TestAppIcon(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	for path, pixels := range map[string]int{"/icon-192.png": 192, "/icon-512.png": 512} {
		got := s.Get(path)
		if got.Status != http.StatusOK || got.Header.Get("Content-Type") != "image/png" {
			t.Fatalf("%s: status %d, %s", path, got.Status, got.Header.Get("Content-Type"))
		}
		img, err := png.Decode(bytes.NewReader([]byte(got.Body)))
		if err != nil || img.Bounds().Dx() != pixels || img.Bounds().Dy() != pixels {
			t.Fatalf("%s: %v, %v", path, img.Bounds(), err)
		}
		drawn := map[color.Color]int{}
		for y := range pixels {
			for x := range pixels {
				c := img.At(x, y)
				drawn[c]++
				if dx, dy := 2*x-pixels, 2*y-pixels; c != web.IconPaper && 25*(dx*dx+dy*dy) > 16*pixels*pixels {
					t.Fatalf("%s: something is drawn at %d, %d, where a mask may cut", path, x, y)
				}
			}
		}
		if drawn[web.IconInk] < pixels || drawn[web.IconRed] < pixels || drawn[web.IconPaper] < pixels*pixels/2 {
			t.Errorf("%s: %d of ink, %d of the sighter, %d of paper", path, drawn[web.IconInk], drawn[web.IconRed], drawn[web.IconPaper])
		}
	}
	if !strings.Contains(s.Get("/").Body, `rel="apple-touch-icon" href="/icon-192.png"`) {
		t.Error("no page names the icon")
	}
}
