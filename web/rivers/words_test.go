package rivers

import (
	"testing"
	"time"
)

func TestAgo(t *testing.T) {
	t.Parallel()
	for d, want := range map[time.Duration]string{
		-34 * time.Hour:  "34 hours ahead of now",
		20 * time.Second: "just now",
		50 * time.Minute: "50 minutes ago",
		60 * time.Minute: "1 hour ago",
		48 * time.Hour:   "2 days ago",
	} {
		if got := ago(d); got != want {
			t.Errorf("%v is %q, want %q", d, got, want)
		}
	}
}
