package web

import (
	"bytes"
	"image/color"
	"image/png"
	"net/http"
	"strings"
	"testing"

	"rigtally/journal"
)

// Every event that a session can hold has a drawing of its own, and so has every
// entry of the navigation.
func TestEveryEventHasAnIcon(t *testing.T) {
	t.Parallel()
	set, err := loadIcons(files)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]string{}
	for _, s := range sections() {
		for _, c := range s.cells {
			name := eventIcon(c.event)
			drawing, err := set.get(name)
			if err != nil {
				t.Errorf("%s: %v", c.label, err)
			}
			if other, ok := seen[string(drawing)]; ok && other != name {
				t.Errorf("%s and %s look alike", name, other)
			}
			seen[string(drawing)] = name
		}
	}
	for _, g := range groups {
		if _, err := set.get(g.key); err != nil {
			t.Error(err)
		}
	}
	for event, want := range map[journal.EventKind]string{journal.EventSnag: "snag", journal.EventCheck: "check", journal.EventFlyChange: "fly-change", journal.EventRetie: "re-tie", journal.EventTangle: "tangle"} {
		if got := eventIcon(journal.Event{Kind: event}); got != want {
			t.Errorf("%s is drawn as %s", event, got)
		}
	}
	if _, err := set.get("no-such"); err == nil {
		t.Error("an icon that is not there is not missed")
	}
}

// The app's icon is a PNG of the size asked for: paper at its edge, ink and the
// sighter's colour within the middle four fifths, which every mask leaves (W3C,
// Web Application Manifest, "maskable").
func TestAppIcon(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	for path, pixels := range map[string]int{"/icon-192.png": 192, "/icon-512.png": 512} {
		got := s.get(path)
		if got.status != http.StatusOK || got.header.Get("Content-Type") != "image/png" {
			t.Fatalf("%s: status %d, %s", path, got.status, got.header.Get("Content-Type"))
		}
		img, err := png.Decode(bytes.NewReader([]byte(got.body)))
		if err != nil || img.Bounds().Dx() != pixels || img.Bounds().Dy() != pixels {
			t.Fatalf("%s: %v, %v", path, img.Bounds(), err)
		}
		drawn := map[color.Color]int{}
		for y := range pixels {
			for x := range pixels {
				c := img.At(x, y)
				drawn[c]++
				if dx, dy := 2*x-pixels, 2*y-pixels; c != iconPaper && 25*(dx*dx+dy*dy) > 16*pixels*pixels {
					t.Fatalf("%s: something is drawn at %d, %d, where a mask may cut", path, x, y)
				}
			}
		}
		if drawn[iconInk] < pixels || drawn[iconRed] < pixels || drawn[iconPaper] < pixels*pixels/2 {
			t.Errorf("%s: %d of ink, %d of the sighter, %d of paper", path, drawn[iconInk], drawn[iconRed], drawn[iconPaper])
		}
	}
	if !strings.Contains(s.get("/").body, `rel="apple-touch-icon" href="/icon-192.png"`) {
		t.Error("no page names the icon")
	}
}
