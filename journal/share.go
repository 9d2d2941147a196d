package journal

import "time"

// Share is an angler's season shown to whoever has its link.
type Share struct {
	ID        ID
	Outfit    ID
	Angler    ID
	Season    string // the question that the season's page was asked, as in its address
	CreatedBy string
	CreatedAt time.Time
	ExpiresAt time.Time
}

// ShareDays are for how many days a season may be shared.
func ShareDays() []int { return []int{7, 30, 90} }
