package charts

import (
	"math"
	"slices"
	"strconv"

	echarts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"

	"rigtally/analytics/claim"
	"rigtally/prose"
)

// Looks of a claim on the board; those that speak against it are square.
const (
	LookAgainst      = "against"
	LookLeansAgainst = "leans-against"
)

// standings in the order of the key, with their looks.
var standings = []struct {
	look     string
	standing claim.Standing
}{{LookDiffers, claim.Holds}, {LookLeans, claim.LeansFor}, {LookOpen, claim.OpenStill}, {LookLeansAgainst, claim.LeansOther}, {LookAgainst, claim.HoldsNot}}

// Board draws every claim on the board that has a ratio with its 95% interval, on
// an axis on which twice and half lie equally far from 1.
func Board(b claim.Board) Chart {
	most := 0.0
	for _, a := range b.Claims {
		most = math.Max(most, a.Total.Hours)
	}
	var rows []Row
	var marks []Mark
	reach := 1.0
	for _, a := range b.Claims {
		rows = append(rows, Row{Name: a.Claim.Words, Note: string(a.Standing)})
		if a.Ratio == nil || *a.Ratio <= 0 {
			continue
		}
		radius := float64(leastRadius + 2)
		m := Mark{Name: a.Claim.Words, Value: []*float64{a.Ratio, finite(float64(len(rows) - 1)), positive(a.Low), a.High, &radius, nil},
			Label: prose.Ratio(*a.Ratio), Look: lookOf(a.Standing), Note: prose.Hours(a.Total.Hours)}
		if most > 0 {
			m.Share = finite(a.Total.Hours / most)
		}
		reach = math.Max(reach, math.Ceil(math.Abs(math.Log2(*a.Ratio))))
		marks = append(marks, m)
	}
	reach = math.Min(reach+1, widest)
	one := Mark{Name: "no difference", Value: []*float64{finite(1), finite(0)}}
	return Chart{
		Key:    boardKey(marks),
		Drawn:  len(marks),
		Ratios: true,
		Rows:   rows,
		Behind: "Hours",
		Height: aboveRows + boardRow*len(rows) + belowRows,
		Option: Option{
			Grid:  []opts.Grid{{Top: strconv.Itoa(aboveRows), Bottom: strconv.Itoa(belowRows)}},
			XAxis: []opts.XAxis{{Type: "log", Min: math.Exp2(-reach), Max: math.Exp2(reach)}},
			YAxis: []opts.YAxis{{Type: "category", Inverse: opts.Bool(true), Data: numbered(len(rows))}},
			Series: []echarts.SingleSeries{
				{Type: types.ChartCustom, Id: ShapeLevel, Data: []Mark{one}},
				{Type: types.ChartCustom, Id: ShapeInterval, Data: marks},
			},
		},
	}
}

// boardRow has room for a claim in three lines, in px.
const boardRow = 76

func lookOf(s claim.Standing) string {
	i := slices.IndexFunc(standings, func(x struct {
		look     string
		standing claim.Standing
	}) bool {
		return x.standing == s
	})
	if i < 0 {
		return LookOpen
	}
	return standings[i].look
}

func boardKey(marks []Mark) []Key {
	var list []Key
	for _, s := range standings {
		if slices.ContainsFunc(marks, func(m Mark) bool { return m.Look == s.look }) {
			list = append(list, Key{s.look, string(s.standing)})
		}
	}
	return list
}

// positive is a ratio that an axis of ratios can show.
func positive(v *float64) *float64 {
	if v != nil && *v <= 0 {
		return finite(math.Exp2(-2 * widest))
	}
	return v
}
