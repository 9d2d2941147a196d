package stat

import "encoding/json"

// Verdict says in words what a comparison shows.
type Verdict string

// The verdicts, strongest first.
const (
	Differs         Verdict = "differs"
	Leans           Verdict = "leans"
	SameForPractice Verdict = "same for practice"
	CannotTell      Verdict = "can't tell yet"
)

// MarshalJSON writes null where nothing was compared.
func (v Verdict) MarshalJSON() ([]byte, error) {
	if v == "" {
		return []byte("null"), nil
	}
	return json.Marshal(string(v))
}

// The limits of the verdicts. A ratio between 0.80 and 1.25 makes no
// difference worth having, the usual margin of equivalence.
const (
	differsBelow = 0.05
	leansBelow   = 0.20
	sameLow      = 0.80
	sameHigh     = 1.25
)

// Judge turns the adjusted p-value q of a comparison (AdjustBH) and the 90 %
// interval of its ratio into a verdict, the first that holds of: differs,
// q < 0.05; leans, q < 0.20; same for practice, the interval within 0.80 to
// 1.25, which is two one-sided tests at 5 % (Schuirmann 1987, Journal of
// Pharmacokinetics and Biopharmaceutics 15:657); otherwise it cannot be told
// yet. A large p alone never means "same".
func Judge(q float64, ratio90 Interval) Verdict { return JudgeWithin(q, ratio90, sameLow, sameHigh) }

// JudgeWithin is Judge with other limits between which a ratio makes no
// difference worth having.
func JudgeWithin(q float64, ratio90 Interval, low, high float64) Verdict {
	switch {
	case q < differsBelow:
		return Differs
	case q < leansBelow:
		return Leans
	case ratio90.Within(low, high):
		return SameForPractice
	default:
		return CannotTell
	}
}
