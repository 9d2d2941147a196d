package facts

import (
	"cmp"
	"math"
	"slices"

	"rigtally/journal"
)

// moment is when something went wrong in a session, in four bytes, which sort by stint and minute: the stint's number, the
// minute in it, a bit for each of momentCounts, and how often.
type moment uint32

const (
	whatBits, timesBits, minuteBits = 7, 6, 11
	mostTimes                       = 1<<timesBits - 1
	mostStints                      = 1<<(32-minuteBits-whatBits-timesBits) - 1
)

// momentCounts are the counts of which facts keep the moments.
var momentCounts = [whatBits]journal.Count{journal.CountTangles, journal.CountTwists, journal.CountFoul, journal.CountFairLost, journal.CountBrokeOff,
	journal.CountBrokeJunction, journal.CountBrokeTag}

func (m moment) stint() int  { return int(m >> (minuteBits + whatBits + timesBits)) }
func (m moment) minute() int { return int(m >> (whatBits + timesBits) & (1<<minuteBits - 1)) }
func (m moment) times() int  { return int(m & mostTimes) }

// of reports whether it is of one of some counts, by their bits.
func (m moment) of(bits moment) bool { return m&bits != 0 }

// bitsOf are the bits of those counts that some condition holds for.
func bitsOf(is func(journal.Count) bool) (bits moment) {
	for i, c := range momentCounts {
		if is(c) {
			bits |= 1 << (timesBits + i)
		}
	}
	return bits
}

// readMoment is a moment as it came, with its session's place.
type readMoment struct {
	session int32
	moment
}

// Moment takes an event of which the minute in its stint is known. All stints have been taken by then.
func (b *Builder) Moment(stint journal.ID, minute int, e journal.Event) {
	if b.place == nil && b.err == nil {
		b.arrange()
	}
	n, ok := b.rows.known(stint)
	if !ok || b.err != nil {
		b.fail("stint %s: an event of it came before it", stint)
		return
	}
	row := b.place[n]
	session := b.sessionOf(row)
	counts := e.Counts()
	ordinal := row - b.part.sessions[session].stint + 1
	what := bitsOf(func(c journal.Count) bool { return counts[c] > 0 })
	if what == 0 || ordinal > mostStints {
		return
	}
	m := moment(ordinal)<<(minuteBits+whatBits+timesBits) | moment(minute)<<(whatBits+timesBits) | what
	for left := e.Count; left > 0; left -= mostTimes {
		b.moments = append(b.moments, readMoment{session, m | moment(min(left, mostTimes))})
	}
}

// sessionOf is the place of the session of a new stint.
func (b *Builder) sessionOf(row int32) int32 {
	at, _ := slices.BinarySearchFunc(b.part.sessions, row, func(s factSession, row int32) int {
		if s.end <= row {
			return -1
		}
		return 1
	})
	return int32(at)
}

// arrangeMoments puts the moments read into order.
func (b *Builder) arrangeMoments() {
	slices.SortFunc(b.moments, func(x, y readMoment) int {
		return cmp.Or(cmp.Compare(x.session, y.session), cmp.Compare(x.moment, y.moment))
	})
	p := &b.part
	p.moments = withRoom[moment](len(b.moments))
	at := 0
	for i := range p.sessions {
		p.sessions[i].moment = int32(at)
		for ; at < len(b.moments) && b.moments[at].session == int32(i); at++ {
			p.moments[at] = b.moments[at].moment
		}
	}
	b.moments = nil
}

// momentsOf are the moments of a session.
func (f *Facts) momentsOf(session int) []moment {
	to := len(f.moments)
	if session+1 < len(f.sessions) {
		to = int(f.sessions[session+1].moment)
	}
	return f.moments[f.sessions[session].moment:to]
}

// notedCuts reports whether the shares of a stint's time that a tag had each length come from the minutes of its cuts: they
// are whole minutes, and not just alike, as they are where the moments are not known.
func notedCuts(shares []float64, minutes float64) bool {
	const near = 1e-6
	alike, at := true, 0.0
	for _, share := range shares[:len(shares)-1] {
		alike = alike && math.Abs(share-shares[len(shares)-1]) < near
		if at += share * minutes; math.Abs(at-math.Round(at)) > near {
			return false
		}
	}
	return !alike
}
