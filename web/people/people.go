// Package people serves the pages on which an owner lets people in and out.
package people

import (
	"errors"
	"net/http"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// pages are the pages of people.
type pages struct{ *page.Desk }

// Routes are the addresses of these pages.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	return []page.Route{
		{Pattern: "GET /people", Act: s.Framed("people", "People", s.list), For: page.ForOwner},
		{Pattern: "GET /people/invite", Act: s.Framed("people", "Invite somebody", s.inviting), For: page.ForOwner},
		{Pattern: "POST /people/invite", Act: s.Framed("people", "Invite somebody", s.invite), For: page.ForOwner},
		{Pattern: "POST /people/invitations/{id}/withdraw", Act: s.withdraw, For: page.ForOwner},
		{Pattern: "GET /people/{id}", Act: s.of(s.member), For: page.ForOwner},
		{Pattern: "POST /people/{id}", Act: s.of(s.save), For: page.ForOwner},
		{Pattern: "POST /people/{id}/back", Act: s.of(s.back), For: page.ForOwner},
		{Pattern: "POST /people/{id}/sign-out", Act: s.of(s.signOut), For: page.ForOwner},
		{Pattern: "GET /people/{id}/remove", Act: s.of(s.removing), For: page.ForOwner},
		{Pattern: "POST /people/{id}/remove", Act: s.of(s.remove), For: page.ForOwner},
	}
}

// of makes an action of one on a member.
func (s *pages) of(show func(http.ResponseWriter, *http.Request, page.Frame, journal.Member) error) page.Action {
	return page.Showing(s.Desk, "people", func(r *http.Request) (journal.Member, error) { return page.At(r, s.Store.MemberByID) },
		func(m journal.Member) string { return m.Name }, show)
}

type listPage struct {
	page.Frame
	Members     []page.Row
	Invitations []invitationRow
	Open        bool // whether others reach the journal
}

type invitationRow struct {
	ID            journal.ID
	Says, Expires string
}

// list shows who belongs to the outfit, and who is invited.
func (s *pages) list(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	members, err := s.Store.Members(r.Context())
	if err != nil {
		return err
	}
	open, err := s.Store.Invitations(r.Context())
	if err != nil {
		return err
	}
	anglers, err := s.Store.Anglers(r.Context())
	if err != nil {
		return err
	}
	p := listPage{Frame: fr, Open: s.Address != ""}
	for _, m := range members {
		more := prose.Capital(string(m.Role))
		if m.Angler != nil && anglerName(anglers, *m.Angler) != m.Name {
			more += " · fishes as " + anglerName(anglers, *m.Angler)
		}
		if isMe(fr.Who, m) {
			more += " · you"
		}
		p.Members = append(p.Members, page.Row{Href: "/people/" + m.Person.String(), Title: m.Name, More: more + " · since " + prose.Day(s.day(fr, m.Since))})
	}
	for _, i := range open {
		says := i.Name + ", " + string(i.Role)
		if i.Person != nil {
			says = "A way back for " + i.Name
		}
		p.Invitations = append(p.Invitations, invitationRow{i.ID, says, "until " + prose.Day(s.day(fr, i.ExpiresAt))})
	}
	return s.Render(w, http.StatusOK, "people", p)
}

func isMe(who journal.Who, m journal.Member) bool {
	return who.Person != nil && *who.Person == m.Person
}

func anglerName(anglers []journal.Angler, id journal.ID) string {
	for _, a := range anglers {
		if a.ID == id {
			return a.Name
		}
	}
	return ""
}

type memberPage struct {
	page.Frame
	Form    *form.Form
	Member  journal.Member
	Since   string
	Roles   []form.Option
	Anglers []form.Option
	Open    bool
}

// roles are what a person can be, as an owner chooses among them.
func roles() []form.Option {
	return form.Pairs("client", "Client: sees their own", "guide", "Guide: sees all sessions", "owner", "Owner: may do everything")
}

