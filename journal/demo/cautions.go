package demo

import (
	"encoding/binary"

	"rigtally/journal"
)

// cautionSeed is the seed of the dice below, so that they leave what else is drawn as it is.
const cautionSeed = 5

// noteForCautions notes in some of the sessions what cautions need: how fast the
// water ran, where a depth was noted, and summer storms. All of it is invented.
func noteForCautions(sessions []journal.Session) {
	for i := range sessions {
		s := &sessions[i]
		d := newDice(cautionSeed, binary.BigEndian.Uint64(s.ID[8:]))
		slow, storm := 2*d.between(1, 3), d.chance(0.08)
		if s.DepthM != nil && s.FlowM3S != nil && d.chance(0.6) {
			speed := feet(slow) / 2
			if d.chance(0.12) {
				speed += feet(2)
			}
			s.VelocityMS = &speed
		}
		s.Storm = storm && s.Day.Month >= 6 && s.Day.Month <= 8
	}
}
