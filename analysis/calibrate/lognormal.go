package main

import (
	"context"
	"errors"
	"math"

	"faultgrain/analysis/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

func lognormalSection() Section {
	return Section{
		ID:    "lognormal",
		Title: "Repair times: coverage of limits for a lognormal mean, and for time saved",
		Promise: "Zou's limits cover 94 to 97% from 5 jobs on; time saved (two means less a third) covers 94% or more from 5 jobs " +
			"of each kind on.",
		About: "Mean and variance of the logs are drawn from their exact distributions. Spread is the standard deviation of the " +
			"logs: 0.5 is usual for bench minutes, 1 is wide. Time saved is that of two single jobs with medians 30 and 20 less " +
			"a joint one with median 38. Theory (Zhou and Gao 1997; Zou et al. 2009): Cox's limits fall short in small " +
			"samples; Student's quantile (modified Cox) helps; Zou's hold. That is why the times table uses Zou's.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"jobs", "spread of logs", "Cox", "modified Cox", "Zou", "median", "time saved", "Zou width over Cox width"}}
			for _, n := range []int{3, 5, 10, 20, 50} {
				for _, sd := range []float64{0.2, 0.5, 1, 1.5} {
					if err := ctx.Err(); err != nil {
						return t, err
					}
					rng := e.rng("lognormal", n, sd)
					chi := distuv.ChiSquared{K: float64(n - 1), Src: rng}
					draw := func(median float64) stat.Lognormal {
						return stat.Lognormal{N: n, MeanLog: math.Log(median) + sd*rng.NormFloat64()/math.Sqrt(float64(n)), SDLog: sd * math.Sqrt(chi.Rand()/float64(n-1))}
					}
					mean := func(median float64) float64 { return median * math.Exp(sd*sd/2) }
					var cox, modified, zou, middle, saved tally
					width, coxWidth := 0.0, 0.0
					for range e.runs(4000) {
						a, b, both := draw(30), draw(20), draw(38)
						c, err := a.MeanCox(0.95)
						if err != nil {
							return t, err
						}
						m, err := a.MeanCoxModified(0.95)
						if err != nil {
							return t, err
						}
						med, err := a.MedianLimits(0.95)
						if err != nil {
							return t, err
						}
						cox.count(holds(c, mean(30)))
						modified.count(holds(m, mean(30)))
						middle.count(holds(med, 30))
						parts := make([]stat.Estimate, 3)
						given := true
						for i, f := range []stat.Lognormal{a, b, both} {
							parts[i], err = f.MeanZou(0.95)
							if errors.Is(err, stat.ErrTooFew) {
								given = false
								continue
							}
							if err != nil {
								return t, err
							}
							if i == 0 {
								zou.count(holds(parts[0], mean(30)))
								width += math.Log(parts[0].Hi / parts[0].Lo)
								coxWidth += math.Log(c.Hi / c.Lo)
							}
						}
						if !given {
							continue
						}
						d, err := stat.Combine([]float64{1, 1, -1}, parts)
						if err != nil {
							return t, err
						}
						saved.count(holds(d, mean(30)+mean(20)-mean(38)))
					}
					t.add(num(n), num(sd), share(cox.share()), share(modified.share()), share(zou.share()), share(middle.share()), share(saved.share()), share(width/coxWidth))
					noise := 0.22 * 3 / sqrt(zou.of)
					if n >= 5 {
						t.expect(zou.share() >= 0.94-noise && zou.share() <= 0.97+noise, "Zou at %d jobs, spread %v, covers %.4f", n, sd, zou.share())
						t.expect(saved.share() >= 0.94-noise, "time saved at %d jobs, spread %v, covers %.4f", n, sd, saved.share())
					}
				}
			}
			return t, nil
		},
	}
}

func holds(e stat.Estimate, truth float64) bool { return e.Lo <= truth && truth <= e.Hi }
