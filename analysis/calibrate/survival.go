package main

import (
	"context"
	"math"

	"faultgrain/analysis/stat"
)

func survivalSection() Section {
	return Section{
		ID:    "survival",
		Title: "Lasting: coverage of Kaplan-Meier limits and error of the log-rank test",
		Promise: "Log-log limits of the share at a time cover 93.5% or more, also where events are rare; limits of the median cover " +
			"93% or more; the log-rank test rejects at most 6.5% of the time.",
		About: "Exponential times, censored evenly over a period so that about half are. The share is looked at where it truly is " +
			"as given; before the first event the limits are Wilson's. Theory: Greenwood's limits on the log scale fall short " +
			"near 1, on the log-log scale they do not.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"subjects", "share at the time", "log-log", "log", "limits given", "median", "log-rank type I"}}
			for _, n := range []int{15, 40, 150, 600} {
				for _, s := range []float64{0.98, 0.95, 0.85, 0.5} {
					if err := ctx.Err(); err != nil {
						return t, err
					}
					rng := e.rng("survival", n, s)
					at := -math.Log(s) // unit rate
					draw := func(size int) []stat.Lifetime {
						list := make([]stat.Lifetime, size)
						for i := range list {
							life, seen := rng.ExpFloat64(), 1.6*rng.Float64()+0.05
							list[i] = stat.Lifetime{Time: life, Events: 1}
							if seen < life {
								list[i] = stat.Lifetime{Time: seen, Censored: 1}
							}
						}
						return list
					}
					var loglog, log, given, median, rank tally
					for range e.runs(2000) {
						list := draw(n)
						k, err := stat.KaplanMeier(list, 0.95, stat.LogLog)
						if err != nil {
							return t, err
						}
						l, err := stat.KaplanMeier(list, 0.95, stat.Log)
						if err != nil {
							return t, err
						}
						v, err := k.At(at)
						given.count(err == nil)
						if err == nil {
							loglog.count(holds(v, s))
							w, err := l.At(at)
							if err != nil {
								return t, err
							}
							log.count(holds(w, s))
						}
						m := k.Median()
						median.count((!m.Lo.Bounded || m.Lo.Value <= math.Ln2) && (!m.Hi.Bounded || math.Ln2 <= m.Hi.Value))
						if s == 0.5 {
							r, err := stat.LogRank([][]stat.Lifetime{list, draw(n)})
							if err != nil {
								return t, err
							}
							rank.count(r.P <= 0.05)
						}
					}
					cells := []string{num(n), num(s), share(loglog.share()), share(log.share()), share(given.share()), share(median.share()), ""}
					noise := 0.24 * 3 / sqrt(loglog.of)
					t.expect(loglog.share() >= 0.935-noise, "log-log limits of %d subjects at share %v cover %.4f", n, s, loglog.share())
					t.expect(median.share() >= 0.93-noise, "median of %d subjects covers %.4f", n, median.share())
					if s == 0.5 {
						cells[6] = share(rank.share())
						t.expect(rank.share() <= 0.065+noise, "log-rank of twice %d subjects rejects %.4f", n, rank.share())
					}
					t.add(cells...)
				}
			}
			return t, nil
		},
	}
}
