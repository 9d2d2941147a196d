//go:build linux

package faults_test

import "rigtally/journal/demo"

// migrating kills while a command brings older tables up to date. The next one goes on with that.
func (r *round) migrating() {
	r.strike("migrate", "sessions", "list")
	r.goOn()
	got := r.look()
	want := demo.Generate(demo.Seed, oldSessions).Sessions
	if len(got.sessions) != len(want) {
		r.Errorf("%d sessions are there, and were %d", len(got.sessions), len(want))
	}
	for _, s := range want {
		if held := got.sessions[s.ID.String()]; !held.SaysWhat(s) {
			r.Errorf("session %s is\n%+v\nand was\n%+v", s.ID, held, s)
		}
	}
}

// firstStart kills while the first command makes the journal.
func (r *round) firstStart() {
	r.strike("first", "sessions", "list")
	r.goOn()
	r.must("log", "--angler", "Wido Marl", "--water", "Fallow Beck", "--junction", "blood", "--tag", "165 mm", "--minutes", "60", "--tangles", "1", "--notes", "first")
	if got := r.look(); got.noted("first") != 1 || len(got.sessions) != 1 {
		r.Errorf("of one session %d are there", len(got.sessions))
	}
}
