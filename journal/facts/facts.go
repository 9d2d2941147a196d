// Package facts keeps an outfit's journal in memory, in columns, and answers questions from it.
package facts

import (
	"math"
	"slices"
	"time"
	"unsafe"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// Facts is an outfit's journal in columns, as it was at one revision: what questions are
// answered from. It never changes, and may be read by several goroutines at once; a
// Builder makes the next one of it, which shares all that stayed the same.
//
// Stints lie session by session, flies stint by stint, point first, and spells of tags fly by fly,
// so that a question walks through memory in order and meets each session once.
type Facts struct {
	Revision int64

	anglers []journal.Angler
	waters  []journal.Water
	beats   []string // names
	zones   []string
	rigs    []factRig
	lengths []float64 // of tags, mm, by code
	values  []float64 // every other number, by code

	sessions []factSession
	gauged   []factGauged // by session; those beyond its end have nothing of a gauge
	gone     []uint64     // a bit for each session that was replaced or taken out
	stints   []factStint
	flies    []int32 // code of the tag's length as noted for the stint, unknown when as tied
	spells   []factSpell
	shares   []int32 // of the stint's time, by spell: codes of values
	parts    []int32 // counts of spells, which may be shares of events of unknown moment: codes of values
	partOf   []uint8 // which Count each part is

	ofStint, ofFly tallies
	moments        []moment // session by session

	index *factIndex // for the builder of the next facts
}

// unknown is the code of what was not noted.
const unknown = -1

// never stands for a moment that was not noted.
const never = math.MaxInt32

// factRig is a rig with the codes of its tags as tied, by place in its positions.
type factRig struct {
	journal.Rig
	tied []int32
}

// factSession is a session but for its stints, which are those from stint up to end.
type factSession struct {
	id                          journal.ID
	angler, water, beat         int32
	stint, end                  int32 // of its stints
	spell                       int32 // the first one
	day                         packedDay
	start                       int32 // minutes since 1970, never when not noted
	logged                      int64 // Unix microseconds
	flow, temp, depth, velocity int32 // codes of values, unknown when not noted
	moment                      int32 // the first one
	zone                        uint16
	storm                       bool
	trends                      uint8 // places in gauge.Trends from 1, 0 where no gauge tells: of 6 hours in the low half, of 24 in the high
}

// factGauged is what a gauge alone tells of a session: codes of values.
type factGauged struct{ percentile, peak int32 }

// gaugedOf is what a gauge tells of a session.
func (f *Facts) gaugedOf(session int) factGauged {
	if session >= len(f.gauged) {
		return factGauged{unknown, unknown}
	}
	return f.gauged[session]
}

// reaching lengthens a column by sessions of which no gauge tells.
func reaching(list []factGauged, sessions int) []factGauged {
	for len(list) < sessions {
		list = append(list, factGauged{unknown, unknown})
	}
	return list
}

// packedDay is a day in four bytes, which sorts as days do.
type packedDay int32

func packDay(d journal.Date) packedDay { return packedDay(d.Year<<9 | int(d.Month)<<5 | d.Day) }

func (p packedDay) date() journal.Date {
	return journal.Date{Year: int(p >> 9), Month: time.Month(p >> 5 & 15), Day: int(p & 31)}
}

// factStint is a stint; its flies are those from fly on, as many as its rig has positions.
type factStint struct {
	rig, fly int32
	seconds  int32 // unknown when not noted
	recorded journal.Recorded
	stroke   uint8 // place in Strokes from 1, 0 when not noted
}

// factSpell is a part of a stint through which a tag kept its length. Its counts are
// the parts from part up to the next spell's.
type factSpell struct{ fly, length, part int32 }

// The counts that questions read, of spells of tags, of flies and of whole stints.
var (
	spellCounts = []journal.Count{journal.CountHookups, journal.CountFoul, journal.CountLanded, journal.CountFairLost, journal.CountBrokeOff, journal.CountBrokeJunction, journal.CountBrokeTag, journal.CountTangles, journal.CountTwists,
		journal.CountUntimed, journal.CountChecks, journal.CountTurns, journal.CountMinutesLost, journal.CountLoads}
	flyCounts   = append(slices.Clone(spellCounts), journal.CountFlyChanges, journal.CountReties)
	stintCounts = append(slices.Clone(spellCounts), journal.CountReties, journal.CountHookingUntold, journal.CountKindUntold, journal.CountPlaceUntold)
)

// tallies are whole counts of rows, most of them none or few, in half a byte each; those beyond
// it stand apart. Two facts may share them, so that what one adds begins at an even row, in a byte of its own.
type tallies struct {
	small [len(journal.Counts{})][]uint8 // two rows a byte, the even one low
	large []largeTally                   // in order of their rows
}

type largeTally struct {
	row   int32
	count journal.Count
	n     int32
}

// beyond marks a count that stands apart.
const beyond = 15

// at is a count of a row; counts that are not kept are none.
func (t *tallies) at(c journal.Count, row int32) float64 {
	column := t.small[c]
	if column == nil {
		return 0
	}
	if n := column[row>>1] >> (row & 1 * 4) & beyond; n < beyond {
		return float64(n)
	}
	return t.apart(c, row)
}

// apart is a count that stands apart.
func (t *tallies) apart(c journal.Count, row int32) float64 {
	from, _ := slices.BinarySearchFunc(t.large, row, func(l largeTally, row int32) int { return int(l.row) - int(row) })
	for _, l := range t.large[from:] {
		if l.row != row {
			break
		}
		if l.count == c {
			return float64(l.n)
		}
	}
	return 0
}

// set puts a count of a row, which has none yet.
func (t *tallies) set(c journal.Count, row int32, n uint8) { t.small[c][row>>1] |= n << (row & 1 * 4) }

// sum adds some counts of a row up.
func (t *tallies) sum(counts []journal.Count, row int32) float64 {
	n := 0.0
	for _, c := range counts {
		n += t.at(c, row)
	}
	return n
}

// partsOf are the first count of a spell and the first of the next.
func (f *Facts) partsOf(spell int) (from, to int32) {
	if to = int32(len(f.parts)); spell+1 < len(f.spells) {
		to = f.spells[spell+1].part
	}
	return f.spells[spell].part, to
}

// sumOfSpell adds some counts of a spell up.
func (f *Facts) sumOfSpell(counts []journal.Count, spell int) float64 {
	n := 0.0
	for from, to := f.partsOf(spell); from < to; from++ {
		if slices.Contains(counts, journal.Count(f.partOf[from])) {
			n += f.values[f.parts[from]]
		}
	}
	return n
}

// stintsOf are the first stint of a session and the one after its last.
func (f *Facts) stintsOf(session int) (from, to int32) {
	return f.sessions[session].stint, f.sessions[session].end
}

// isGone reports whether a session is in the journal no more.
func (f *Facts) isGone(session int) bool { return f.gone[session/64]&(1<<(session%64)) != 0 }

// hours of a stint, NaN when they were not noted.
func (st factStint) hours() float64 {
	if st.seconds == unknown {
		return math.NaN()
	}
	return float64(st.seconds) / 3600
}

// minutes of a stint, nil when they were not noted.
func (st factStint) minutes() *float64 {
	if st.seconds == unknown {
		return nil
	}
	return new(float64(st.seconds) / 60)
}

// strokeWord is the stroke, "" when not noted.
func (st factStint) strokeWord() journal.Stroke {
	if st.stroke == 0 {
		return ""
	}
	return journal.Strokes()[st.stroke-1]
}

// place puts a session into a setting.
func (f *Facts) place(s *journal.Setting, session int) {
	se := &f.sessions[session]
	s.Angler, s.Water, s.Beat, s.Day = f.anglers[se.angler].Name, f.waters[se.water].Name, "", se.day.date()
	if se.beat != unknown {
		s.Beat = f.beats[se.beat]
	}
	s.FlowM3S, s.WaterTempC = f.value(se.flow), f.value(se.temp)
	gauged := f.gaugedOf(session)
	s.FlowPercentile, s.TempPeakC = f.value(gauged.percentile), f.value(gauged.peak)
	s.Trend6H, s.Trend24H = trendWord(se.trends&15), trendWord(se.trends>>4)
}

// value is a number by its code, nil where it was not noted.
func (f *Facts) value(code int32) *float64 {
	if code == unknown {
		return nil
	}
	return &f.values[code]
}

// trends are whether water rose or fell, in gauge.Trends' order.
var trends = gauge.Trends()

func trendCode(t gauge.Trend) uint8 { return uint8(slices.Index(trends, t) + 1) }

func trendWord(code uint8) gauge.Trend {
	if code == 0 {
		return ""
	}
	return trends[code-1]
}

// Sessions is how many sessions the facts hold, and Stints how many stints.
func (f *Facts) Sessions() int {
	n := 0
	for s := range f.sessions {
		if !f.isGone(s) {
			n++
		}
	}
	return n
}

// Outdated reports whether so many changed sessions are better read together with all others: they
// are most of them, or most of what is held is in the journal no more.
func (f *Facts) Outdated(changed int) bool {
	const slack = 1000
	return 2*changed > len(f.sessions) || len(f.sessions) > 2*f.Sessions()+slack
}

// Stints is how many stints the facts hold.
func (f *Facts) Stints() int {
	n := 0
	for s := range f.sessions {
		if !f.isGone(s) {
			from, to := f.stintsOf(s)
			n += int(to - from)
		}
	}
	return n
}

// Bytes is how much memory the columns take, roughly: rigs and names are few.
func (f *Facts) Bytes() int {
	n := cap(f.sessions)*int(unsafe.Sizeof(factSession{})) + cap(f.gauged)*int(unsafe.Sizeof(factGauged{})) + cap(f.stints)*int(unsafe.Sizeof(factStint{})) + cap(f.flies)*4 +
		cap(f.spells)*int(unsafe.Sizeof(factSpell{})) + cap(f.moments)*4 + cap(f.shares)*4 + cap(f.parts)*5 + (cap(f.lengths)+cap(f.values)+cap(f.gone))*8 + f.index.bytes()
	for _, t := range []*tallies{&f.ofStint, &f.ofFly} {
		for _, column := range t.small {
			n += cap(column)
		}
		n += cap(t.large) * int(unsafe.Sizeof(largeTally{}))
	}
	return n
}
