package web

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"net/http"
	"sync"

	"rigtally/web/page"
)

// stroke is a line of the app's icon, in the 24 units of static/icon.svg.
type stroke struct {
	x1, y1, x2, y2 float64
	colour         color.RGBA
}

// Colours of the icon: those of the light scheme, since the paper is its own ground.
var (
	iconPaper = color.RGBA{0xff, 0xfd, 0xf7, 0xff}
	iconInk   = color.RGBA{0x17, 0x20, 0x1f, 0xff}
	iconRed   = color.RGBA{0xa8, 0x32, 0x00, 0xff}
)

// iconStrokes are a tally of five: four of ink, and a sighter across. They keep
// within the middle four fifths, which every launcher's mask leaves.
var iconStrokes = []stroke{
	{6.25, 6.5, 6.25, 17.5, iconInk}, {10.1, 6.5, 10.1, 17.5, iconInk}, {13.9, 6.5, 13.9, 17.5, iconInk}, {17.75, 6.5, 17.75, 17.5, iconInk},
	{4.5, 15.25, 19.5, 8.75, iconRed},
}

const iconStrokeWidth = 1.75 // of 24 units

// appIcon draws the icon as a PNG of so many pixels each way.
func appIcon(pixels int) ([]byte, error) {
	img := image.NewRGBA(image.Rect(0, 0, pixels, pixels))
	scale := float64(pixels) / 24
	for y := range pixels {
		for x := range pixels {
			c := iconPaper
			for _, s := range iconStrokes {
				d := s.distance((float64(x)+0.5)/scale, (float64(y)+0.5)/scale)
				c = over(c, s.colour, (iconStrokeWidth/2-d)*scale+0.5)
			}
			img.SetRGBA(x, y, c)
		}
	}
	var out bytes.Buffer
	err := png.Encode(&out, img)
	return out.Bytes(), err
}

// distance of a point from the stroke's middle line.
func (s stroke) distance(x, y float64) float64 {
	dx, dy := s.x2-s.x1, s.y2-s.y1
	along := ((x-s.x1)*dx + (y-s.y1)*dy) / (dx*dx + dy*dy)
	along = min(1, max(0, along))
	return math.Hypot(x-s.x1-along*dx, y-s.y1-along*dy)
}

// over lays a colour over another where it covers a share of the pixel.
func over(under, colour color.RGBA, share float64) color.RGBA {
	share = min(1, max(0, share))
	mix := func(a, b uint8) uint8 { return uint8(math.Round(float64(a) + (float64(b)-float64(a))*share)) }
	return color.RGBA{mix(under.R, colour.R), mix(under.G, colour.G), mix(under.B, colour.B), 0xff}
}

// iconPNG answers with the icon, drawn once.
func iconPNG(pixels int) page.Action {
	draw := sync.OnceValues(func() ([]byte, error) { return appIcon(pixels) })
	return func(w http.ResponseWriter, _ *http.Request) error {
		picture, err := draw()
		if err != nil {
			return err
		}
		w.Header().Set("Content-Type", "image/png")
		w.Header().Set("Cache-Control", "public, max-age=86400")
		_, _ = w.Write(picture) // a browser that went away is no failure
		return nil
	}
}
