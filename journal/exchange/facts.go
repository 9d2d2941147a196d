package exchange

import "rigtally/journal"

// fact is something that the rows of a session, or of a stint, share.
type fact struct {
	key, title string // no title: nobody need be told that rows differ in it
	// take copies it from r to an empty place in head and reports whether they differ.
	take func(head, r *row) bool
}

func fieldFact[T comparable](key, title string, at func(r *row) *T) fact {
	return fact{key, title, func(head, r *row) bool {
		var none T
		to, from := at(head), at(r)
		if *to == none {
			*to = *from
		}
		return *from != none && *from != *to
	}}
}

func numberFact[T comparable](key, title string, at func(r *row) **T) fact {
	return fact{key, title, func(head, r *row) bool {
		to, from := at(head), at(r)
		if *to == nil {
			*to = *from
		}
		return *from != nil && **from != **to
	}}
}

// sessionFacts lists what holds for a session.
func sessionFacts() []fact {
	return []fact{
		fieldFact("date", "", func(r *row) *journal.Date { return &r.day }),
		fieldFact("session", "", func(r *row) *string { return &r.session }),
		fieldFact("angler", "", func(r *row) *string { return &r.angler }),
		fieldFact("water", "", func(r *row) *string { return &r.water }),
		fieldFact("guide", "the guide", func(r *row) *string { return &r.guide }),
		fieldFact("beat", "the beat", func(r *row) *string { return &r.beat }),
		fieldFact("time_zone", "the time zone", func(r *row) *string { return &r.zone }),
		numberFact("start", "the start", func(r *row) **int { return &r.start }),
		numberFact("end", "the end", func(r *row) **int { return &r.end }),
		numberFact("water_temp", "the water temperature", func(r *row) **float64 { return &r.temp }),
		numberFact("flow", "the flow", func(r *row) **float64 { return &r.flow }),
		numberFact("stage", "the stage", func(r *row) **float64 { return &r.stage }),
		numberFact("depth", "the depth", func(r *row) **float64 { return &r.depth }),
		numberFact("velocity", "the water's velocity", func(r *row) **float64 { return &r.velocity }),
		fieldFact("storm", "", func(r *row) *bool { return &r.storm }),
		fieldFact("clarity", "the clarity", func(r *row) *journal.Clarity { return &r.clarity }),
		fieldFact("wind", "the wind", func(r *row) *journal.Wind { return &r.wind }),
		fieldFact("light", "the light", func(r *row) *journal.Light { return &r.light }),
	}
}

// stintFacts lists what holds for a stint and the rig that was fished.
func stintFacts() []fact {
	return []fact{
		numberFact("minutes", "", func(r *row) **float64 { return &r.minutes }),
		numberFact("casts", "", func(r *row) **int { return &r.casts }),
		fieldFact("method", "", func(r *row) *journal.Method { return &r.method }),
		fieldFact("stroke", "", func(r *row) *journal.Stroke { return &r.stroke }),
		fieldFact("swivel", "", func(r *row) *journal.Swivel { return &r.swivel }),
		fieldFact("rig", "", func(r *row) *string { return &r.rig }),
		numberFact("rod_length", "", func(r *row) **float64 { return &r.rod }),
		numberFact("leader_length", "", func(r *row) **float64 { return &r.leader }),
		numberFact("sighter_length", "", func(r *row) **float64 { return &r.sighter }),
		numberFact("tippet_length", "", func(r *row) **float64 { return &r.level }),
	}
}
