//go:build linux

package faults_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/cookiejar"
	"os"
	"regexp"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"rigtally/journal"
)

// Who saves at once, and how often something is killed meanwhile.
const (
	phones   = 3 // by the pages' server
	mostHits = 3
)

// pages are the pages as served, which the next serve replaces.
type pages struct {
	mu      sync.Mutex
	process *process
	address string
	client  *http.Client
}

func (p *pages) at() (string, *http.Client) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.address, p.client
}

// said is what serve says.
func (p *pages) said() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return lastLines(p.process.said(), 12)
}

// phone is somebody who saves sessions and keeps sending each until it is acknowledged, as phones do.
type phone struct {
	name  string
	rand  *rand.Rand
	acked []session    // as the server acknowledged each, by its latest version
	last  atomic.Int64 // when it acknowledged one last, in Unix nanoseconds
}

// draft is a new session, or now and then an edit of one that was acknowledged.
func (c *phone) draft(n int) (d journal.Draft, edits int) {
	notes := fmt.Sprintf("%s %d", c.name, n)
	if len(c.acked) > 0 && c.rand.IntN(3) == 0 {
		edits = c.rand.IntN(len(c.acked))
		d.Session = c.acked[edits]
		d.Session.Notes = notes
		return d, edits
	}
	tangles := []journal.Event{{Kind: journal.EventTangle, Count: 1 + c.rand.IntN(5)}}
	d = journal.Draft{Angler: c.name, Water: "Gansel Brook", Session: journal.Session{ID: journal.NewID(), Day: journal.Date{Year: 2026, Month: 5, Day: 1 + c.rand.IntN(28)}, TimeZone: "UTC", Notes: notes,
		Stints: []journal.Stint{{ID: journal.NewID(), Minutes: new(30 + float64(c.rand.IntN(200))), Events: tangles}}},
		Rigs: map[int]journal.Rig{0: {Name: "Phone rig", Positions: []journal.RigPosition{{Position: 0}, {Position: 1, Hang: journal.HangTag, Junction: "blood", TagLengthMM: new(165.0)}}}}}
	return d, -1
}

// send sends a session once. What it says is "" where only a failure of the answer's way was heard, and the status 0.
func (r *round) send(at *pages, d journal.Draft) (got session, status int, says string) {
	body, err := json.Marshal(d)
	if err != nil {
		r.Error(err)
		return got, 0, ""
	}
	address, client := at.at()
	request, err := http.NewRequestWithContext(r.Context(), http.MethodPut, address+"/api/sessions/"+d.Session.ID.String(), bytes.NewReader(body))
	if err != nil {
		r.Error(err)
		return got, 0, ""
	}
	request.Header.Set("Content-Type", "application/json")
	response, err := client.Do(request)
	if err != nil {
		return got, 0, err.Error()
	}
	text, err := io.ReadAll(response.Body)
	_ = response.Body.Close()
	if err != nil {
		return got, 0, err.Error()
	}
	var stored struct{ Session session }
	if response.StatusCode == http.StatusOK {
		err = json.Unmarshal(text, &stored)
	}
	if err != nil || response.StatusCode != http.StatusOK && response.StatusCode != http.StatusServiceUnavailable {
		r.Errorf("saving %s is answered with status %d: %s (%v)\nserve said: %s", d.Session.Notes, response.StatusCode, text, err, at.said())
	}
	return stored.Session, response.StatusCode, string(text)
}

// save sends a session until it is acknowledged, and returns what that says.
func (r *round) save(at *pages, d journal.Draft) (session, bool) {
	last := ""
	// Serve may have to be started again meanwhile, which has the limit too.
	for begun := time.Now(); time.Since(begun) < 2**promise && !r.Failed(); time.Sleep(20 * time.Millisecond) {
		got, status, says := r.send(at, d)
		if status == http.StatusOK {
			return got, !r.Failed()
		}
		last = says
	}
	if !r.Failed() {
		r.Errorf("saving %s is not acknowledged within %s; the last answer: %s\nProcesses:\n%s\nServer log:\n%s", d.Session.Notes, 2**promise, last, r.list(), r.serverLog())
	}
	return session{}, false
}

// keep keeps what was acknowledged.
func (c *phone) keep(got session, edits int) {
	if edits >= 0 {
		c.acked[edits] = got
	} else {
		c.acked = append(c.acked, got)
	}
}

// saves lets a phone save until the end, and checks each acknowledgement.
func (r *round) saves(c *phone, at *pages, stop <-chan struct{}) {
	for n := 0; ; n++ {
		select {
		case <-stop:
			return
		default:
		}
		d, edits := c.draft(n)
		got, ok := r.save(at, d)
		if !ok {
			return
		}
		c.last.Store(time.Now().UnixNano())
		if got.Notes != d.Session.Notes || len(got.Stints) != 1 || *got.Stints[0].Minutes != *d.Session.Stints[0].Minutes || got.Stints[0].Events[0].Count != d.Session.Stints[0].Events[0].Count || got.Version != d.Session.Version+1 {
			r.Errorf("acknowledged was\n%+v\nof what was sent:\n%+v", got, d.Session)
		}
		c.keep(got, edits)
	}
}

// logged is what was logged at a terminal, by its note: whether that was acknowledged.
type logged map[string]bool

var storedAs = regexp.MustCompile(`(?m)^Stored as `)

