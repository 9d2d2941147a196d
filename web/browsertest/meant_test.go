package browsertest

import (
	"testing"

	"rigtally/web/webtest"
)

// Ensure that a phone asks, with and without signal, whether a new name near a known one means that one, before anything
// is begun with it, and takes either answer.
func TestBrowserAsksWhoIsMeant(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	had := b.Sessions(t)
	h := openOffline(t, phone)
	begin := func(name, page string) {
		t.Helper()
		h.open(b.URL + page)
		h.wait(`document.querySelector("#pick-angler option[value=new]")`)
		h.choose("#pick-angler", "new")
		h.types("#pick-angler-new", name)
		h.tap(`[value="live"], #start`)
		h.wait(`document.querySelector("[data-asked=angler]")`)
		h.sees("“" + name + "” is not in this journal, but “Ilse” is.")
	}
	// It means the one that is known.
	begin("Ilsse", "/")
	h.tapThe(`[...document.querySelectorAll("[data-asked] button")].find((x) => x.textContent === "Ilse")`)
	h.fishing()
	h.tap(`#end-open`)
	h.tap(`#save`)
	h.wait(`location.pathname.startsWith("/sessions/")`)
	if s := b.LastLogged(t); b.Sessions(t) != had+1 || s.AnglerID != b.Angler.ID {
		t.Errorf("Ilsse did not become Ilse")
	}
	// It is new, and is asked about once.
	h.open(b.URL + "/live")
	h.kept()
	h.airplane(true)
	begin("Ilsa", "/live")
	h.tapThe(`[...document.querySelectorAll("[data-asked] button")].find((x) => x.textContent === "Ilsa is new")`)
	h.fishing()
	h.tap(`#end-open`)
	h.tap(`#end-details`)
	h.wait(`document.querySelector("#after:not([hidden])")`)
	h.tap(`#save`)
	h.wait(`location.pathname === "/waiting"`)
	h.airplane(false)
}