// member shows one person of the outfit.
func (s *pages) member(w http.ResponseWriter, r *http.Request, fr page.Frame, m journal.Member) error {
	return s.showMember(w, r, http.StatusOK, memberPage{Frame: fr, Form: memberForm(fr, m), Member: m})
}

// memberForm says what a member is.
func memberForm(fr page.Frame, m journal.Member) *form.Form {
	f := form.New(fr.Units)
	f.Set("name", m.Name)
	f.Set("role", string(m.Role))
	if m.Angler != nil {
		f.Set("angler", m.Angler.String())
	}
	return f
}

func (s *pages) showMember(w http.ResponseWriter, r *http.Request, status int, p memberPage) error {
	anglers, err := s.Store.Anglers(r.Context())
	if err != nil {
		return err
	}
	p.Anglers, p.Open = form.Offer("Nobody among the anglers", p.Form.Fishing("angler", anglers), form.Angler), s.Address != ""
	p.Since, p.Roles = prose.Day(s.day(p.Frame, p.Member.Since)), roles()
	return s.Render(w, status, "member", p)
}

// save takes what a member is to be from now on.
func (s *pages) save(w http.ResponseWriter, r *http.Request, fr page.Frame, m journal.Member) error {
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	said := journal.Member{Person: m.Person, Name: f.Text("name"), Role: journal.Role(f.Text("role")), Angler: f.ID("angler")}
	return page.Saving{
		Form:  f,
		Store: func() (string, error) { return "/people?done=member-saved", s.Store.ChangeMember(r.Context(), said) },
		Again: func(status int) error {
			return s.showMember(w, r, status, memberPage{Frame: fr, Form: f, Member: m})
		},
	}.Do(w, r)
}

// refuseMember shows a member's page again with why something was not done.
func (s *pages) refuseMember(w http.ResponseWriter, r *http.Request, fr page.Frame, m journal.Member, why *journal.Invalid) error {
	f := memberForm(fr, m)
	f.Refuse(why)
	return s.showMember(w, r, http.StatusUnprocessableEntity, memberPage{Frame: fr, Form: f, Member: m})
}

// signOut ends all of a member's sign-ins.
func (s *pages) signOut(w http.ResponseWriter, r *http.Request, fr page.Frame, m journal.Member) error {
	err := s.Store.SignOutMember(r.Context(), m.Person)
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		return s.refuseMember(w, r, fr, m, invalid)
	case err != nil:
		return err
	}
	return page.See(w, r, "/people?done=member-out")
}

type removePage struct {
	page.Frame
	Form     *form.Form
	Member   journal.Member
	Sessions string // how many the angler has; "" where the member is none
	Me       bool
}

// removing asks what is to become of a member's sessions.
func (s *pages) removing(w http.ResponseWriter, r *http.Request, fr page.Frame, m journal.Member) error {
	return s.askRemoval(w, r, http.StatusOK, fr, m, form.New(fr.Units))
}

func (s *pages) askRemoval(w http.ResponseWriter, r *http.Request, status int, fr page.Frame, m journal.Member, f *form.Form) error {
	fr.Title = "Remove " + m.Name
	p := removePage{Frame: fr, Form: f, Member: m, Me: isMe(fr.Who, m)}
	if m.Angler != nil {
		_, n, err := s.Store.SessionLines(r.Context(), journal.SessionFilter{Angler: m.Angler, Limit: 1})
		if err != nil {
			return err
		}
		p.Sessions = prose.Plural(n, "session", "sessions")
	}
	return s.Render(w, status, "memberremove", p)
}

// remove takes a member out.
func (s *pages) remove(w http.ResponseWriter, r *http.Request, fr page.Frame, m journal.Member) error {
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	how := journal.Removal(f.Text("how"))
	return page.Saving{
		Form: f,
		Store: func() (string, error) {
			return "/people?done=member-removed", s.Store.RemoveMember(r.Context(), m.Person, how)
		},
		Again: func(status int) error { return s.askRemoval(w, r, status, fr, m, f) },
	}.Do(w, r)
}