// logs logs at a terminal until the end. A command that fails must have met with a kill.
func (r *round) logs(stop <-chan struct{}) logged {
	sent := logged{}
	for n := 0; !r.Failed(); n++ {
		select {
		case <-stop:
			return sent
		default:
		}
		notes := fmt.Sprintf("terminal %d", n)
		p := r.start("log", "--angler", "Wido Marl", "--water", "Gansel Brook", "--junction", "blood", "--tag", "165 mm", "--minutes", "60", "--tangles", "2", "--notes", notes)
		if !r.wait(p) && !r.killedSince(p.begun.Add(-*promise)) {
			r.Errorf("%s failed, though nothing was killed: %s", p.args, p.said())
		}
		sent[notes] = storedAs.MatchString(p.said()) // what a person has read counts
	}
	return sent
}

var ready = regexp.MustCompile(`rigtally is ready at (http://\S+)/key/(\S+)`)

// serve serves the pages and lets a browser in. It tries again only if something was killed meanwhile.
func (r *round) serve(at *pages) bool {
	for {
		p := r.start("serve")
		begun := p.begun
		for ready.FindStringSubmatch(p.said()) == nil && !p.hasEnded() && time.Since(begun) < *promise {
			time.Sleep(5 * time.Millisecond)
		}
		found := ready.FindStringSubmatch(p.said())
		switch {
		case found != nil:
			jar, err := cookiejar.New(nil)
			if err != nil {
				r.Error(err)
				return false
			}
			client := &http.Client{Jar: jar, Timeout: *promise}
			if response, err := client.Get(found[1] + "/key/" + found[2]); err == nil {
				_ = response.Body.Close()
			} else if !r.killedSince(begun) {
				r.Errorf("the pages don't let anybody in: %v", err)
				return false
			}
			at.mu.Lock()
			at.process, at.address, at.client = p, found[1], client
			at.mu.Unlock()
			return true
		case !p.hasEnded():
			r.Errorf("serve is not ready within %s: %s\nProcesses:\n%s\nServer log:\n%s", *promise, p.said(), r.list(), r.serverLog())
			return false
		}
		if r.end(p); !r.killedSince(begun) {
			r.Errorf("serve ended, though nothing was killed: %s", p.said())
			return false
		}
	}
}

// saving kills while several people save by the pages and at a terminal. Pages whose server was killed are served again;
// those whose database was killed stay. Everybody must be able to save again within the limit.
func (r *round) saving() {
	at := &pages{}
	if !r.serve(at) {
		return
	}
	stop := make(chan struct{})
	var all []*phone
	var wg sync.WaitGroup
	for i := range phones {
		c := &phone{name: fmt.Sprintf("Phone %c", 'A'+i), rand: rand.New(rand.NewPCG(r.number, uint64(i+1)))}
		all = append(all, c)
		wg.Go(func() { r.saves(c, at, stop) })
	}
	var terminal logged
	wg.Go(func() { terminal = r.logs(stop) })
	for hits := 1 + r.rand.IntN(mostHits); hits > 0 && !r.Failed(); hits-- {
		r.moment(1500 * time.Millisecond)
		killed := time.Now()
		came.count(r.kind + ": killed " + r.kill())
		// Else the next kill meets with what the last one began.
		if wait := hits == 1 || r.rand.IntN(2) == 0; wait && r.savedSince(all, at, killed) {
			came.took("until each had saved again after a kill", time.Since(killed))
		}
	}
	close(stop)
	wg.Wait()
	r.must("sessions", "list")
	if at.process.hasEnded() {
		return // it could not be served again, which was said
	}
	if err := at.process.cmd.Process.Signal(os.Interrupt); err != nil {
		r.Error(err)
	}
	if !r.wait(at.process) {
		r.Errorf("serve ended with %v: %s", at.process.err, at.process.said())
	}
	r.saved(all, terminal)
}

// savedSince waits until each phone has had an acknowledgement since a moment, and serves again what was killed.
func (r *round) savedSince(all []*phone, at *pages, moment time.Time) bool {
	for begun := time.Now(); !r.Failed(); time.Sleep(5 * time.Millisecond) {
		if at.process.hasEnded() {
			if r.end(at.process); !r.killedSince(at.process.begun) {
				r.Errorf("serve ended by itself: %s", at.process.said())
				return false
			}
			if !r.serve(at) {
				return false
			}
			begun = time.Now()
		}
		if !slices.ContainsFunc(all, func(c *phone) bool { return c.last.Load() < moment.UnixNano() }) {
			return true
		}
		if time.Since(begun) > *promise {
			r.Errorf("nobody can save within %s of a kill. Serve said: %s\nProcesses:\n%s\nServer log:\n%s", *promise, at.process.said(), r.list(), r.serverLog())
			return false
		}
	}
	return false
}

// saved looks whether all is there, once, that was acknowledged, and nothing that nobody sent.
func (r *round) saved(all []*phone, terminal logged) {
	r.Helper()
	got := r.look()
	sent := 0
	for _, c := range all {
		for _, want := range c.acked {
			r.same(c.name+"'s session", got.sessions[want.ID.String()], want)
		}
		sent += len(c.acked)
	}
	for notes, acked := range terminal {
		n := got.noted(notes)
		if n > 1 || acked && n != 1 {
			r.Errorf("%q (acknowledged: %v) is there %d times", notes, acked, n)
		}
		sent += n
	}
	if n := len(got.sessions) - oldSessions; n != sent {
		r.Errorf("%d new sessions are there, and %d were sent", n, sent)
	}
	came.add("saving: sessions acknowledged and there", sent)
}
