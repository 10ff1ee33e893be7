package main

import (
	"context"

	"faultgrain/analysis/stat"
)

func poolingSection() Section {
	return Section{
		ID:      "pooling",
		Title:   "Several shops: coverage of random-effects limits",
		Promise: "Knapp limits cover 93% or more from 3 shops on, prediction intervals 93% or more.",
		About: "Effects drawn about 0 with the given standard deviation between shops; variances within run from 0.05 to 0.5. " +
			"Theory (IntHout et al. 2014): plain DerSimonian-Laird limits fall well short with few studies; Hartung-Knapp " +
			"limits hold. Pooled results should show the latter. Prediction averages over the variance between " +
			"(Nagashima et al. 2019), because the usual interval covered 87% at 10 shops with a spread of 0.3.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"shops", "spread between", "fixed effect", "DerSimonian-Laird", "Knapp", "prediction of a further shop"}}
			for _, k := range []int{2, 3, 5, 10} {
				for _, tau := range []float64{0, 0.3, 0.8} {
					if err := ctx.Err(); err != nil {
						return t, err
					}
					rng := e.rng("pooling", k, tau)
					var fixed, random, knapp, next tally
					for range e.runs(3000) {
						y, v := make([]float64, k), make([]float64, k)
						for i := range y {
							v[i] = 0.05 + 0.45*rng.Float64()
							y[i] = tau*rng.NormFloat64() + sqrt(v[i])*rng.NormFloat64()
						}
						f, err := stat.FixedEffect(y, v, 0.95)
						if err != nil {
							return t, err
						}
						d, err := stat.DerSimonianLaird(y, v, 0.95)
						if err != nil {
							return t, err
						}
						fixed.count(holds(f.Estimate, 0))
						random.count(holds(d.Estimate, 0))
						knapp.count(d.Knapp.Lo <= 0 && 0 <= d.Knapp.Hi)
						if d.Predicted {
							further := tau * rng.NormFloat64()
							next.count(d.Prediction.Lo <= further && further <= d.Prediction.Hi)
						}
					}
					cells := []string{num(k), num(tau), share(fixed.share()), share(random.share()), share(knapp.share()), ""}
					noise := 0.25 * 3 / sqrt(knapp.of)
					if k >= 3 {
						cells[5] = share(next.share())
						t.expect(knapp.share() >= 0.93-noise, "Knapp of %d shops, spread %v, covers %.4f", k, tau, knapp.share())
						t.expect(next.share() >= 0.93-noise, "prediction from %d shops, spread %v, covers %.4f", k, tau, next.share())
					}
					t.add(cells...)
				}
			}
			return t, nil
		},
	}
}
