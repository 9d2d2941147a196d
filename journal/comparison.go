package journal

// Comparison is what an outfit shows its clients of itself for a week: the same to each of them.
type Comparison struct {
	Week  Date // its Monday
	Shown map[string]float64
	Basis map[string]map[ID]Part // what each angler has in what is shown; no client sees it
}

// Part is what one angler has in a number of a comparison.
type Part struct {
	Count float64 `json:"count"` // of what is told
	Base  float64 `json:"base"`  // against which it is told
	Hours float64 `json:"hours"`
}
