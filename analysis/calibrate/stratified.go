package main

import (
	"context"
	"errors"
	"math/rand/v2"

	"faultgrain/analysis/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

func stratifiedSection() Section {
	return Section{
		ID:    "stratified",
		Title: "Many strata: Mantel-Haenszel, its test, and homogeneity",
		Promise: "Robins-Breslow-Greenland limits cover 93.5 to 97.5%. The corrected and the exact test keep their type I " +
			"error at or below 5%, the plain test and Tarone's within 2 points of it where strata hold 20 or more.",
		About: "Simulated tables: row totals as given, the second row's chance of an event drawn from 2 to 25% per stratum, " +
			"one odds ratio common to all. Type I errors are at odds ratio 1 for the tests of association and at the " +
			"given one for homogeneity. Theory: the limits hold for few large and for many small strata; " +
			"Breslow-Day needs large strata.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"strata", "rows of", "odds ratio", "coverage", "CMH", "CMH corrected", "exact", "exact mid-p", "homogeneity, Tarone"}}
			for _, c := range []struct {
				strata, row int
				odds        float64
			}{{3, 100, 1}, {3, 100, 4}, {10, 20, 1}, {10, 20, 4}, {60, 6, 1}, {60, 6, 4}, {8, 400, 2}} {
				if err := ctx.Err(); err != nil {
					return t, err
				}
				rng := e.rng("stratified", c.strata, c.row, c.odds)
				var cover, cmh, corrected, exact, mid, tarone tally
				for range e.runs(2000) {
					s := drawStrata(rng, c.strata, c.row, c.odds)
					r, err := stat.MantelHaenszelOdds(s, 0.95)
					if errors.Is(err, stat.ErrNoInformation) {
						continue
					}
					if err != nil {
						return t, err
					}
					cover.count(r.Lo <= c.odds && (!r.Hi.Bounded || c.odds <= r.Hi.Value))
					if h, err := stat.BreslowDayTarone(s); err == nil {
						tarone.count(h.TaroneP <= 0.05)
					}
					if c.odds != 1 {
						continue
					}
					plain, err := stat.CMH(s, false)
					if err != nil {
						return t, err
					}
					with, err := stat.CMH(s, true)
					if err != nil {
						return t, err
					}
					f, err := stat.FisherStratified(s)
					if err != nil {
						return t, err
					}
					cmh.count(plain.P <= 0.05)
					corrected.count(with.P <= 0.05)
					exact.count(f.TwoSided <= 0.05)
					mid.count(f.MidP <= 0.05)
				}
				cells := []string{num(c.strata), num(c.row), num(c.odds), share(cover.share()), "", "", "", "", share(tarone.share())}
				noise := 3 * 0.5 / sqrt(cover.of) // three standard errors, at most
				t.expect(cover.share() >= 0.935-noise/3 && cover.share() <= 0.975+noise/3, "%d strata of rows of %d, odds %v: coverage %.4f", c.strata, c.row, c.odds, cover.share())
				t.expect(c.row < 20 || tarone.share() <= 0.07+noise/3, "%d strata of rows of %d: homogeneity rejects %.4f", c.strata, c.row, tarone.share())
				if c.odds == 1 {
					cells[4], cells[5], cells[6], cells[7] = share(cmh.share()), share(corrected.share()), share(exact.share()), share(mid.share())
					t.expect(corrected.share() <= 0.05+noise/2 && exact.share() <= 0.05+noise/2, "%d strata of rows of %d: corrected %.4f, exact %.4f", c.strata, c.row, corrected.share(), exact.share())
					t.expect(cmh.share() <= 0.07+noise/3, "%d strata of rows of %d: CMH rejects %.4f", c.strata, c.row, cmh.share())
				}
				t.add(cells...)
			}
			return t, nil
		},
	}
}

func drawStrata(rng *rand.Rand, strata, row int, odds float64) []stat.Table2 {
	list := make([]stat.Table2, strata)
	for i := range list {
		q := 0.02 + 0.23*rng.Float64()
		o := odds * q / (1 - q)
		a, c := drawBinomial(rng, row, o/(1+o)), drawBinomial(rng, row, q)
		list[i] = stat.Table2{A: a, B: row - a, C: c, D: row - c}
	}
	return list
}

func drawBinomial(rng *rand.Rand, n int, p float64) int {
	if n == 0 || p <= 0 {
		return 0
	}
	if p >= 1 {
		return n
	}
	return int(distuv.Binomial{N: float64(n), P: p, Src: rng}.Rand())
}

func drawPoisson(rng *rand.Rand, mean float64) int {
	if mean <= 0 {
		return 0
	}
	return int(distuv.Poisson{Lambda: mean, Src: rng}.Rand())
}
