package shape

// Lists finds cells of a row that hold several values where one belongs, as where two
// rigs of a day share a row: "fig 8, blood", "90/60". Flies and notes may be lists.
func Lists(names []string, row Row, u Understand, isKnot func(string) bool) []Problem { return nil }
