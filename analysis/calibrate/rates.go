package main

import (
	"context"
	"errors"
	"math"

	"faultgrain/analysis/stat"
)

func sqrt(v float64) float64 { return math.Sqrt(v) }

func rateSection() Section {
	return Section{
		ID:      "rates",
		Title:   "Poisson counts: coverage of limits for a mean and for a ratio of rates",
		Promise: "Exact limits never cover less than 95%; mid-p limits for a ratio cover 94.5% or more on average.",
		About: "Every count is listed as far as it has any chance. Means run over the range in 200 steps; for a ratio, both " +
			"means run over 15 steps each and the first is seen for a fifth of the second's exposure. Theory: exact limits are " +
			"conservative, more so for small means.",
		Run: func(ctx context.Context, _ Effort) (Table, error) {
			t := Table{Columns: []string{"method", "means", "mean", "least", "least at"}}
			for _, to := range []float64{2, 10, 60} {
				mean, least, at, err := poissonCoverage(to)
				if err != nil {
					return t, err
				}
				t.add("one mean, exact", "0.05 to "+num(to), share(mean), share(least), share(at))
				t.expect(least >= 0.95-1e-9, "exact limits of means to %v cover %.4f", to, least)
			}
			for _, m := range []struct {
				name  string
				ratio func(x1 int, t1 float64, x2 int, t2, conf float64) (stat.RateComparison, error)
			}{{"ratio, exact", stat.PoissonRateRatio}, {"ratio, mid-p", stat.PoissonRateRatioMidP}} {
				if err := ctx.Err(); err != nil {
					return t, err
				}
				mean, least, at, err := ratioCoverage(m.ratio)
				if err != nil {
					return t, err
				}
				t.add(m.name, "0.5 to 25", share(mean), share(least), share(at))
				t.expect(m.name != "ratio, exact" || least >= 0.95-1e-9, "%s covers %.4f", m.name, least)
				t.expect(mean >= 0.945, "%s covers %.4f on average", m.name, mean)
			}
			return t, nil
		},
	}
}

func poissonChances(mean float64) []float64 {
	most := int(mean + 12*math.Sqrt(mean) + 20)
	chance := make([]float64, most+1)
	for k := range chance {
		l, _ := math.Lgamma(float64(k) + 1)
		chance[k] = math.Exp(float64(k)*math.Log(mean) - mean - l)
	}
	return chance
}

func poissonCoverage(to float64) (mean, least, at float64, err error) {
	limits := make([]stat.Interval, len(poissonChances(to)))
	for k := range limits {
		if limits[k], err = stat.PoissonLimits(k, 0.95); err != nil {
			return 0, 0, 0, err
		}
	}
	least = 1
	const steps = 200
	for i := range steps {
		m := 0.05 + (to-0.05)*float64(i)/(steps-1)
		held := 0.0
		for k, chance := range poissonChances(m) {
			if k < len(limits) && limits[k].Lo <= m && m <= limits[k].Hi {
				held += chance
			}
		}
		mean += held / steps
		if held < least {
			least, at = held, m
		}
	}
	return mean, least, at, nil
}

func ratioCoverage(f func(x1 int, t1 float64, x2 int, t2, conf float64) (stat.RateComparison, error)) (mean, least, at float64, err error) {
	const steps, top, exposure = 15, 25.0, 5.0
	size := len(poissonChances(top))
	limits := make([]*stat.Ratio, size*size)
	for x := range size {
		for y := range size {
			c, err := f(x, 1, y, exposure, 0.95)
			if errors.Is(err, stat.ErrNoInformation) {
				continue
			}
			if err != nil {
				return 0, 0, 0, err
			}
			limits[x*size+y] = &c.Ratio
		}
	}
	least = 1
	for i := range steps {
		for j := range steps {
			m1, m2 := 0.5+(top-0.5)*float64(i)/(steps-1), 0.5+(top-0.5)*float64(j)/(steps-1)
			truth := m1 / (m2 / exposure)
			var c tally
			second := poissonChances(m2)
			for x, a := range poissonChances(m1) {
				for y, b := range second {
					if x >= size || y >= size || limits[x*size+y] == nil || a*b < 1e-13 {
						continue
					}
					r := limits[x*size+y]
					c.weigh(r.Lo <= truth && (!r.Hi.Bounded || truth <= r.Hi.Value), a*b)
				}
			}
			mean += c.share() / (steps * steps)
			if c.share() < least {
				least, at = c.share(), truth
			}
		}
	}
	return mean, least, at, nil
}
