package browsertest

import (
	"testing"

	"github.com/chromedp/chromedp"

	"rigtally/journal/demo"
	"rigtally/web/webtest"
)

func TestLook(t *testing.T) {
	t.Parallel()
	b := &webtest.Book{Site: webtest.New(t)}
	s := demo.Generate(demo.Seed, 400)
	b.Must(demo.Load(t.Context(), b.Store, s))
	b.Must(demo.Measure(t.Context(), b.Store, s))
	at := "/waters/" + s.Waters[0].ID.String()
	for _, size := range []screen{phone, laptop} {
		ctx := openPlain(t, size, false)
		look := looking(t, b, ctx, size)
		for _, p := range []struct{ name, path string }{{"water", at}, {"gauges", at + "/gauges"}, {"find", at + "/gauges/find"}, {"fill", at + "/gauges/fill"}, {"file", at + "/gauges/file"}, {"none", "/waters/" + s.Waters[3].ID.String() + "/gauges"}} {
			do(t, ctx, chromedp.Navigate(b.URL+p.path))
			look(p.name)
		}
	}
}
