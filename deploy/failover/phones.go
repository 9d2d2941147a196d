//go:build linux

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/cookiejar"
	"sync"
	"time"

	"rigtally/journal"
)

const (
	patience = 20 * time.Second // of a phone, for an answer
	pause    = time.Second      // until it tries again
)

// saved is a session for which the journal has answered.
type saved struct {
	notes      string
	sent, when time.Time // when it was sent for the last time, and answered for
}

// phones send sessions as phones do: each keeps one until the journal has answered that it holds it.
type phones struct {
	pages  string
	client *http.Client

	mu      sync.Mutex
	saved   map[journal.ID]saved
	sent    map[journal.ID]bool // whether answered for or not
	refused []string            // answers that no phone should get
	waits   map[string]int      // how often it was told to try again, by why
	tries   int
}

// open lets a browser in by the address that rigtally serve prints.
func open(ctx context.Context, pages, address string) (*phones, error) {
	jar, err := cookiejar.New(nil)
	if err != nil {
		return nil, err
	}
	p := &phones{pages: pages, client: &http.Client{Jar: jar, Timeout: patience}, saved: map[journal.ID]saved{}, sent: map[journal.ID]bool{}, waits: map[string]int{}}
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		return nil, err
	}
	answer, err := p.client.Do(r)
	if err != nil {
		return nil, err
	}
	_ = answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("the pages answer %s", answer.Status)
	}
	return p, nil
}

// use is one phone, until ctx ends.
func (p *phones) use(ctx context.Context, number int) {
	for count := 1; ctx.Err() == nil; count++ {
		d := draft(number, count)
		body, err := json.Marshal(d)
		if err != nil {
			p.refuse(err.Error())
			return
		}
		p.mu.Lock()
		p.sent[d.Session.ID] = true
		p.mu.Unlock()
		for ctx.Err() == nil {
			start := time.Now()
			why := p.send(ctx, d.Session.ID, body)
			if why == "" {
				p.mu.Lock()
				p.saved[d.Session.ID] = saved{d.Session.Notes, start, time.Now()}
				p.mu.Unlock()
				break
			}
			p.mu.Lock()
			p.waits[why]++
			p.mu.Unlock()
			rest(ctx, pause)
		}
		rest(ctx, 100*time.Millisecond+rand.N(200*time.Millisecond))
	}
}

func rest(ctx context.Context, d time.Duration) {
	select {
	case <-ctx.Done():
	case <-time.After(d):
	}
}

// send sends a session, and says why it is to be sent again; "" when the journal has answered that it holds it.
func (p *phones) send(ctx context.Context, id journal.ID, body []byte) string {
	r, err := http.NewRequestWithContext(ctx, http.MethodPut, p.pages+"/api/sessions/"+id.String(), bytes.NewReader(body))
	if err != nil {
		return err.Error()
	}
	r.Header.Set("Content-Type", "application/json")
	p.mu.Lock()
	p.tries++
	p.mu.Unlock()
	answer, err := p.client.Do(r)
	if err != nil {
		return "no answer"
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	var said struct {
		Session struct{ ID journal.ID }
		Error   string
	}
	if err != nil || json.Unmarshal(text, &said) != nil {
		return "a broken answer"
	}
	if answer.StatusCode == http.StatusOK && said.Session.ID == id {
		return ""
	}
	if answer.StatusCode < 500 || answer.StatusCode == http.StatusServiceUnavailable && answer.Header.Get("Retry-After") == "" {
		p.refuse(fmt.Sprintf("%s: %s", answer.Status, text))
	}
	return said.Error
}

func (p *phones) refuse(why string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.refused = append(p.refused, why)
}

// draft is a session of a phone, with names in it as a first one has.
func draft(phone, count int) journal.Draft {
	minutes, day := 60.0, journal.DateOf(time.Now().AddDate(0, 0, -1))
	return journal.Draft{
		Session: journal.Session{ID: journal.NewID(), Day: day, TimeZone: "UTC", Notes: fmt.Sprintf("phone %d, session %d", phone, count),
			Stints: []journal.Stint{{ID: journal.NewID(), Minutes: &minutes, Recorded: journal.AllRecorded(),
				Events: []journal.Event{{Kind: journal.EventTangle, Count: 1 + count%3, TangleKind: journal.Twist}}}}},
		Angler: fmt.Sprint("Phone ", phone), Water: "Little Marrow", Confirmed: true,
		Rigs: map[int]journal.Rig{0: {Name: "One fly", Positions: []journal.RigPosition{{}}}},
	}
}

// after is how long after a moment the first session that was sent since was answered for; 0: none was.
func (p *phones) after(moment time.Time) time.Duration {
	p.mu.Lock()
	defer p.mu.Unlock()
	first := time.Duration(0)
	for _, s := range p.saved {
		if d := s.when.Sub(moment); s.sent.After(moment) && (first == 0 || d < first) {
			first = d
		}
	}
	return first
}
