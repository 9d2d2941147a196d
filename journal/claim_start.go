package journal

import "time"

// startingBoard is when the claims below were written, for their order before
// any of the user's own.
var startingBoard = time.Date(2026, time.January, 1, 0, 0, 0, 0, time.UTC)

// StartingClaims lists the rules of thumb that a journal's board starts with.
// They are common practice in the trade, without a source. Their ids are the
// same in every journal, so that a backup of one can be brought into another.
func StartingClaims() []Claim {
	compared := func(words, outcome string, d Direction, factor string, level, versus []string, given ...string) Claim {
		return Claim{Words: words, Outcome: outcome, Direction: d, Factor: factor, Level: level, Versus: versus, Given: given}
	}
	growing := func(words, outcome string, d Direction, factor string, given ...string) Claim {
		return Claim{Words: words, Outcome: outcome, Direction: d, Factor: factor, Given: given}
	}
	list := []Claim{
		growing("Longer tags twist more", "twists", More, "tag-length", "angler", "water", "bulk"),
		growing("Shorter tags tangle less", "tangles", More, "tag-length", "angler", "water", "bulk"),
		compared("Bulky flies twist more than slim ones", "twists", More, "bulk", []string{"legged"}, []string{"slim"}, "angler", "water", "tag-length"),
		compared("A tag facing up breaks more at the junction than one facing down", "junction-break", More, "facing", []string{"up"}, []string{"down"}, "angler", "junction", "tippet"),
		compared("With a fly on the tag, a blood junction breaks more than a figure-eight", "junction-break", More, "junction", []string{"blood"}, []string{"figure-eight"}, "angler", "tippet"),
		growing("Finer tippet breaks more at the junction", "junction-break", Less, "tippet", "angler", "junction"),
		compared("Flies in line foul-hook more fish than flies on a tag", "foul-hook", More, "hang", []string{"eye", "bend"}, []string{"tag"}, "angler", "water"),
		compared("A prop weakens the junction", "junction-break", More, "prop", []string{"half-hitch", "overhand"}, []string{"none"}, "angler", "junction", "tippet"),
		compared("A prop keeps the tag from twisting", "twists", Less, "prop", []string{"half-hitch", "overhand"}, []string{"none"}, "angler", "water", "tag-length"),
		compared("A micro swivel lets the twists out", "twists", Less, "swivel", []string{"micro swivel"}, []string{"none"}, "angler", "water"),
		compared("An oval stroke twists more than a sidearm one", "twists", More, "stroke", []string{"oval"}, []string{"sidearm"}, "angler", "water"),
	}
	for i := range list {
		list[i].ID = startingID(i + 1)
		list[i].Source, list[i].CreatedAt = CommonPractice, startingBoard
		list[i].Normalize()
	}
	return list
}

// startingID is a UUIDv7 of the time of the starting board.
func startingID(number int) ID {
	ms := startingBoard.UnixMilli()
	id := ID{6: 0x70, 8: 0x80, 14: byte(number >> 8), 15: byte(number)}
	for i := range 6 {
		id[i] = byte(ms >> (8 * (5 - i)))
	}
	return id
}
