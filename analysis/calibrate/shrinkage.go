package main

import (
	"context"

	"faultgrain/analysis/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

func shrinkageSection() Section {
	return Section{
		ID:    "shrinkage",
		Title: "Shrunk shares and rates: coverage of empirical Bayes limits",
		Promise: "Over all groups, limits cover 94% or more from 8 groups on and 91% or more with 4, whether groups differ a lot, " +
			"little or not at all; and the shrunk share is closer to the truth than the raw one.",
		About: "Groups' true shares are drawn from a beta distribution of the given mean, worth the given number of trials (none: " +
			"all groups alike); each has 3 to 300 trials, most few. Rates are gamma with the same spread. Plain limits take the " +
			"fitted prior as certain; the library averages over the priors the groups leave possible. Error is the root mean " +
			"square distance to the truth, shrunk over raw. Theory (Kass and Steffey 1989): plain limits are too narrow, " +
			"most with few groups and where groups hardly differ. The prior on how alike groups are gives a typical group's share of " +
			"its own evidence an even chance of any value (Christiansen and Morris 1997; Daniels 1999); one that leaned more to " +
			"pooling (uniform in the spread) covered 90% of rates in 80 groups.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"kind", "groups", "mean", "worth", "plain", "averaged", "averaged, groups under 20 trials", "error"}}
			for _, k := range []int{4, 8, 20, 80} {
				for _, c := range []struct{ mean, worth float64 }{{0.05, 0}, {0.05, 30}, {0.05, 200}, {0.2, 8}, {0.2, 60}} {
					for _, rates := range []bool{false, true} {
						if err := ctx.Err(); err != nil {
							return t, err
						}
						m, err := measureShrinkage(e, k, c.mean, c.worth, rates)
						if err != nil {
							return t, err
						}
						kind, worth := "share", num(c.worth)
						if rates {
							kind = "rate"
						}
						if c.worth == 0 {
							worth = "none"
						}
						t.add(kind, num(k), num(c.mean), worth, share(m.plain.share()), share(m.averaged.share()), share(m.small.share()), share(m.shrunk/m.raw))
						noise := 0.22 * 3 / sqrt(m.averaged.of)
						least := 0.94
						if k < 8 {
							least = 0.91
						}
						t.expect(m.averaged.share() >= least-noise, "%s, %d groups, mean %v, worth %s: covers %.4f", kind, k, c.mean, worth, m.averaged.share())
						t.expect(m.shrunk < m.raw, "%s, %d groups, mean %v, worth %s: error %.4f", kind, k, c.mean, worth, m.shrunk/m.raw)
					}
				}
			}
			return t, nil
		},
	}
}

type shrinkage struct {
	plain, averaged, small tally
	shrunk, raw            float64 // root mean squares
}

func measureShrinkage(e Effort, k int, mean, worth float64, rates bool) (shrinkage, error) {
	rng := e.rng("shrinkage", k, mean, worth, rates)
	var m shrinkage
	for range e.runs(max(60, 4000/k)) {
		truth, n, x := make([]float64, k), make([]int, k), make([]int, k)
		exposure := make([]float64, k)
		for i := range truth {
			truth[i] = mean
			n[i] = int(3 * pow(100, rng.Float64()*rng.Float64()))
			exposure[i] = float64(n[i])
			switch {
			case rates && worth > 0:
				// A coefficient of variation like that of the beta: shape mean*worth.
				truth[i] = distuv.Gamma{Alpha: mean * worth, Beta: worth, Src: rng}.Rand()
			case worth > 0:
				truth[i] = distuv.Beta{Alpha: mean * worth, Beta: (1 - mean) * worth, Src: rng}.Rand()
			}
			if rates {
				x[i] = drawPoisson(rng, truth[i]*exposure[i])
			} else {
				x[i] = drawBinomial(rng, n[i], truth[i])
			}
		}
		posterior, plain, err := fitShrinkage(x, n, exposure, rates)
		if err != nil {
			return m, err
		}
		for i := range truth {
			full, err := posterior(i)
			if err != nil {
				return m, err
			}
			bare, err := plain(i)
			if err != nil {
				return m, err
			}
			m.plain.count(holds(bare, truth[i]))
			m.averaged.count(holds(full, truth[i]))
			if n[i] < 20 {
				m.small.count(holds(full, truth[i]))
			}
			raw := float64(x[i])/exposure[i] - truth[i]
			m.raw += raw * raw
			m.shrunk += (full.Value - truth[i]) * (full.Value - truth[i])
		}
	}
	m.raw, m.shrunk = sqrt(m.raw), sqrt(m.shrunk)
	return m, nil
}

type posterior func(i int) (stat.Estimate, error)

func fitShrinkage(x, n []int, exposure []float64, rates bool) (averaged, plain posterior, err error) {
	if rates {
		p, err := stat.FitGammaPoisson(x, exposure)
		bare := stat.GammaPrior{Shape: p.Shape, Rate: p.Rate}
		return func(i int) (stat.Estimate, error) { return p.Posterior(x[i], exposure[i], 0.95) },
			func(i int) (stat.Estimate, error) { return bare.Posterior(x[i], exposure[i], 0.95) }, err
	}
	p, err := stat.FitBetaBinomial(x, n)
	bare := stat.BetaPrior{Alpha: p.Alpha, Beta: p.Beta}
	return func(i int) (stat.Estimate, error) { return p.Posterior(x[i], n[i], 0.95) },
		func(i int) (stat.Estimate, error) { return bare.Posterior(x[i], n[i], 0.95) }, err
}
