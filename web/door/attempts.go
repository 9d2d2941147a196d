package door

import (
	"net/netip"
	"sync"
	"time"

	"github.com/jellydator/ttlcache/v3"
)

// attempts counts failed sign-ins, by account or by address. After some that are free each next one has to wait twice
// as long as the one before, up to a quarter of an hour, and an hour without any forgets them. Only so many names are
// remembered, so that whoever makes them up fills no memory.
type attempts struct {
	free int
	now  func() time.Time

	mu   sync.Mutex
	kept *ttlcache.Cache[string, tries]
}

// tries are those of one name.
type tries struct {
	failed int
	until  time.Time // before which no other one is looked at
}

const (
	mostNames   = 10_000
	longestWait = 15 * time.Minute
	forgotten   = time.Hour
)

func newAttempts(free int, now func() time.Time) *attempts {
	return &attempts{free: free, now: now, kept: ttlcache.New(ttlcache.WithCapacity[string, tries](mostNames), ttlcache.WithTTL[string, tries](forgotten))}
}

// begin takes a try for a name, which counts as failed until it is taken back, so that many at once gain nothing. Where
// it says how long to wait, none was taken.
func (a *attempts) begin(name string) (wait time.Duration) {
	a.mu.Lock()
	defer a.mu.Unlock()
	var t tries
	if item := a.kept.Get(name); item != nil {
		t = item.Value()
	}
	if wait := t.until.Sub(a.now()); wait > 0 {
		return wait
	}
	t.failed++
	if over := t.failed - a.free; over >= 0 {
		t.until = a.now().Add(min(longestWait, time.Second<<min(over, 20)))
	}
	a.kept.Set(name, t, ttlcache.DefaultTTL)
	return 0
}

// forget takes all tries of a name back.
func (a *attempts) forget(name string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.kept.Delete(name)
}

// giveBack takes one try of a name back, which did not fail.
func (a *attempts) giveBack(name string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if item := a.kept.Get(name); item != nil {
		a.kept.Set(name, tries{failed: item.Value().failed - 1}, ttlcache.DefaultTTL)
	}
}

// addressName is an address as tries are counted by it: those who share it fail together, in IPv6 the whole network of a household.
func addressName(at netip.Addr) string {
	if at = at.Unmap(); at.Is6() {
		if net, err := at.WithZone("").Prefix(64); err == nil {
			return net.String()
		}
	}
	return at.String()
}
