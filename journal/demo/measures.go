package demo

// The measures a guide writes down in US units, as the nearest number to their
// exact value in the journal's unit, just as if they had been typed in. The
// factors are those of NIST SP 811 (2008), appendix B.8.

// quarter is a length in quarters of an inch.
type quarter int

// mm: 25.4 mm to the inch.
func (q quarter) mm() float64 { return float64(q) * 635 / 100 }

// feet in metres.
func feet(n int) float64 { return float64(n) * 3048 / 10000 }

// footMM is feet in millimetres.
func footMM(n int) float64 { return float64(n) * 3048 / 10 }

// celsius of whole °F.
func celsius(f int) float64 { return float64(f-32) * 5 / 9 }

// cubicMetres of whole cubic feet per second.
func cubicMetres(cfs int) float64 { return float64(cfs) * 28_316_846_592 / 1e12 }

// tippetMM is the diameter of an X size by the rule of eleven (common practice).
func tippetMM(x int) float64 { return float64((11-x)*254) / 10000 }
