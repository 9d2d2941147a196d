package seasons

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

type sharesPage struct {
	page.Frame
	Link, Until string // what was shared just now; its link is shown once
	Alone       bool   // nobody elsewhere reaches the link
	Shares      []shareRow
}

type shareRow struct{ ID, Title, More string }

// shareDays are for how long a season may be shared.
func shareDays() []form.Option {
	var list []form.Option
	for _, days := range journal.ShareDays() {
		list = append(list, form.Option{Value: strconv.Itoa(days), Text: strconv.Itoa(days) + " days", Selected: days == 30})
	}
	return list
}

// shares lists the seasons that are shared now.
func (s *pages) shares(w http.ResponseWriter, r *http.Request, f page.Frame) error {
	return s.showShares(w, r, sharesPage{Frame: f})
}

// share makes the link of an angler's season, and shows it.
func (s *pages) share(w http.ResponseWriter, r *http.Request, f page.Frame) error {
	sent, err := form.Read(r, f.Units)
	if err != nil {
		return err
	}
	asked, _ := url.ParseQuery(sent.Values.Get("season")) // of what is damaged, what can be read
	q, a, err := s.review(r.Context(), asked, f.Units)
	if err != nil {
		return err
	}
	if a.Angler == "" || a.Year == 0 {
		return page.Refuse(http.StatusUnprocessableEntity, "That is not shared", "Choose one angler’s season and share that. The whole outfit’s is not shared as a link.")
	}
	angler, err := s.Store.AnglerByName(r.Context(), a.Angler)
	if err != nil {
		return err
	}
	days, _ := strconv.Atoi(sent.Text("days")) // 0 is refused
	season := strings.TrimPrefix(q.With("angler").URL(""), "?")
	secret, until, err := s.Store.ShareSeason(r.Context(), journal.Share{Angler: angler.ID, Season: season}, days)
	if err != nil {
		return err
	}
	p := sharesPage{Frame: f, Link: s.Address + "/shared/" + secret, Until: untilDay(until, f.Outfit.TimeZone), Alone: s.Address == ""}
	if p.Alone {
		p.Link = "http://" + r.Host + p.Link
	}
	return s.showShares(w, r, p)
}

func (s *pages) showShares(w http.ResponseWriter, r *http.Request, p sharesPage) error {
	list, err := s.Store.Shares(r.Context())
	if err != nil {
		return err
	}
	anglers, err := s.Store.Anglers(r.Context())
	if err != nil {
		return err
	}
	names := map[journal.ID]string{}
	for _, a := range anglers {
		names[a.ID] = a.Name
	}
	for _, share := range list {
		title := "Season of " + names[share.Angler]
		if asked, err := url.ParseQuery(share.Season); err == nil {
			title = "Season " + asked.Get("year") + " of " + names[share.Angler]
		}
		p.Shares = append(p.Shares, shareRow{share.ID.String(), title, "shared by " + share.CreatedBy + " until " + untilDay(share.ExpiresAt, p.Outfit.TimeZone)})
	}
	return s.Render(w, http.StatusOK, "shares", p)
}

// untilDay is the day, where the outfit is, on which a link ends.
func untilDay(t time.Time, zone string) string {
	if loc, err := time.LoadLocation(zone); err == nil {
		t = t.In(loc)
	}
	return prose.Day(journal.DateOf(t))
}

// Shared shows the season that a link is about, and nothing else. The desk's store works for its angler.
func Shared(d *page.Desk, share journal.Share) page.Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		s := &pages{Desk: d}
		o, err := s.Store.Outfit(r.Context())
		if err != nil {
			return err
		}
		asked, err := url.ParseQuery(share.Season)
		if err != nil {
			return err
		}
		q, a, err := s.review(r.Context(), asked, units.System(o.Units))
		if err != nil {
			return err
		}
		if a.Year == 0 { // all of it was deleted
			return journal.ErrNotFound
		}
		return s.RenderPart(w, http.StatusOK, "shared", "shared-page", sharedPage{newReviewView(a, units.System(o.Units), q.Get("note"))})
	}
}

// sharedPage is a season by itself.
type sharedPage struct{ Review reviewView }
