package read

import (
	"cmp"
	"math"
	"time"
)

// resolve makes moments of the times of rows.
func (p *plainTable) resolve() error {
	var repeated []int // rows whose time clocks showed twice
	late := map[int]int64{}
	for i, r := range p.rows {
		switch {
		case p.daily:
		case r.known:
			p.rows[i].seconds -= 60 * int64(r.offset)
		default:
			at, err := p.either(r.wall(), r.place())
			if err != nil {
				return err
			}
			if p.rows[i].seconds = at[0].Unix(); len(at) == 2 {
				repeated = append(repeated, i)
				late[i] = at[1].Unix()
			}
		}
	}
	for len(repeated) > 0 {
		// Those of one autumn are within an hour or two of one another.
		n := 1
		for n < len(repeated) && math.Abs(float64(p.rows[repeated[n]].seconds-p.rows[repeated[0]].seconds)) < 3*3600 {
			n++
		}
		if err := p.secondPass(repeated[:n], late); err != nil {
			return err
		}
		repeated = repeated[n:]
	}
	return nil
}

// secondPass finds where the clock goes back in an hour that it showed twice. The hour must stand there twice.
func (p *plainTable) secondPass(rows []int, late map[int]int64) error {
	step := func(i int) int { return cmp.Compare(p.rows[rows[i]].seconds, p.rows[rows[i-1]].seconds) }
	down, up, back := 0, 0, -1
	for i := 1; i < len(rows); i++ {
		if step(i) > 0 {
			up++
		} else {
			down++
		}
	}
	newestFirst := down > up
	unclear := func(i int) error {
		at := p.rows[rows[i]]
		_, offset := time.Unix(at.seconds, 0).In(p.opt.Zone).Zone()
		return p.twice(wall{seconds: at.seconds + int64(offset)}, at.place())
	}
	for i := 1; i < len(rows); i++ {
		if turn := !newestFirst && step(i) <= 0 || newestFirst && step(i) >= 0; turn {
			if back >= 0 {
				return unclear(i)
			}
			back = i
		}
	}
	if back < 0 {
		return unclear(0)
	}
	for i, row := range rows {
		if (i >= back) != newestFirst {
			p.rows[row].seconds = late[row]
		}
	}
	return nil
}
