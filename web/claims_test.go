package web

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/demo"
)

func (s *site) claims(t *testing.T) []journal.Claim {
	t.Helper()
	list, err := s.store.Claims(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// claimForm is a whole form of a claim on words.
func claimForm() url.Values {
	return url.Values{"new": {"yes"}, "do": {"save"}, "words": {"Loops tangle more than blood knots"}, "outcome": {"tangles"}, "factor": {"junction"}, "of": {"junction"},
		"direction": {"more"}, "level": {"perfection loop", "slip loop"}, "versus": {"blood"}, "given": {"angler", "tag-length:linear"}}
}

func TestTheBoardIsShown(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	got := b.get("/claims")
	checkPage(t, "/claims", got.body)
	if got.status != http.StatusOK {
		t.Fatalf("status %d", got.status)
	}
	for _, c := range journal.StartingClaims() {
		if !strings.Contains(got.body, c.Words) || !strings.Contains(got.body, `href="/claims/`+c.ID.String()+`"`) {
			t.Errorf("the board is without %q or a way to change it", c.Words)
		}
	}
	for _, want := range []string{`href="/findings?outcome=twists&amp;by=bulk&amp;given=tag-length&amp;given=angler&amp;given=water&amp;versus=slim"`, `href="/curve?outcome=twists&amp;over=tag-length&amp;given=bulk&amp;given=angler&amp;given=water"`, "t tell yet", `aria-current="page">Claims`} {
		if !strings.Contains(got.body, want) {
			t.Errorf("the board is without %q", want)
		}
	}
	claim := "/claims/" + journal.StartingClaims()[2].ID.String()
	for template, pages := range map[string]map[string]string{
		"claims": {"/claims?done=claim-saved": "The claim is saved.", "/claims?done=claim-retired": "off the board"},
		"claim":  {"/claims/new": "Add a claim", claim: "Retire this claim"},
	} {
		for page, want := range pages {
			got := b.get(page)
			if got.status != http.StatusOK || !strings.Contains(got.body, want) {
				t.Errorf("%s (%s): status %d, without %q", page, template, got.status, want)
			}
			checkPage(t, page, got.body)
		}
	}
	if b.log.Len() > 0 {
		t.Errorf("the log holds: %s", b.log)
	}
}

// Without script the form is filled in two steps: what makes the difference,
// then what of it is compared.
func TestAClaimIsAddedInTwoSteps(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	id := newID(t)
	first := url.Values{"new": {"yes"}, "do": {"refresh"}, "words": {"Loops <twist> more"}, "factor": {"junction"}, "of": {""}, "given": {"angler"}}
	got := b.post("/claims/"+id.String(), first)
	for _, want := range []string{`value="perfection loop"`, `value="slip loop"`, `value="Loops &lt;twist&gt; more"`, `name="of" value="junction"`, `value="angler" checked`} {
		if !strings.Contains(got.body, want) {
			t.Errorf("after choosing the factor the form is without %s", want)
		}
	}
	if got.status != http.StatusOK || len(b.claims(t)) != len(journal.StartingClaims()) {
		t.Fatalf("status %d, %d claims", got.status, len(b.claims(t)))
	}
	for range 2 { // sent twice it is stored once
		got = b.post("/claims/"+id.String(), claimForm())
		if got.status != http.StatusSeeOther || got.header.Get("Location") != "/claims?done=claim-saved#"+id.String() {
			t.Fatalf("saving: status %d to %q", got.status, got.header.Get("Location"))
		}
	}
	list := b.claims(t)
	c := list[len(list)-1]
	if c.ID != id || c.Words != "Loops tangle more than blood knots" || !slices.Equal(c.Level, []string{"perfection loop", "slip loop"}) || !slices.Equal(c.Versus, []string{"blood"}) ||
		!slices.Equal(c.Given, []string{"tag-length:linear", "angler"}) || c.Source != journal.OwnClaim || len(list) != len(journal.StartingClaims())+1 {
		t.Errorf("stored %+v", c)
	}
	// Its own form gives it back unchanged.
	form := claimFields(b.get("/claims/" + id.String()).body)
	form.Set("do", "save")
	if got = b.post("/claims/"+id.String(), form); got.status != http.StatusSeeOther {
		t.Fatalf("saved again: status %d", got.status)
	}
	if again := b.claims(t); !again[len(again)-1].Equal(c) {
		t.Errorf("saved again it is %+v, was %+v", again[len(again)-1], c)
	}
}

// claimFields are the fields that a browser would send back unchanged.
func claimFields(body string) url.Values {
	form := fields(body)
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
	b := newBook(t)
	form := claimForm()
	form.Set("factor", "facing")
	got := b.post("/claims/"+newID(t).String(), form)
	if got.status != http.StatusUnprocessableEntity || !strings.Contains(got.body, "Choose the facing that the claim is about") || !strings.Contains(got.body, `value="down"`) {
		t.Errorf("status %d, saying %s", got.status, complaints(got.body))
	}
	form.Set("factor", "tag-length")
	form.Del("given")
	id := newID(t)
	if got := b.post("/claims/"+id.String(), form); got.status != http.StatusSeeOther {
		t.Fatalf("status %d, saying %s", got.status, complaints(got.body))
	}
	if c, err := b.store.ClaimByID(t.Context(), id); err != nil || c.Level != nil || c.Versus != nil {
		t.Errorf("stored %+v, %v", c, err)
	}
}

func TestAClaimIsRetiredAndPutBack(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	c := journal.StartingClaims()[0]
	at := "/claims/" + c.ID.String()
	if got := b.post(at+"/retire", nil); got.header.Get("Location") != "/claims?done=claim-retired" {
		t.Fatalf("retiring: status %d", got.status)
	}
	board := b.get("/claims").body
	_, retired, found := strings.Cut(board, "<h2>Retired</h2>")
	if !found || !strings.Contains(retired, c.Words) || !strings.Contains(retired, at+"/restore") || strings.Contains(board, `<li class="claim" id="`+c.ID.String()) {
		t.Error("the retired claim is not among the retired alone")
	}
	if form := b.get(at).body; !strings.Contains(form, "This claim is retired") || strings.Contains(form, "Retire this claim") {
		t.Error("its form does not say so")
	}
	if got := b.post(at+"/restore", nil); got.header.Get("Location") != "/claims?done=claim-restored" {
		t.Fatalf("restoring: status %d", got.status)
	}
	if board := b.get("/claims").body; !strings.Contains(board, `<li class="claim" id="`+c.ID.String()) {
		t.Error("it is not back on the board")
	}
}

// Every malformed claim is answered in words, with what was entered kept, and
// changes nothing.
func TestMalformedClaims(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	before := b.claims(t)
	none := "018f0000-0000-7000-8000-000000000000"
	at := "/claims/" + before[2].ID.String()
	form := func(name, says, field string, values ...string) malformed {
		f := claimForm()
		f[field] = values
		return malformed{name: name, path: "/claims/" + none, body: f.Encode(), status: http.StatusUnprocessableEntity, says: says}
	}
	for _, m := range []malformed{
		form("no words", "Write the claim as you would say it", "words", " "),
		form("endless words", "shorten it", "words", strings.Repeat("more ", 90)),
		form("a zero byte", "zero byte", "words", "a\x00b"),
		form("words of another", "there already", "words", "LONGER tags twist more"),
		form("no outcome", "Choose what happens", "outcome"),
		form("unknown outcome", `&#34;luck&#34; is not known`, "outcome", "luck"),
		form("no factor", "Choose what makes the difference", "factor"),
		form("unknown factor", "is not known", "factor", "moon"),
		form("no direction", "choose more or less", "direction"),
		form("unknown direction", "is not known", "direction", "<up>"),
		form("no level", "Choose the junction that the claim is about", "level"),
		form("nothing to compare with", "Choose the junction to compare with", "versus"),
		form("both sides", "stands on both sides", "versus", "perfection loop"),
		form("given itself", "about junction itself", "given", "junction"),
		form("given the unknown", "is not known", "given", "luck"),
		form("given words as a line", "no number", "given", "angler:linear"),
		form("a level without end", "shorten it", "level", strings.Repeat("x", 500)),
		{name: "a form of nothing", path: at, body: "do=save", status: 422, says: "Choose what happens"},
		{name: "a refresh of nothing", path: at, body: "do=refresh", status: 200, says: "Change a claim"},
		{name: "a damaged body", path: at, body: "words=%zz&do=save", status: http.StatusBadRequest, says: "damaged"},
		{name: "a huge body", path: at, body: "words=" + strings.Repeat("x", maxBody+1), status: http.StatusRequestEntityTooLarge, says: "larger than a form can be"},
		{name: "another site", path: at + "/retire", header: map[string]string{"Sec-Fetch-Site": "cross-site"}, status: http.StatusForbidden, says: "another site"},
		{name: "changing what is not there", path: "/claims/" + none, body: "do=save&words=x", status: 404, says: "nothing at this address"},
		{name: "retiring what is not there", path: "/claims/" + none + "/retire", status: 404, says: "nothing at this address"},
		{name: "restoring what is not there", path: "/claims/" + none + "/restore", status: 404, says: "nothing at this address"},
		{name: "no id", method: http.MethodGet, path: "/claims/42", status: 404, says: "cut short"},
		{name: "unknown id", method: http.MethodGet, path: "/claims/" + none, status: 404, says: "nothing at this address"},
	} {
		got := b.send(m)
		if got.status != m.status || !strings.Contains(strings.ReplaceAll(got.body, "&#39;", "'"), m.says) {
			t.Errorf("%s: status %d, want %d, saying %q; it says %s", m.name, got.status, m.status, m.says, complaints(got.body))
		}
		for _, bad := range []string{"goroutine", ".go:", "panic", "pgx", "SQLSTATE", "%!", "<no value>", "<up>"} {
			if strings.Contains(got.body, bad) {
				t.Errorf("%s: the page holds %q", m.name, bad)
			}
		}
		if m.status == 422 && strings.Contains(m.body, "Loops") && !strings.Contains(got.body, `value="Loops tangle more than blood knots"`) {
			t.Errorf("%s: what was entered is lost", m.name)
		}
	}
	if !slices.EqualFunc(before, b.claims(t), journal.Claim.Equal) {
		t.Error("the claims were changed")
	}
	if b.log.Len() > 0 {
		t.Errorf("the log holds: %s", b.log)
	}
}

// The question behind each claim of the starting board can be asked.
func TestTheQuestionsBehindClaims(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	if err := demo.Load(t.Context(), b.store, demo.Generate(demo.Seed, 60)); err != nil {
		t.Fatal(err)
	}
	for _, c := range journal.StartingClaims() {
		address := claimQuestion(c, units.US)
		if got := b.get(address); got.status != http.StatusOK {
			t.Errorf("%s: %s: status %d, saying %s", c.Words, address, got.status, complaints(got.body))
		}
	}
}
