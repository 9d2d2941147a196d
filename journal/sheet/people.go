package sheet

import (
	"cmp"
	"strings"

	"rigtally/journal"
)

// people finds or makes the anglers, waters and beats that a file names.
type people struct {
	zone    string // of new waters
	anglers map[string]*journal.Angler
	waters  map[string]*waterBook
	fresh   struct {
		anglers []*journal.Angler
		waters  []*waterBook
	}
}

type waterBook struct {
	water   journal.Water
	isNew   bool
	beats   map[string]journal.Beat
	newBeat []journal.Beat
}

func newPeople(c journal.Contents, zone string) *people {
	p := &people{zone: cmp.Or(zone, c.Outfit.TimeZone), anglers: map[string]*journal.Angler{}, waters: map[string]*waterBook{}}
	for i, a := range c.Anglers {
		p.anglers[strings.ToLower(a.Name)] = &c.Anglers[i]
	}
	for _, w := range c.Waters {
		book := &waterBook{water: w, beats: map[string]journal.Beat{}}
		for _, b := range w.Beats {
			book.beats[strings.ToLower(b.Name)] = b
		}
		p.waters[strings.ToLower(w.Name)] = book
	}
	return p
}

func (p *people) angler(name string, kind journal.AnglerKind) (journal.ID, error) {
	if a := p.anglers[strings.ToLower(name)]; a != nil {
		return a.ID, nil
	}
	id, err := journal.NewID()
	if err != nil {
		return id, err
	}
	a := &journal.Angler{ID: id, Name: name, Kind: kind, Active: true}
	p.anglers[strings.ToLower(name)] = a
	p.fresh.anglers = append(p.fresh.anglers, a)
	return id, nil
}

func (p *people) water(name string) (*waterBook, error) {
	if w := p.waters[strings.ToLower(name)]; w != nil {
		return w, nil
	}
	id, err := journal.NewID()
	if err != nil {
		return nil, err
	}
	w := &waterBook{water: journal.Water{ID: id, Name: name, Kind: journal.WaterOther, TimeZone: p.zone}, isNew: true, beats: map[string]journal.Beat{}}
	p.waters[strings.ToLower(name)] = w
	p.fresh.waters = append(p.fresh.waters, w)
	return w, nil
}

func (w *waterBook) beat(name string) (*journal.ID, error) {
	if name == "" {
		return nil, nil
	}
	b, ok := w.beats[strings.ToLower(name)]
	if !ok {
		id, err := journal.NewID()
		if err != nil {
			return nil, err
		}
		b = journal.Beat{ID: id, Name: name}
		w.beats[strings.ToLower(name)] = b
		w.newBeat = append(w.newBeat, b)
	}
	return &b.ID, nil
}

// place fills in who fished the session and where.
func (p *people) place(o *outing) (journal.Session, error) {
	w, err := p.water(o.head.Water)
	if err != nil {
		return journal.Session{}, err
	}
	s, err := o.session(w.water.TimeZone)
	if err != nil {
		return s, err
	}
	s.WaterID = w.water.ID
	if s.AnglerID, err = p.angler(o.head.Angler, journal.Client); err != nil {
		return s, err
	}
	if o.head.Guide != "" {
		guide, err := p.angler(o.head.Guide, "guide")
		if err != nil {
			return s, err
		}
		s.GuideID = &guide
	}
	s.BeatID, err = w.beat(o.head.Beat)
	return s, err
}
