package analytics

// FishedShare is the share of the exposure within whose range a best value may be named: what a
// curve does at its ends is hardly held by anything.
const FishedShare = 0.90

// FishedRange are the ends of the range of values that holds a share of the exposure, as much of the rest
// beyond the one as beyond the other: for 0.90 its 5th and 95th percentiles, each a value that was
// fished. The rug ascends, and is not empty.
func FishedRange(rug []Rug, share float64) (low, high float64) {
	total := 0.0
	for _, r := range rug {
		total += r.Exposure
	}
	const slack = 1e-9 // for what adding up rounds
	first := (1 - share) / 2 * total * (1 - slack)
	last := (1 + share) / 2 * total * (1 - slack)
	low, high = rug[0].At, rug[len(rug)-1].At
	sum, begun := 0.0, false
	for _, r := range rug {
		sum += r.Exposure
		if !begun && sum >= first {
			low, begun = r.At, true
		}
		if sum >= last {
			return low, r.At
		}
	}
	return low, high
}
