package web

import (
	"net/http"
	"strings"
	"testing"

	"rigtally/journal"
)

// Whatever stands in the way of a session, the form shows all that was typed again.
func TestNothingTypedIsLost(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	typed := fields(b.get("/log").body)
	typed.Set("do", "save")
	typed.Set("angler.new", "Odo of the long name")
	typed.Set("notes", "Rain from noon on.")
	typed.Set(stintName(0, "minutes"), "2")
	typed.Set(stintName(0, "at.all.landed"), "3")
	shows := func(what string, got answer, status int, says string) {
		t.Helper()
		if got.status != status || !strings.Contains(got.body, says) {
			t.Errorf("%s: status %d, want %d saying %q: %s", what, got.status, status, says, complaints(got.body))
		}
		again := fields(got.body)
		for _, name := range []string{"angler.new", "notes", stintName(0, "minutes"), stintName(0, "at.all.landed"), "id"} {
			if again.Get(name) != typed.Get(name) {
				t.Errorf("%s: %s is %q, not %q", what, name, again.Get(name), typed.Get(name))
			}
		}
	}
	anglers := func() int {
		list, _ := b.store.Anglers(t.Context())
		return len(list)
	}
	before := anglers()
	shows("doubt", b.post("/log", typed), http.StatusUnprocessableEntity, "Stint 1 lasts less than 3 minutes. Is that so?")
	if anglers() != before {
		t.Error("a session that was not stored left an angler behind")
	}
	typed.Set("confirmed", "yes")
	if got := b.post("/log", typed); got.status != http.StatusSeeOther {
		t.Fatalf("confirmed: status %d: %s", got.status, complaints(got.body))
	}
	at := "/sessions/" + typed.Get("id")
	edit := fields(b.get(at + "/edit").body)
	edit.Set("do", "save")
	id, _ := journal.ParseID(typed.Get("id"))
	other, err := b.store.SessionByID(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	other.Notes = "Sun from noon on."
	if _, err := b.store.SaveSession(t.Context(), other); err != nil {
		t.Fatal(err)
	}
	typed = edit
	typed.Set("notes", "Hail from noon on.")
	shows("conflict", b.post(at+"/edit", typed), http.StatusConflict, "version 2, yours began from 1")
	if err := b.store.DeleteSession(t.Context(), id, 2); err != nil {
		t.Fatal(err)
	}
	shows("deleted", b.post(at+"/edit", typed), http.StatusConflict, "was deleted meanwhile")
	b.store.Close()
	shows("no database", b.post(at+"/edit", typed), http.StatusServiceUnavailable, "save it again in a moment")
}
