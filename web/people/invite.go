package people

import (
	"encoding/base64"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"time"

	qr "github.com/piglig/go-qr"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

type invitePage struct {
	page.Frame
	Form    *form.Form
	Anglers []form.Option
	Roles   []form.Option
}

// inviting shows the form of an invitation, for a client unless said otherwise.
func (s *pages) inviting(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	if err := s.reached(); err != nil {
		return err
	}
	f := form.New(fr.Units)
	f.Set("role", string(journal.RoleClient))
	return s.showInvite(w, r, http.StatusOK, fr, f)
}

func (s *pages) showInvite(w http.ResponseWriter, r *http.Request, status int, fr page.Frame, f *form.Form) error {
	anglers, err := s.Store.Anglers(r.Context())
	if err != nil {
		return err
	}
	return s.Render(w, status, "invite", invitePage{fr, f, form.Offer("Nobody of these", f.Fishing("angler", anglers), form.Angler), roles()})
}

// reached refuses to invite people to a journal that they can't reach.
func (s *pages) reached() error {
	if s.Address == "" {
		return page.Refuse(http.StatusConflict, "Nobody could come in", "This journal is served to this machine alone. The README says how to serve it to phones and to others; then people can be invited.")
	}
	return nil
}

// invite makes an invitation and shows its link, this once.
func (s *pages) invite(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	if err := s.reached(); err != nil {
		return err
	}
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	i := journal.Invitation{Name: f.Text("name"), Role: journal.Role(f.Text("role")), Angler: f.ID("angler")}
	if len(f.Faults) == 0 {
		secret, err := s.Store.Invite(r.Context(), i)
		var invalid *journal.Invalid
		switch {
		case err == nil:
			return s.showLink(w, fr, "Invitation for "+i.Name, secret)
		case !errors.As(err, &invalid):
			return err
		}
		f.Refuse(invalid)
	}
	return s.showInvite(w, r, http.StatusUnprocessableEntity, fr, f)
}

// back makes a way back for a member, and shows its link.
func (s *pages) back(w http.ResponseWriter, r *http.Request, fr page.Frame, m journal.Member) error {
	if err := s.reached(); err != nil {
		return err
	}
	secret, err := s.Store.WayBack(r.Context(), m.Person)
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		return s.refuseMember(w, r, fr, m, invalid)
	case err != nil:
		return err
	}
	return s.showLink(w, fr, "A way back for "+m.Name, secret)
}

// withdraw makes an invitation useless.
func (s *pages) withdraw(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	if err := s.Store.WithdrawInvitation(r.Context(), id); err != nil {
		return err
	}
	return page.See(w, r, "/people?done=withdrawn")
}

type linkPage struct {
	page.Frame
	Link  string
	Code  template.URL // the link as a picture
	Until string
}

func (s *pages) showLink(w http.ResponseWriter, fr page.Frame, title, secret string) error {
	fr.Title = title
	link := s.Address + "/join/" + secret
	code, err := picture(link)
	if err != nil {
		return err
	}
	return s.Render(w, http.StatusOK, "invitelink", linkPage{fr, link, code, prose.Day(s.day(fr, s.Now().AddDate(0, 0, journal.InvitationDays)))})
}

// picture is a QR code of a text, dark on light whatever the page's colors, since cameras expect that; around it is
// a margin of four modules, which ISO/IEC 18004 asks for.
func picture(text string) (template.URL, error) {
	code, err := qr.EncodeText(text, qr.Medium)
	if err != nil {
		return "", fmt.Errorf("draw the link as a QR code: %w", err)
	}
	const module, margin = 4, 4
	svg, err := code.ToSVGBytes(qr.NewQrCodeImgConfig(module, module*margin, qr.WithOptimalSVG()))
	if err != nil {
		return "", fmt.Errorf("draw the link as a QR code: %w", err)
	}
	return template.URL("data:image/svg+xml;base64," + base64.StdEncoding.EncodeToString(svg)), nil
}

// day is the day of a moment where the outfit is at home.
func (s *pages) day(fr page.Frame, t time.Time) journal.Date {
	loc, err := time.LoadLocation(fr.Outfit.TimeZone)
	if err != nil {
		loc = time.UTC
	}
	return journal.DateOf(t.In(loc))
}
