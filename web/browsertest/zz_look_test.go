package browsertest

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"

	"rigtally/web/webtest"
)

func TestZZLookAtSamples(t *testing.T) {
	dir := os.Getenv("SAMPLES")
	if dir == "" {
		t.Skip()
	}
	b := webtest.NewBook(t)
	names, _ := filepath.Glob(dir + "/*.*sv")
	more, _ := filepath.Glob(dir + "/*.xlsx")
	for _, size := range []screen{phone, laptop} {
		ctx := openBrowser(t, size, false)
		look := looking(t, b, ctx, size)
		for _, name := range append(names, more...) {
			do(t, ctx, chromedp.Navigate(b.URL+"/import"))
			do(t, ctx, chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{name}))
			press(t, ctx, "main .button-main")
			look("sample-" + filepath.Base(name))
		}
	}
}
