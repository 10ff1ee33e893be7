package main

import (
	"context"
	"math"

	"faultgrain/analysis/stat"
)

type shareLimits func(x, n int, conf float64) (stat.Interval, error)

func shareSection() Section {
	return Section{
		ID:    "shares",
		Title: "Shares: coverage of 95% intervals",
		Promise: "Clopper-Pearson never covers less than 95%, nor Wilson with continuity correction. Wilson and Jeffreys " +
			"cover 95% on average over all shares (within 1 point from 10 trials on), mid-p 94.5% or more.",
		About: "Every count x of n is listed, so these are exact. Shares run from 0.5% to 99.5% in steps of 0.1%. " +
			"Theory (Brown, Cai and DasGupta 2001): Wilson averages close to nominal and dips near 0 and 1, " +
			"where its infimum is about 0.84; Jeffreys dips alike; mid-p dips less. Rare means shares up to 10%.",
		Run: func(ctx context.Context, _ Effort) (Table, error) {
			t := Table{Columns: []string{"method", "trials", "mean", "mean where rare", "least", "least at share", "mean width"}}
			for _, m := range []struct {
				name   string
				limits shareLimits
			}{
				{"Wilson", stat.Wilson}, {"Wilson, corrected", stat.WilsonCorrected}, {"Clopper-Pearson", stat.ClopperPearson},
				{"mid-p", stat.MidPShare}, {"Jeffreys", stat.Jeffreys},
			} {
				for _, n := range []int{5, 10, 20, 50, 100, 500, 2000} {
					if err := ctx.Err(); err != nil {
						return t, err
					}
					c, err := shareCoverage(m.limits, n)
					if err != nil {
						return t, err
					}
					t.add(m.name, num(n), share(c.mean), share(c.rare), share(c.least), share(c.at), share(c.width))
					switch m.name {
					case "Clopper-Pearson":
						t.expect(c.least >= 0.95-1e-9, "%s at %d trials covers %.4f", m.name, n, c.least)
					case "Wilson, corrected":
						t.expect(c.least >= 0.95-2e-4, "%s at %d trials covers %.4f", m.name, n, c.least)
					case "mid-p":
						t.expect(c.mean >= 0.945, "%s at %d trials covers %.4f on average", m.name, n, c.mean)
					default:
						t.expect(n < 10 || math.Abs(c.mean-0.95) <= 0.01, "%s at %d trials covers %.4f on average", m.name, n, c.mean)
					}
				}
			}
			return t, nil
		},
	}
}

type coverage struct{ mean, rare, least, at, width float64 }

func shareCoverage(limits shareLimits, n int) (coverage, error) {
	intervals := make([]stat.Interval, n+1)
	for x := range intervals {
		iv, err := limits(x, n, 0.95)
		if err != nil {
			return coverage{}, err
		}
		intervals[x] = iv
	}
	c := coverage{least: 1}
	var all, rare float64
	for p := 0.005; p < 0.9951; p += 0.001 {
		held, width := 0.0, 0.0
		for x, chance := range binomial(n, p) {
			if iv := intervals[x]; iv.Lo <= p && p <= iv.Hi {
				held += chance
			}
			width += chance * (intervals[x].Hi - intervals[x].Lo)
		}
		c.mean += held
		c.width += width
		all++
		if p <= 0.1 {
			c.rare += held
			rare++
		}
		if held < c.least {
			c.least, c.at = held, p
		}
	}
	c.mean /= all
	c.width /= all
	c.rare /= rare
	return c, nil
}

// binomial lists the chance of 0..n successes, from the most likely count outward.
func binomial(n int, p float64) []float64 {
	chance := make([]float64, n+1)
	mode := min(int(float64(n+1)*p), n)
	at := 0.0
	for x, f := range []float64{float64(n), float64(mode), float64(n - mode)} {
		l, _ := math.Lgamma(f + 1)
		if x > 0 {
			l = -l
		}
		at += l
	}
	chance[mode] = math.Exp(at + float64(mode)*math.Log(p) + float64(n-mode)*math.Log1p(-p))
	odds := p / (1 - p)
	for x := mode; x < n; x++ {
		chance[x+1] = chance[x] * float64(n-x) / float64(x+1) * odds
	}
	for x := mode; x > 0; x-- {
		chance[x-1] = chance[x] * float64(x) / float64(n-x+1) / odds
	}
	return chance
}
