package demo

// attribute is something about a rig that the design spreads evenly.
type attribute int

const (
	ofFamily attribute = iota // given
	ofCount                   // how many droppers; given
	ofTippet
	ofBulk
	ofFacing
	ofProp
	ofSwivel
	ofMaterial
	ofLength
	attributes

	firstDealt = ofTippet
	maxLevels  = 9 // of any attribute
)

// design is for each attribute of a rig the number of its level, or -1 where it has none.
type design struct {
	levels [attributes]int
	weight float64 // of the rig's droppers in all the time fished
}

// shares are how often each level of each dealt attribute is to come.
type shares [attributes][]float64

func weights[T any](list []share[T]) []float64 {
	out := make([]float64, len(list))
	for i, s := range list {
		out[i] = s.weight / total(list)
	}
	return out
}

// table crosses two attributes: how much each pair of levels is fished, and how
// much it would be if they were independent.
type table struct {
	cells, due [maxLevels][maxLevels]float64
	all        float64
}

// put adds to a cell and returns by how much that moves the table away from
// independence: Pearson's chi-squared, per unit of weight.
func (t *table) put(x, y int, w float64) float64 {
	off := func() float64 { return t.cells[x][y] - t.due[x][y] }
	before := off()
	t.cells[x][y] += w
	if t.due[x][y] == 0 {
		return 0
	}
	return (off()*off() - before*before) / (t.due[x][y] * t.all)
}

// balance is a set of rigs with the tables of all pairs of attributes, the
// lesser attribute first.
type balance struct {
	rigs   []*design
	tables [attributes][attributes]table
}

// even gives the rigs levels by the shares and swaps them about until each
// level of an attribute meets those of every other in due proportion. Without
// it, a dozen rigs to a junction would leave some junction with most of the
// bulky flies, and plain comparisons would mislead where none should.
func even(d dice, rigs []*design, shares shares) {
	for a := firstDealt; a < attributes; a++ {
		numbered := make([]share[int], len(shares[a]))
		for i, w := range shares[a] {
			numbered[i] = share[int]{i, w}
		}
		for i, level := range deal(d, len(rigs), numbered) {
			if rigs[i].levels[a] >= 0 {
				rigs[i].levels[a] = level
			}
		}
	}
	b := newBalance(rigs, shares)
	for range 400 * len(rigs) {
		a := firstDealt + attribute(d.IntN(int(attributes-firstDealt)))
		r, q := rigs[d.IntN(len(rigs))], rigs[d.IntN(len(rigs))]
		x, y := r.levels[a], q.levels[a]
		if x == y || x < 0 || y < 0 {
			continue
		}
		if b.move(r, a, y)+b.move(q, a, x) > 0 {
			b.move(r, a, x)
			b.move(q, a, y)
		}
	}
}

func newBalance(rigs []*design, shares shares) *balance {
	b := &balance{rigs: rigs}
	for lo := range attributes {
		for hi := max(lo+1, firstDealt); hi < attributes; hi++ {
			t := &b.tables[lo][hi]
			var given [maxLevels]float64
			for _, r := range rigs {
				if x, y := r.levels[lo], r.levels[hi]; x >= 0 && y >= 0 {
					t.cells[x][y] += r.weight
					t.all += r.weight
					given[x] += r.weight
				}
			}
			for x := range given {
				if lo >= firstDealt && x < len(shares[lo]) {
					given[x] = shares[lo][x] * t.all
				}
				for y, share := range shares[hi] {
					t.due[x][y] = given[x] * share
				}
			}
		}
	}
	return b
}

// move gives a rig another level and returns what that does to the tables together.
func (b *balance) move(r *design, a attribute, to int) float64 {
	sum := 0.0
	from := r.levels[a]
	for other, level := range r.levels {
		o := attribute(other)
		switch {
		case level < 0 || o == a:
		case o < a:
			t := &b.tables[o][a]
			sum += t.put(level, from, -r.weight) + t.put(level, to, r.weight)
		default:
			t := &b.tables[a][o]
			sum += t.put(from, level, -r.weight) + t.put(to, level, r.weight)
		}
	}
	r.levels[a] = to
	return sum
}
