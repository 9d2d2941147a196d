package browsertest

import (
	"bytes"
	"fmt"
	"image/png"
	"os"
	"testing"

	"github.com/chromedp/chromedp"
	qr "github.com/piglig/go-qr"

	"rigtally/journal"
	"rigtally/web/webtest"
)

// Ensure that an owner gets from the list of people to a link whose picture, as the screen shows it, reads as that link,
// and that no page of the way is wider than the screen.
func TestAnInvitationCanBeScanned(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	b.Join("Oda", journal.RoleOwner, nil)
	client := "/people/" + b.Join("Jonna", journal.RoleClient, &b.Angler.ID).String()
	for i, size := range []screen{phone, laptop, phone, laptop} {
		dark := i > 1
		ctx := openPlain(t, size, dark)
		look := func(step string) {
			t.Helper()
			if evaluated[bool](t, ctx, `document.documentElement.scrollWidth > innerWidth`) {
				t.Errorf("%s is wider than the screen of %d", step, size.width)
			}
			if dir := os.Getenv("LOOK"); dir != "" {
				png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
				b.Must(err)
				_ = os.WriteFile(fmt.Sprintf("%s/%s-%d-%v.png", dir, step, size.width, dark), png, 0o644)
			}
		}
		do(t, ctx, chromedp.Navigate(b.URL+"/people"))
		look("people")
		press(t, ctx, `main a[href="/people/invite"]`)
		look("invite")
		do(t, ctx, chromedp.SendKeys(named("name"), "Gerrit"), chromedp.SetValue(named("role"), "guide"))
		press(t, ctx, `main .button-main`)
		waitFor(ctx, t, "the picture", `document.querySelector(".qr")?.naturalWidth > 0`)
		look("link")
		picture, err := chromedp.Run(ctx, chromedp.Screenshot(chromedp.CSS(".qr")))
		b.Must(err)
		seen, err := png.Decode(bytes.NewReader(picture))
		b.Must(err)
		if read, err := qr.Decode(seen); err != nil || read != evaluated[string](t, ctx, `document.getElementById("link").value`) {
			t.Errorf("on a screen of %d the picture reads as %q, %v", size.width, read, err)
		}
		do(t, ctx, chromedp.Navigate(b.URL+client))
		look("member")
		press(t, ctx, `main a[href$="/remove"]`)
		look("remove")
		do(t, ctx, chromedp.Navigate(b.URL+"/sessions/"+b.Session.ID.String()))
		do(t, ctx, chromedp.Click(chromedp.CSS(`[data-key=history] > summary`)))
		look("history")
	}
}
