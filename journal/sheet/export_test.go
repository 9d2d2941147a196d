package sheet

import "rigtally/journal"

// HeldStint is a stint that the good rows make, with what they say of its session.
type HeldStint struct {
	Day           journal.Date
	Angler, Water string
	Row           int
	Rig           journal.Rig
	Stint         journal.Stint
}

// Held lists the stints that an import would write, before names are looked up.
func (s *Sheet) Held() ([]HeldStint, error) {
	var list []HeldStint
	for _, o := range s.outings {
		session, err := o.session("UTC")
		if err != nil {
			return nil, err
		}
		for i, st := range o.stints {
			list = append(list, HeldStint{session.Day, o.head.Angler, o.head.Water, st.rows[0].number, *st.rig, session.Stints[i]})
		}
	}
	return list, nil
}

// Sentence tells how a column's cells were taken.
func (r *Reading) Sentence(header string) string { return r.sentence(header) }
