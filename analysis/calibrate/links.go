package main

import (
	"context"
	"fmt"
	"math/rand/v2"

	"faultgrain/analysis/batches"
)

// A lead is what the devices of an alarm share, or not: cases among four times as many others, three models.
type lead struct {
	attribute string
	cases     int
	odds      float64 // with the bad value
}

// Forty lots, of which the bad one was fitted to a fifth; two hundred made-weeks, of which four in a row are bad.
const (
	leadLots  = 40
	leadWeeks = 200
	badWeek   = 120
)

func (l lead) draw(rng *rand.Rand) (batches.Contrast, func(value string) bool) {
	c := batches.Contrast{Attribute: l.attribute}
	n, isBad := leadLots, func(v int) bool { return v == 0 }
	weight := func(v int) float64 { return 0.8 / (leadLots - 1) }
	name := func(v int) string { return fmt.Sprintf("lot %02d", v) }
	if l.attribute == batches.MadeWeek {
		n, isBad = leadWeeks, func(v int) bool { return v >= badWeek && v < badWeek+4 }
		weight = func(int) float64 { return 1.0 / leadWeeks }
		name = func(v int) string { return fmt.Sprintf("%04d-W%02d", 2022+v/50, 1+v%50) }
	}
	share := make([]float64, n)
	for v := range share {
		share[v] = weight(v)
		if l.attribute != batches.MadeWeek && isBad(v) {
			share[v] = 0.2
		}
		c.Values = append(c.Values, name(v))
	}
	for range 3 {
		c.Strata = append(c.Strata, batches.Stratum{Cases: make([]int, n), Others: make([]int, n)})
	}
	pick := func(factor float64) int {
		total := 0.0
		for v, s := range share {
			if isBad(v) {
				s *= factor
			}
			total += s
		}
		u := rng.Float64() * total
		for v, s := range share {
			if isBad(v) {
				s *= factor
			}
			if u -= s; u < 0 {
				return v
			}
		}
		return n - 1
	}
	for i := range l.cases {
		c.Strata[i%3].Cases[pick(l.odds)]++
	}
	for i := range 4 * l.cases {
		c.Strata[i%3].Others[pick(1)]++
	}
	return c, func(value string) bool {
		for v := range n {
			if isBad(v) && len(value) >= len(name(v)) && value[:len(name(v))] == name(v) {
				return true
			}
		}
		return l.attribute == batches.MadeWeek && len(value) > 8 && value[:8] <= name(badWeek+3) && value[len(value)-8:] >= name(badWeek)
	}
}

func linkSection() Section {
	return Section{
		ID:      "batch-links",
		Title:   "Batches: naming the lot or the weeks of manufacture",
		Promise: "Where nothing is to be linked, at most 6% of alarms are given a link; with 50 cases and odds of 5, a lot is named in at least 9 of 10.",
		About: "Cases in three models, four others to each. Forty lots, the bad one in a fifth of all fits; or 200 weeks of manufacture, four in a row bad. " +
			"Named means q below 0.05 for the bad lot, or a run of made-weeks that holds a bad one. Odds 1 is no link; then any link counts.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"attribute", "cases", "odds", "alarms", "named", "another named"}}
			var drawn []panel
			for _, attribute := range []string{batches.EarlierLot, batches.MadeWeek} {
				curves := map[float64][]float64{}
				for _, cases := range []int{20, 50, 100} {
					for _, odds := range []float64{1, 3, 5, 10} {
						l := lead{attribute, cases, odds}
						right, wrong := make([]bool, e.runs(200)), make([]bool, e.runs(200))
						err := each(ctx, len(right), func(ctx context.Context, i int) error {
							c, bad := l.draw(e.rng("batch-links", l, i))
							links, err := batches.Test(ctx, []batches.Contrast{c}, uint64(i))
							for _, k := range links {
								if k.Q < 0.05 && k.Odds.Lo > 1 {
									right[i] = right[i] || bad(k.Value)
									wrong[i] = wrong[i] || !bad(k.Value)
								}
							}
							return err
						})
						if err != nil {
							return t, err
						}
						of := float64(len(right))
						named, other := float64(count(right))/of, float64(count(wrong))/of
						t.add(attribute, num(cases), num(odds), num(len(right)), share(named), share(other))
						if odds == 1 {
							t.expect(named+other <= 0.06+0.22*3/sqrt(of), "%s, %d cases: %.4f linked to nothing", attribute, cases, named+other)
						}
						t.expect(attribute != batches.EarlierLot || cases < 50 || odds != 5 || named >= 0.9, "%s, %d cases, odds %v: %.4f", attribute, cases, odds, named)
						curves[odds] = append(curves[odds], named)
					}
				}
				p := panel{title: map[string]string{batches.EarlierLot: "lot of the part fitted before", batches.MadeWeek: "weeks of manufacture"}[attribute]}
				for _, odds := range []float64{3, 5, 10} {
					p.lines = append(p.lines, curve{fmt.Sprintf("odds %v", odds), curves[odds]})
				}
				drawn = append(drawn, p)
			}
			t.Figures = append(t.Figures, panels("batch-links", "Share of alarms for which the bad lot or the bad weeks of manufacture were named, by number of cases, for odds of 3, 5 and 10",
				"share named, by number of cases", []string{"20", "50", "100"}, drawn, 2))
			return t, nil
		},
	}
}
