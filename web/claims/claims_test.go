package claims_test

import (
	"net/http"
	"net/url"
	"os"
	"slices"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
	"rigtally/web/claims"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

func TestTheBoardIsShown(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	got := b.Get("/claims")
	webtest.CheckPage(t, "/claims", got.Body)
	if got.Status != http.StatusOK {
		t.Fatalf("status %d", got.Status)
	}
	for _, c := range journal.StartingClaims() {
		if !strings.Contains(got.Body, c.Words) || !strings.Contains(got.Body, `href="/claims/`+c.ID.String()+`"`) {
			t.Errorf("the board is without %q or a way to change it", c.Words)
		}
	}
	for _, want := range []string{`href="/findings?outcome=twists&amp;by=bulk&amp;versus=slim"`, `href="/curve?outcome=twists"`, "t tell yet", `aria-current="page">Claims`} {
		if !strings.Contains(got.Body, want) {
			t.Errorf("the board is without %q", want)
		}
	}
	claim := "/claims/" + journal.StartingClaims()[2].ID.String()
	for template, pages := range map[string]map[string]string{
		"claims": {"/claims?done=claim-saved": "The claim is saved.", "/claims?done=claim-retired": "off the board"},
		"claim":  {"/claims/new": "Add a claim", claim: "Retire this claim"},
	} {
		for page, want := range pages {
			got := b.Get(page)
			if got.Status != http.StatusOK || !strings.Contains(got.Body, want) {
				t.Errorf("%s (%s): status %d, without %q", page, template, got.Status, want)
			}
			webtest.CheckPage(t, page, got.Body)
		}
	}
	if b.Log.Len() > 0 {
		t.Errorf("the log holds: %s", b.Log)
	}
}

// Without script the form is filled in two steps: what makes the difference,
// then what of it is compared.
func TestAClaimIsAddedInTwoSteps(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	id := webtest.NewID(t)
	first := url.Values{"new": {"yes"}, "do": {"refresh"}, "words": {"Loops <twist> more"}, "factor": {"junction"}, "of": {""}, "given": {"angler"}}
	got := b.Post("/claims/"+id.String(), first)
	for _, want := range []string{`value="perfection loop"`, `value="slip loop"`, `value="Loops &lt;twist&gt; more"`, `name="of" value="junction"`, `value="angler" checked`} {
		if !strings.Contains(got.Body, want) {
			t.Errorf("after choosing the factor the form is without %s", want)
		}
	}
	if got.Status != http.StatusOK || len(b.Claims(t)) != len(journal.StartingClaims()) {
		t.Fatalf("status %d, %d claims", got.Status, len(b.Claims(t)))
	}
	for range 2 { // sent twice it is stored once
		got = b.Post("/claims/"+id.String(), webtest.ClaimForm())
		if got.Status != http.StatusSeeOther || got.Header.Get("Location") != "/claims?done=claim-saved#"+id.String() {
			t.Fatalf("saving: status %d to %q", got.Status, got.Header.Get("Location"))
		}
	}
	list := b.Claims(t)
	c := list[len(list)-1]
	if c.ID != id || c.Words != "Loops tangle more than blood knots" || !slices.Equal(c.Level, []string{"perfection loop", "slip loop"}) || !slices.Equal(c.Versus, []string{"blood"}) ||
		!slices.Equal(c.Given, []string{"tag-length:linear", "angler"}) || c.Source != journal.OwnClaim || len(list) != len(journal.StartingClaims())+1 {
		t.Errorf("stored %+v", c)
	}
	// Its own form gives it back unchanged.
	form := claimFields(b.Get("/claims/" + id.String()).Body)
	form.Set("do", "save")
	if got = b.Post("/claims/"+id.String(), form); got.Status != http.StatusSeeOther {
		t.Fatalf("saved again: status %d", got.Status)
	}
	if again := b.Claims(t); !again[len(again)-1].Equal(c) {
		t.Errorf("saved again it is %+v, was %+v", again[len(again)-1], c)
	}
}

// claimFields are the fields that a browser would send back unchanged.
func claimFields(body string) url.Values {
	form := webtest.Fields(body)
	for _, name := range []string{"level", "versus", "given"} {
		form.Del(name)
		for part := range strings.SplitSeq(body, `<input type="checkbox" name="`+name+`" value="`) {
			value, rest, _ := strings.Cut(part, `"`)
			if strings.HasPrefix(rest, " checked>") {
				form.Add(name, value)
			}
		}
	}
	return form
}

// When the factor is changed and saved at once, the words of the old one go.
func TestWordsOfAnotherFactorStayOut(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	form := webtest.ClaimForm()
	form.Set("factor", "facing")
	got := b.Post("/claims/"+webtest.NewID(t).String(), form)
	if got.Status != http.StatusUnprocessableEntity || !strings.Contains(got.Body, "Choose the facing that the claim is about") || !strings.Contains(got.Body, `value="down"`) {
		t.Errorf("status %d, saying %s", got.Status, webtest.Complaints(got.Body))
	}
	form.Set("factor", "tag-length")
	form.Del("given")
	id := webtest.NewID(t)
	if got := b.Post("/claims/"+id.String(), form); got.Status != http.StatusSeeOther {
		t.Fatalf("status %d, saying %s", got.Status, webtest.Complaints(got.Body))
	}
	if c, err := b.Store.ClaimByID(t.Context(), id); err != nil || c.Level != nil || c.Versus != nil {
		t.Errorf("stored %+v, %v", c, err)
	}
}

func TestAClaimIsRetiredAndPutBack(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	c := journal.StartingClaims()[0]
	at := "/claims/" + c.ID.String()
	if got := b.Post(at+"/retire", nil); got.Header.Get("Location") != "/claims?done=claim-retired" {
		t.Fatalf("retiring: status %d", got.Status)
	}
	board := b.Get("/claims").Body
	_, retired, found := strings.Cut(board, "<h2>Retired</h2>")
	if !found || !strings.Contains(retired, c.Words) || !strings.Contains(retired, at+"/restore") || strings.Contains(board, `<li class="claim" id="`+c.ID.String()) {
		t.Error("the retired claim is not among the retired alone")
	}
	if form := b.Get(at).Body; !strings.Contains(form, "This claim is retired") || strings.Contains(form, "Retire this claim") {
		t.Error("its form does not say so")
	}
	if got := b.Post(at+"/restore", nil); got.Header.Get("Location") != "/claims?done=claim-restored" {
		t.Fatalf("restoring: status %d", got.Status)
	}
	if board := b.Get("/claims").Body; !strings.Contains(board, `<li class="claim" id="`+c.ID.String()) {
		t.Error("it is not back on the board")
	}
}

// The question behind each claim of the starting board can be asked.
func TestTheQuestionsBehindClaims(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	if err := demo.Load(t.Context(), b.Store, demo.Generate(demo.Seed, 60)); err != nil {
		t.Fatal(err)
	}
	for _, c := range journal.StartingClaims() {
		address := claims.ClaimQuestion(c, units.US)
		if got := b.Get(address); got.Status != http.StatusOK {
			t.Errorf("%s: %s: status %d, saying %s", c.Words, address, got.Status, webtest.Complaints(got.Body))
		}
	}
}
