// Package names serves the pages on which anglers, waters, beats, rigs and knots are renamed, and two that are one are
// made one.
package names

import (
	"net/http"
	"net/url"
	"slices"

	"rigtally/journal"
	"rigtally/journal/near"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// pages are the pages of names.
type pages struct{ *page.Desk }

// Routes are the addresses of these pages.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	routes := []page.Route{{Pattern: "GET /names", Act: s.Framed("names", "Names", s.all)}}
	for _, k := range s.kinds() {
		at := " /names/" + k.path + "/{id}"
		routes = append(routes, page.Route{Pattern: "GET" + at, Act: s.of(k, s.show)}, page.Route{Pattern: "POST" + at, Act: s.of(k, s.change)})
	}
	return routes
}

// pair are two names that may be one's.
type pair struct{ Says, Href string }

type allPage struct {
	page.Frame
	Pairs []pair
	Lists []nameList
}

// nameList is the names of a kind.
type nameList struct {
	Title string
	Rows  []page.Link
}

// all lists every name by its kind, after those that look alike.
func (s *pages) all(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	p := allPage{Frame: fr}
	for _, k := range s.kinds() {
		list, err := k.list(r.Context())
		if err != nil {
			return err
		}
		l := nameList{Title: prose.Capital(k.noun) + "s"}
		for i, e := range list {
			if e.fixed {
				continue
			}
			l.Rows = append(l.Rows, page.Link{Href: k.page(e), Text: e.title()})
			if other, ok := alike(e, list, i); ok {
				p.Pairs = append(p.Pairs, pair{e.title() + " and " + other.name + ": the same " + k.noun + "?", k.page(e) + "?into=" + url.QueryEscape(other.id)})
			}
		}
		if len(l.Rows) > 0 {
			p.Lists = append(p.Lists, l)
		}
	}
	return s.Render(w, http.StatusOK, "names", p)
}

// alike finds what may be the same as the i-th of a list, among the ones before it and the journal's words, so that no
// pair is told twice.
func alike(e entry, list []entry, i int) (entry, bool) {
	var others []entry
	var known []string
	for j, o := range list {
		if (j < i || o.fixed) && o.place == e.place {
			others, known = append(others, o), append(known, o.name)
		}
	}
	name, ok := near.Name(e.name, known)
	if !ok {
		return e, false
	}
	return others[slices.Index(known, name)], true
}

// named is a thing among those of its kind.
type named struct {
	kind kind
	entry
	all []entry
}

func (s *pages) of(k kind, act func(http.ResponseWriter, *http.Request, page.Frame, named) error) page.Action {
	return page.Showing(s.Desk, "names", func(r *http.Request) (named, error) {
		e, all, err := k.find(r.Context(), r.PathValue("id"))
		return named{k, e, all}, err
	}, func(n named) string { return n.title() }, act)
}

type namePage struct {
	page.Frame
	Form    *form.Form
	Address string
	Noun    string
	Uses    string
	Others  []form.Option
	Confirm string // what merging would do; "" until that was asked for
}

// show shows the forms to rename a thing and to make it one with another.
func (s *pages) show(w http.ResponseWriter, r *http.Request, fr page.Frame, n named) error {
	f := form.New(fr.Units)
	f.Set("name", n.name)
	f.Set("into", r.URL.Query().Get("into"))
	return s.showForm(w, r, http.StatusOK, fr, n, f, "")
}

func (s *pages) showForm(w http.ResponseWriter, r *http.Request, status int, fr page.Frame, n named, f *form.Form, confirm string) error {
	uses, err := s.uses(r.Context(), n.entry)
	if err != nil {
		return err
	}
	p := namePage{Frame: fr, Form: f, Address: n.kind.page(n.entry), Noun: n.kind.noun, Uses: uses, Confirm: confirm}
	p.Others = append(p.Others, form.Option{Text: "Choose"})
	for _, o := range n.others() {
		p.Others = append(p.Others, form.Option{Value: o.id, Text: o.name})
	}
	return s.Render(w, status, "name", p)
}

// others are those that a thing can be made one with.
func (n named) others() []entry {
	return slices.DeleteFunc(slices.Clone(n.all), func(o entry) bool { return o.id == n.id || o.place != n.place })
}

// change renames a thing, or makes it one with another: asked for once, it is said what that does.
func (s *pages) change(w http.ResponseWriter, r *http.Request, fr page.Frame, n named) error {
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	merges := f.Text("do") != "rename"
	if merges {
		into, ok := n.into(f)
		if ok && f.Text("do") != "merge-now" {
			uses, err := s.uses(r.Context(), n.entry)
			if err != nil {
				return err
			}
			return s.showForm(w, r, http.StatusOK, fr, n, f, uses+" of “"+n.name+"” will be of “"+into.name+"”, and “"+n.name+"” goes away as a "+n.kind.noun+" of its own. It can be taken back.")
		}
	} else {
		_ = f.Filled("name", "write the new name")
	}
	return page.Saving{
		Form: f,
		Store: func() (string, error) {
			done, err := s.store(r, f, n, merges)
			return "/steps/" + done.Step.String(), err
		},
		Again: func(status int) error { return s.showForm(w, r, status, fr, n, f, "") },
	}.Do(w, r)
}

func (s *pages) store(r *http.Request, f *form.Form, n named, merges bool) (journal.Changed, error) {
	if !merges {
		return s.Store.Rename(r.Context(), n.thing, f.Text("name"))
	}
	into, _ := n.into(f)
	return s.Store.Merge(r.Context(), n.thing, into.thing)
}

// into is what a thing is to be made one with.
func (n named) into(f *form.Form) (entry, bool) {
	others := n.others()
	i := slices.IndexFunc(others, func(o entry) bool { return o.id == f.Text("into") })
	if i < 0 {
		f.Fault("into", "choose which "+n.kind.noun+" it is")
		return entry{}, false
	}
	return others[i], true
}
