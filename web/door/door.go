// Package door decides who comes in to the pages, and how.
package door

import (
	"net/http"

	"rigtally/journal"
)

// Visitor is who has come in, and to which outfit's pages.
type Visitor struct {
	Outfit journal.ID
	Who    journal.Who
	Device journal.ID // on which a person is signed in; zero without
}

// Door decides who comes in.
type Door interface {
	// Enter tells who asks. Where ok is false it has answered the request itself: with a way in, or a refusal.
	Enter(w http.ResponseWriter, r *http.Request) (v Visitor, ok bool)
}

// Open is a door that everybody comes in by as the same visitor: for tests, and for programs that guard it themselves.
type Open Visitor

// Enter lets in whoever asks.
func (o Open) Enter(http.ResponseWriter, *http.Request) (Visitor, bool) { return Visitor(o), true }
