package web

import "testing"

// What is likelier a slip waits with a question. When the person says that it is so,
// it is sent again and carries that.
func TestBrowserAsksWhetherItIsSo(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	before := b.sessions(t)
	h, g := openOffline(t, phone), newGate(t, b.site)
	h.open(g.url + "/after")
	h.chip("30 min")
	for range 11 {
		h.tap(kind("twist"))
	}
	h.tap(`#save`)
	h.wait(`location.pathname === "/waiting"`)
	h.sees("Stint 1 has 11 tangles in 30 min, which is 22 an hour. Is that so?")
	h.sees("The journal asks before it takes it.")
	if n := b.sessions(t) - before; n != 0 {
		t.Fatalf("%d sessions were stored before it was said", n)
	}
	h.chip("Yes, it is so")
	h.sees("It has arrived")
	if s := b.lastLogged(t); b.sessions(t)-before != 1 || s.Stints[0].Events[0].Count != 11 {
		t.Errorf("%d sessions, the last %s", b.sessions(t)-before, inJSON(s))
	}
}
