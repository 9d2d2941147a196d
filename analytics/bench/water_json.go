package bench

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"

	"rigtally/analytics/answer"
)

type besideJSON struct {
	Level     string   `json:"level"`
	Pulls     int      `json:"pulls"`
	Strength  float64  `json:"strength"`
	Low       *float64 `json:"strength_low"`
	High      *float64 `json:"strength_high"`
	Loads     float64  `json:"loads"`
	Breaks    float64  `json:"breaks"`
	Share     float64  `json:"share"`
	ShareLow  *float64 `json:"share_low"`
	ShareHigh *float64 `json:"share_high"`
}

// MarshalJSON writes bench and water in full precision.
func (b BesideWater) MarshalJSON() ([]byte, error) {
	out := struct {
		By      string       `json:"by"`
		Unit    StrengthOf   `json:"unit"`
		Points  []besideJSON `json:"points"`
		Missing []string     `json:"missing"`
		Agree   int          `json:"pairs_agree"`
		Against int          `json:"pairs_against"`
		P       *float64     `json:"p"`
	}{b.Factor.Key, b.Of, []besideJSON{}, append([]string{}, b.Missing...), b.Ranks.Agree, b.Ranks.Against, nil}
	if b.HasRank {
		out.P = &b.Ranks.P
	}
	for _, p := range b.Points {
		out.Points = append(out.Points, besideJSON{p.Level, p.Pulls, p.Strength, p.Low, p.High, p.Loads, p.Breaks, p.Share, p.ShareLow, p.ShareTop})
	}
	return json.Marshal(out)
}

// WriteCSV writes a header and a row for each level, in full precision.
func (b BesideWater) WriteCSV(w io.Writer) error {
	rows := [][]string{{b.Factor.Key, "unit", "pulls", "strength", "strength_low", "strength_high", "loads", "breaks", "share", "share_low", "share_high"}}
	for _, p := range b.Points {
		rows = append(rows, []string{p.Level, string(b.Of), strconv.Itoa(p.Pulls), answer.Decimal(&p.Strength), answer.Decimal(p.Low), answer.Decimal(p.High), answer.Decimal(&p.Loads), answer.Decimal(&p.Breaks), answer.Decimal(&p.Share), answer.Decimal(p.ShareLow), answer.Decimal(p.ShareTop)})
	}
	if err := csv.NewWriter(w).WriteAll(rows); err != nil {
		return fmt.Errorf("write bench and water as CSV: %w", err)
	}
	return nil
}
