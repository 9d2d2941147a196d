package journal

// Contents is a whole journal at one moment, in an order that does not depend on
// the database: people, waters, beats, rigs, claims, bench pulls, trials and rule sets
// by id, sessions by day and id.
type Contents struct {
	Outfit   Outfit
	Anglers  []Angler
	Waters   []Water
	Rigs     []Rig
	Claims   []Claim
	Pulls    []BenchPull // those deleted too, by id
	Trials   []Trial
	RuleSets []RuleSet
	Sessions []Session
	Deleted  []DeletedSession // by id
}

// Standing says what the journal holds under a session's id.
type Standing int

// What a session may meet in the journal.
const (
	New       Standing = iota // nothing
	Same                      // the same session
	Different                 // another one, or the same since edited
	Waiting                   // one that was deleted and can still be brought back
)
