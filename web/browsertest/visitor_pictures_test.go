package browsertest

import (
	"context"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/web/door"
	"rigtally/web/webtest"
)

// TestPicturesOfVisitors takes pictures of what a client, a new client, a guide and whoever has a link see.
func TestPicturesOfVisitors(t *testing.T) {
	if *picturesTo == "" {
		t.Skip("takes pictures with -pictures FOLDER; make pictures")
	}
	visitors := webtest.Visitors{}
	s := webtest.NewWith(t, visitors)
	_, err := demo.Fill(t.Context(), s.Store, demo.Generate(demo.Seed, demo.Sessions))
	s.Must(err)
	anglers := webtest.Got(s.Store.Anglers(t.Context()))(t)
	client := anglers[slices.IndexFunc(anglers, func(a journal.Angler) bool { return a.Kind == journal.Client })]
	fresh := webtest.Got(s.Store.AnglerNamed(t.Context(), "Tamsin Orrery"))(t)
	outfit := s.Store.OutfitID()
	visitors["guide"] = door.Visitor{Outfit: outfit, Who: journal.Who{Role: journal.RoleGuide, Name: "The guide"}}
	visitors["client"] = door.Visitor{Outfit: outfit, Who: journal.Who{Role: journal.RoleClient, Name: client.Name, Angler: &client.ID}}
	visitors["fresh"] = door.Visitor{Outfit: outfit, Who: journal.Who{Role: journal.RoleClient, Name: fresh.Name, Angler: &fresh.ID}}
	shared := s.As("guide").Post("/shares", url.Values{"season": {"angler=" + url.QueryEscape(client.Name)}, "days": {"30"}})
	link := regexp.MustCompile(`/(shared/[A-Za-z0-9_-]{43})"`).FindStringSubmatch(shared.Body)
	if shared.Status != http.StatusOK || link == nil {
		t.Fatalf("nothing was shared: status %d", shared.Status)
	}
	folder := filepath.Join(*picturesTo, "visitors")
	s.Must(os.MkdirAll(folder, 0o755))
	for _, scheme := range []string{"light", "dark"} {
		browser := openPlain(t, laptop, scheme == "dark")
		for _, of := range []struct {
			visitor string
			pages   []picturedPage
		}{
			{"client", []picturedPage{{name: "today"}, {name: "sessions", address: "sessions"}, {name: "session", address: "sessions", link: ".session-rows a"}, {name: "log", address: "log"}, {name: "after", address: "after"},
				{name: "season", address: "season"}, {name: "rigs", address: "rigs"}, {name: "rig", address: "rigs", link: ".rig-list a.row"}, {name: "rig-new", address: "rigs/new"}, {name: "compare", address: "compare"}, {name: "trials", address: "trials"}}},
			{"fresh", []picturedPage{{name: "today"}, {name: "sessions", address: "sessions"}, {name: "season", address: "season"}, {name: "compare", address: "compare"}}},
			{"guide", []picturedPage{{name: "today"}, {name: "shares", address: "shares"}, {name: "season", address: "season?angler=" + url.QueryEscape(client.Name)}}},
			{"nobody", []picturedPage{{name: "shared", address: link[1]}}},
		} {
			ctx, cancel := context.WithCancel(browser)
			if err := chromedp.Do(ctx, chromedp.Navigate(s.URL+"/"+link[1]), chromedp.Evaluate[chromedp.Void](`document.cookie = "visitor=`+of.visitor+`; path=/"; 0`)); err != nil {
				t.Fatal(err)
			}
			for _, p := range of.pages {
				for _, on := range []picturedScreen{picturedScreens[0], picturedScreens[3]} {
					file := strings.Join([]string{of.visitor, p.name, on.name, scheme}, "-")
					if !wanted(file) {
						continue
					}
					if picture := p.take(t, ctx, s.URL, on); picture != nil {
						s.Must(os.WriteFile(filepath.Join(folder, file+".png"), picture, 0o644))
					} else {
						t.Errorf("there is no %s", file)
					}
				}
			}
			cancel()
		}
	}
}
