package main

import (
	"context"
	"errors"

	"faultgrain/analysis/stat"
)

// A contrast compares two shares; covers tells whether its limits hold the truth for shares
// p and q. given is false where the method has no limits.
type contrast struct {
	name   string
	limits func(x1, n1, x2, n2 int) (held func(p, q float64) bool, given bool, err error)
}

func contrasts() []contrast {
	ratio := func(f func(x1, n1, x2, n2 int) (stat.Ratio, error), truth func(p, q float64) float64) func(x1, n1, x2, n2 int) (func(p, q float64) bool, bool, error) {
		return func(x1, n1, x2, n2 int) (func(p, q float64) bool, bool, error) {
			r, err := f(x1, n1, x2, n2)
			if errors.Is(err, stat.ErrNoInformation) {
				return nil, false, nil
			}
			return func(p, q float64) bool {
				v := truth(p, q)
				return r.Lo <= v && (!r.Hi.Bounded || v <= r.Hi.Value)
			}, true, err
		}
	}
	difference := func(f func(x1, n1, x2, n2 int, conf float64) (stat.Estimate, error)) func(x1, n1, x2, n2 int) (func(p, q float64) bool, bool, error) {
		return func(x1, n1, x2, n2 int) (func(p, q float64) bool, bool, error) {
			e, err := f(x1, n1, x2, n2, 0.95)
			return func(p, q float64) bool { return e.Lo <= p-q && p-q <= e.Hi }, true, err
		}
	}
	risk := func(p, q float64) float64 { return p / q }
	odds := func(p, q float64) float64 { return p / (1 - p) * (1 - q) / q }
	return []contrast{
		{"difference, Newcombe", difference(stat.ShareDifference)},
		{"difference, Newcombe corrected", difference(stat.ShareDifferenceCorrected)},
		{"risk ratio, Koopman", ratio(func(x1, n1, x2, n2 int) (stat.Ratio, error) { return stat.RiskRatioScore(x1, n1, x2, n2, 0.95) }, risk)},
		{"risk ratio, Katz", ratio(func(x1, n1, x2, n2 int) (stat.Ratio, error) { return stat.RiskRatioKatz(x1, n1, x2, n2, 0.95) }, risk)},
		{"odds ratio, exact", ratio(func(x1, n1, x2, n2 int) (stat.Ratio, error) {
			return stat.OddsRatioExact(stat.Table2{A: x1, B: n1 - x1, C: x2, D: n2 - x2}, 0.95)
		}, odds)},
		{"odds ratio, mid-p", ratio(func(x1, n1, x2, n2 int) (stat.Ratio, error) {
			return stat.OddsRatioMidP(stat.Table2{A: x1, B: n1 - x1, C: x2, D: n2 - x2}, 0.95)
		}, odds)},
	}
}

func contrastSection() Section {
	return Section{
		ID:    "contrasts",
		Title: "Two shares: coverage of differences and ratios",
		Promise: "Exact odds ratio limits never cover less than 95%. Newcombe's difference, Koopman's ratio and the mid-p " +
			"odds ratio cover 94.5% or more on average.",
		About: "Every pair of counts is listed. The first share runs over 2 to 60%, the second over 2 to 30%, in a grid of " +
			"12 by 8. Coverage is among the outcomes for which the method has limits; how often it has is in its own column " +
			"(with no case in either group no ratio exists; Katz needs one in both). Theory: Koopman near nominal, Katz " +
			"conservative and missing where counts are small, conditional exact limits conservative.",
		Run: func(ctx context.Context, _ Effort) (Table, error) {
			t := Table{Columns: []string{"method", "trials", "mean", "least", "least at shares", "limits given"}}
			for _, c := range contrasts() {
				for _, n := range [][2]int{{10, 100}, {20, 20}, {40, 120}} {
					if err := ctx.Err(); err != nil {
						return t, err
					}
					mean, least, at, given, err := c.coverage(n[0], n[1])
					if err != nil {
						return t, err
					}
					t.add(c.name, num(n[0])+" and "+num(n[1]), share(mean), share(least), share(at[0])+", "+share(at[1]), share(given))
					switch c.name {
					case "odds ratio, exact":
						t.expect(least >= 0.95-1e-9, "%s at %v trials covers %.4f", c.name, n, least)
					case "risk ratio, Katz":
					default:
						t.expect(mean >= 0.945, "%s at %v trials covers %.4f on average", c.name, n, mean)
					}
				}
			}
			return t, nil
		},
	}
}

func (c contrast) coverage(n1, n2 int) (mean, least float64, at [2]float64, given float64, err error) {
	held := make([]func(p, q float64) bool, (n1+1)*(n2+1))
	for x := 0; x <= n1; x++ {
		for y := 0; y <= n2; y++ {
			h, ok, err := c.limits(x, n1, y, n2)
			if err != nil {
				return 0, 0, at, 0, err
			}
			if ok {
				held[x*(n2+1)+y] = h
			}
		}
	}
	least = 1
	cells := 0.0
	for i := range 12 {
		p := 0.02 + 0.58*float64(i)/11
		first := binomial(n1, p)
		for j := range 8 {
			q := 0.02 + 0.28*float64(j)/7
			second := binomial(n2, q)
			var cover tally
			missing := 0.0
			for x, a := range first {
				for y, b := range second {
					if h := held[x*(n2+1)+y]; h == nil {
						missing += a * b
					} else if a*b > 1e-12 {
						cover.weigh(h(p, q), a*b)
					}
				}
			}
			cells++
			mean += cover.share()
			given += 1 - missing
			if cover.share() < least {
				least, at = cover.share(), [2]float64{p, q}
			}
		}
	}
	return mean / cells, least, at, given / cells, nil
}
