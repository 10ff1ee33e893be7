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
			for _, attribute := range []string{batches.EarlierLot, batches.MadeWeek} {
				for _, cases := range []int{20, 50, 100} {
					for _, odds := range []float64{1, 3, 5, 10} {
						l := lead{attribute, cases, odds}
						rng := e.rng("batch-links", l)
						var named, other tally
						for i := range e.runs(200) {
							c, bad := l.draw(rng)
							links, err := batches.Test(ctx, []batches.Contrast{c}, uint64(i))
							if err != nil {
								return t, err
							}
							right, wrong := false, false
							for _, k := range links {
								if k.Q < 0.05 && k.Odds.Lo > 1 {
									right = right || bad(k.Value)
									wrong = wrong || !bad(k.Value)
								}
							}
							named.count(right)
							other.count(wrong)
						}
						t.add(attribute, num(cases), num(odds), num(named.of), share(named.share()), share(other.share()))
						if odds == 1 {
							any := named.share() + other.share()
							t.expect(any <= 0.06+0.22*3/sqrt(named.of), "%s, %d cases: %.4f linked to nothing", attribute, cases, any)
						}
						t.expect(attribute != batches.EarlierLot || cases < 50 || odds != 5 || named.share() >= 0.9, "%s, %d cases, odds %v: %.4f", attribute, cases, odds, named.share())
					}
				}
			}
			return t, nil
		},
	}
}
