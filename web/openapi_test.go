package web_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/gorillamux"

	"rigtally/inquiry"
	"rigtally/journal"
	"rigtally/web/page"
	"rigtally/web/webtest"
)

// described reads the description for programs and checks it by the standard
// (OpenAPI 3.0.3, as the library kin-openapi holds files against it).
func described(t *testing.T, text string) *openapi3.T {
	t.Helper()
	doc, err := openapi3.NewLoader().LoadFromData([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if err := doc.Validate(t.Context()); err != nil {
		t.Fatal(err)
	}
	return doc
}

func TestDescriptionNamesEveryAddressForPrograms(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	doc := described(t, s.Get(page.Program+"/openapi.yaml").Body)
	told := map[string]bool{}
	for path, item := range doc.Paths.Map() {
		for method := range item.Operations() {
			told[method+" "+path] = true
		}
	}
	served := map[string]bool{}
	for _, pattern := range s.Server.Patterns() {
		if _, path, _ := strings.Cut(pattern, " "); strings.HasPrefix(path, page.Program+"/") {
			served[pattern] = true
		}
	}
	if !maps.Equal(told, served) {
		t.Errorf("described: %q\nserved: %q", slices.Sorted(maps.Keys(told)), slices.Sorted(maps.Keys(served)))
	}
}

func TestDescriptionNamesEveryParameter(t *testing.T) {
	t.Parallel()
	doc := described(t, webtest.New(t).Get(page.Program+"/openapi.yaml").Body)
	for _, q := range questions() {
		about := q.Describe()
		for _, ending := range []string{"", ".csv"} {
			path := page.Program + "/" + about.Key + ending
			get := doc.Paths.Value(path).Get
			if get.Summary != about.Title {
				t.Errorf("%s is described as %q, not %q", path, get.Summary, about.Title)
			}
			left := parameters(get)
			for _, p := range about.Params {
				in := left[p.Key]
				delete(left, p.Key)
				if in == nil {
					t.Errorf("%s: nothing is said of %s", path, p.Key)
					continue
				}
				if says := strings.ToLower(strings.ReplaceAll(p.Says, "`", "")) + "."; strings.ToLower(in.Description) != says {
					t.Errorf("%s: %s is described as %q, not %q", path, p.Key, in.Description, says)
				}
				if many := p.Kind == inquiry.Many || p.Kind == inquiry.List; in.Schema.Value.Type.Is("array") != many {
					t.Errorf("%s: %s: said several times: %v, want %v", path, p.Key, !many, many)
				}
				if needed := p.Needed || p.Kind == inquiry.Argument; in.Required != needed {
					t.Errorf("%s: %s: needed %v, want %v", path, p.Key, in.Required, needed)
				}
				var words []string
				for _, word := range in.Schema.Value.Enum {
					words = append(words, word.(string))
				}
				if p.Words != nil && words != nil && !slices.Equal(words, p.Words()) {
					t.Errorf("%s: %s may be %q, want %q", path, p.Key, words, p.Words())
				}
			}
			for key := range left {
				t.Errorf("%s: no question has %s", path, key)
			}
		}
	}
}

// questions are those that have an address for programs.
func questions() []inquiry.Question {
	return []inquiry.Question{inquiry.Rates(), inquiry.Curve(), inquiry.Plan(), inquiry.Life(), inquiry.Bench(), inquiry.Beside(), inquiry.Claims(), inquiry.Next()}
}

func parameters(of *openapi3.Operation) map[string]*openapi3.Parameter {
	all := map[string]*openapi3.Parameter{}
	for _, p := range of.Parameters {
		all[p.Value.Name] = p.Value
	}
	return all
}

// What is answered holds the keys that are described and no others, of a full journal and of an empty one.
func TestAnswersAreAsDescribed(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("asks for hundreds of pages, one after the other")
	}
	full := webtest.SmallSeason(t, 60)
	empty := webtest.New(t)
	doc := described(t, empty.Get(page.Program+"/openapi.yaml").Body)
	router, err := gorillamux.NewRouter(doc)
	if err != nil {
		t.Fatal(err)
	}
	trials, err := full.Store.Trials(t.Context())
	if err != nil || len(trials) == 0 {
		t.Fatal("the journal has no trial", err)
	}
	board := full.Claims(t)
	full.Must(full.Store.RetireClaim(t.Context(), board[0].ID, board[0].Version))
	asked := []string{"season", "season?year=1990", "season?angler=Nobody", "season?names=out&waters=blurred", "known", "trials", "trials/" + trials[0].ID.String(), "trials/42",
		"rates?outcome=tangles&by=junction&by=facing&given=water", "rates?outcome=tangles&by=junction&given=angler,tag-length", "rates?outcome=none", "rates",
		"curve?outcome=tangles&given=water", "curve?outcome=tangles&over=month", "plan?anew=yes", "plan?breaks=0.2&changes=3", "plan?tangles=120mm=0.3,180mm=0.8", "plan?waste=none", "plan?least=1mm&waste=0", "plan?longest=2m",
		"life?by=facing&in=loads", "bench?by=junction", "bench?by=tippet&slips=failure", "bench-water?by=facing"}
	for _, o := range journal.Outcomes() {
		asked = append(asked, "rates?outcome="+o.Key, "rates?outcome="+o.Key+"&by=junction", "rates?outcome="+o.Key+"&by=tag-length", "curve?outcome="+o.Key)
	}
	for _, a := range []string{"Orrin", "J. Felt"} {
		asked = append(asked, "season?angler="+url.QueryEscape(a))
	}
	for _, q := range questions() {
		asked = append(asked, q.Describe().Key, q.Describe().Key+".csv")
	}
	for _, s := range []*webtest.Site{full, empty} {
		for _, query := range asked {
			r := s.Request(http.MethodGet, page.Program+"/"+query, nil)
			if err := asDescribed(t.Context(), router, r, s.Do(r)); err != nil {
				t.Errorf("%s: %v", query, err)
			}
		}
	}
}

// A session that is sent, what it is answered and every refusal are as described.
func TestSentSessionsAreAsDescribed(t *testing.T) {
	t.Parallel()
	s := webtest.SmallSeason(t, 3)
	router, err := gorillamux.NewRouter(described(t, s.Get(page.Program+"/openapi.yaml").Body))
	if err != nil {
		t.Fatal(err)
	}
	last, err := s.Store.LastSession(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	last.ID, last.Version = webtest.NewID(t), 0
	for i := range last.Stints {
		last.Stints[i].ID = webtest.NewID(t)
	}
	other := last
	other.Notes = "otherwise than before"
	for _, c := range []struct {
		name   string
		sent   any
		status int
	}{
		{"a session", journal.Draft{Session: last, Confirmed: true}, http.StatusOK},
		{"the same again", journal.Draft{Session: last, Confirmed: true}, http.StatusOK},
		{"another under its id", journal.Draft{Session: other, Confirmed: true}, http.StatusConflict},
		{"no session", map[string]any{"session": 3}, http.StatusBadRequest},
		{"a session that can't be", journal.Draft{Session: journal.Session{ID: last.ID, Day: last.Day}}, http.StatusUnprocessableEntity},
	} {
		text, err := json.Marshal(c.sent)
		if err != nil {
			t.Fatal(err)
		}
		r := s.Request(http.MethodPut, page.Program+"/sessions/"+last.ID.String(), bytes.NewReader(text))
		r.Header.Set("Content-Type", "application/json")
		got := s.Do(r)
		if got.Status != c.status {
			t.Errorf("%s: status %d, want %d: %s", c.name, got.Status, c.status, got.Body)
		}
		if err := asDescribed(t.Context(), router, r, got); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if c.status != http.StatusOK {
			continue
		}
		r.Body = io.NopCloser(bytes.NewReader(text))
		route, params, err := router.FindRoute(r)
		if err != nil {
			t.Fatal(err)
		}
		if err := openapi3filter.ValidateRequest(t.Context(), &openapi3filter.RequestValidationInput{Request: r, PathParams: params, Route: route}); err != nil {
			t.Errorf("%s is sent otherwise than described: %v", c.name, err)
		}
	}
	lines, _, err := s.Store.SessionLines(t.Context(), journal.SessionFilter{})
	if err != nil {
		t.Fatal(err)
	}
	gauged := 0
	for _, l := range append(lines, journal.SessionLine{ID: webtest.NewID(t)}) {
		r := s.Request(http.MethodGet, page.Program+"/sessions/"+l.ID.String(), nil)
		got := s.Do(r)
		if err := asDescribed(t.Context(), router, r, got); err != nil || (got.Status == http.StatusOK) != !l.Day.IsZero() {
			t.Errorf("%s: status %d, %v", l.ID, got.Status, err)
		}
		if strings.Contains(got.Body, `"quantity"`) {
			gauged++
		}
	}
	if gauged == 0 {
		t.Errorf("none of %d sessions takes anything of a gauge", len(lines))
	}
}

// A rig that is sent, what it is answered and every refusal are as described.
func TestSentRigsAreAsDescribed(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	router, err := gorillamux.NewRouter(described(t, b.Get(page.Program+"/openapi.yaml").Body))
	if err != nil {
		t.Fatal(err)
	}
	id := webtest.NewID(t).String()
	rig := func(name, more string) string {
		return `{"id":"` + id + `","name":"` + name + `","positions":[{"position":0},{"position":1,"hang":"tag","junction":"blood","tag_length_mm":140}]` + more + `}`
	}
	for _, c := range []struct {
		name, id, sent string
		status         int
	}{
		{"a rig", id, rig("At the water", ""), http.StatusOK},
		{"the same again", id, rig("At the water", ""), http.StatusOK},
		{"another under its id", id, rig("Elsewhere", `,"version":7`), http.StatusConflict},
		{"a name that is taken", webtest.NewID(t).String(), "", http.StatusUnprocessableEntity},
		{"no rig", id, `{"id":3}`, http.StatusBadRequest},
		{"at another address", webtest.NewID(t).String(), rig("At the water", ""), http.StatusBadRequest},
	} {
		if c.sent == "" {
			c.sent = strings.Replace(rig("Blood 165", ""), id, c.id, 1)
		}
		r := b.Request(http.MethodPut, page.Program+"/rigs/"+c.id, strings.NewReader(c.sent))
		r.Header.Set("Content-Type", "application/json")
		got := b.Do(r)
		if got.Status != c.status {
			t.Errorf("%s: status %d, want %d: %s", c.name, got.Status, c.status, got.Body)
		}
		if err := asDescribed(t.Context(), router, r, got); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if c.status != http.StatusOK {
			continue
		}
		r.Body = io.NopCloser(strings.NewReader(c.sent))
		route, params, err := router.FindRoute(r)
		if err != nil {
			t.Fatal(err)
		}
		if err := openapi3filter.ValidateRequest(t.Context(), &openapi3filter.RequestValidationInput{Request: r, PathParams: params, Route: route}); err != nil {
			t.Errorf("%s is sent otherwise than described: %v", c.name, err)
		}
	}
}

func asDescribed(ctx context.Context, router routers.Router, r *http.Request, got webtest.Answer) error {
	route, params, err := router.FindRoute(r)
	if err != nil {
		return err
	}
	in := &openapi3filter.RequestValidationInput{Request: r, PathParams: params, Route: route}
	return openapi3filter.ValidateResponse(ctx, &openapi3filter.ResponseValidationInput{
		RequestValidationInput: in, Status: got.Status, Header: got.Header, Body: io.NopCloser(strings.NewReader(got.Body)),
		Options: &openapi3filter.Options{IncludeResponseStatus: true},
	})
}
