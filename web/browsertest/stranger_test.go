package browsertest

import (
	"context"
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/chromedp"

	"rigtally/journal/demo"
	"rigtally/web/webtest"
)

// withBars is a phone whose browser shows its own bars.
var withBars = screen{390, 664, true}

// hideBelow takes what lies below the first screen, or behind the tabs at its foot, from those who listen to a page.
const hideBelow = `(() => {
	const foot = document.querySelector(".tabs")?.getBoundingClientRect();
	const end = foot && foot.top > innerHeight / 2 ? foot.top : innerHeight;
	const words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), range = document.createRange();
	const below = [];
	while (words.nextNode()) {
		range.selectNodeContents(words.currentNode);
		const at = range.getBoundingClientRect();
		if (at.height > 0 && at.bottom > end + 1) below.push(words.currentNode.parentElement);
	}
	below.forEach((e) => e.setAttribute("aria-hidden", "true"));
	return document.querySelector(".card-choice")?.innerText ?? "";
})()`

// jargon is what nobody says at the water.
var jargon = regexp.MustCompile(`(?i)\bq\b|\bp (=|under|over)|χ²|log-rank|\breference\b|weibull|\bversus\b|e-value|\barm\b|uncorrected`)

// firstScreen opens a page and returns what is read aloud of its first screen, with the choice on its card.
func firstScreen(ctx context.Context, t *testing.T, s *webtest.Site, path string) (said, choice string) {
	t.Helper()
	on(ctx, t, chromedp.Navigate(s.URL+path))
	waitFor(ctx, t, "the page "+path, settled)
	choice = evaluated[string](t, ctx, hideBelow)
	tree, err := chromedp.Call(ctx, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
	if err != nil {
		t.Fatal(err)
	}
	var words []string
	for _, n := range tree.Nodes {
		if n.Ignored || n.Role == nil || n.Name == nil || string(n.Role.Value) != `"StaticText"` {
			continue
		}
		var said string
		if err := json.Unmarshal(n.Name.Value, &said); err != nil {
			t.Fatal(err)
		}
		words = append(words, said)
	}
	return strings.ReplaceAll(strings.Join(words, " "), "\u00a0", " "), strings.ReplaceAll(choice, "\u00a0", " ")
}

// Someone who has never seen the journal hears the first screen of each answer: what to choose, how sure it is, and in
// which unit; and on no page's first screen a word of statistics.
func TestAStrangerHearsTheAnswer(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	ctx := openPlain(t, withBars, false)
	played, err := demo.Fill(t.Context(), s.Store, demo.Generate(demo.Seed, demo.Sessions))
	s.Must(err)
	s.Page("/tag-length", 200) // worked out before Today is asked for it, which waits for no answer long
	sure := regexp.MustCompile(`(?i)settled|best bet|no difference that matters|\bopen\b`)
	unit := regexp.MustCompile(`\d ?(h|min|in|mm|%)\b|\d%|\d more|in 100 |\d of \d+`)
	for _, path := range []string{"/", "/tag-length", "/curve", "/planner", "/junction", "/findings", "/findings?outcome=junction-break&by=junction", "/life", "/bench", "/trials/" + played.ID.String()} {
		said, choice := firstScreen(ctx, t, s, path)
		if choice == "" || !strings.Contains(said, choice) {
			t.Errorf("%s does not say the choice %q on its first screen: %s", path, choice, said)
		}
		if !sure.MatchString(said) {
			t.Errorf("%s does not say how sure it is on its first screen: %s", path, said)
		}
		if !unit.MatchString(said) {
			t.Errorf("%s has no unit on its first screen: %s", path, said)
		}
		if found := jargon.FindString(said); found != "" {
			t.Errorf("%s says %q on its first screen: %s", path, found, said)
		}
	}
	for _, path := range []string{"/sessions", "/rigs", "/claims", "/next", "/trials", "/clients", "/season"} {
		if said, _ := firstScreen(ctx, t, s, path); jargon.MatchString(said) {
			t.Errorf("%s says %q on its first screen: %s", path, jargon.FindString(said), said)
		}
	}
}
