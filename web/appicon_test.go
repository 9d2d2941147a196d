package web_test

import (
	"bytes"
	"image/color"
	"image/png"
	"net/http"
	"strings"
	"testing"

	"rigtally/web/webtest"
)

// The app's icon is a PNG of the size asked for: paper at its edge, ink and the
// sighter's colour within the middle four fifths, which every mask leaves (W3C,
// Web Application Manifest, "maskable").
func TestAppIcon(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	// Those of the light scheme, since the paper is its own ground.
	paper, ink, red := color.RGBA{0xff, 0xfd, 0xf7, 0xff}, color.RGBA{0x17, 0x20, 0x1f, 0xff}, color.RGBA{0xa8, 0x32, 0x00, 0xff}
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
				c := color.RGBAModel.Convert(img.At(x, y))
				drawn[c]++
				if dx, dy := 2*x-pixels, 2*y-pixels; c != paper && 25*(dx*dx+dy*dy) > 16*pixels*pixels {
					t.Fatalf("%s: something is drawn at %d, %d, where a mask may cut", path, x, y)
				}
			}
		}
		if drawn[ink] < pixels || drawn[red] < pixels || drawn[paper] < pixels*pixels/2 {
			t.Errorf("%s: %d of ink, %d of the sighter, %d of paper", path, drawn[ink], drawn[red], drawn[paper])
		}
	}
	if !strings.Contains(s.Get("/").Body, `rel="apple-touch-icon" href="/icon-192.png"`) {
		t.Error("no page names the icon")
	}
}
