package main

import (
	"context"
	"math"
	"math/rand/v2"

	"faultgrain/analysis/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// A monthly history: trials a month about visits, growing by growth a month; share of
// events, its odds rising by slope a month; inflation is the variance over binomial.
type monthly struct{ visits, share, growth, slope, inflation float64 }

func (m monthly) draw(rng *rand.Rand) stat.CountSeries {
	const months = 12
	s := stat.CountSeries{X: make([]int, months), N: make([]int, months), Score: make([]float64, months)}
	for i := range months {
		at := float64(i) - (months-1)/2.0
		s.Score[i] = float64(i)
		s.N[i] = drawPoisson(rng, m.visits*math.Exp(m.growth*at))
		odds := m.share / (1 - m.share) * math.Exp(m.slope*at)
		p := odds / (1 + odds)
		if m.inflation > 1 && s.N[i] > 1 {
			worth := max((m.visits-m.inflation)/(m.inflation-1), 0.5) // 1 + (visits-1)/(worth+1) = inflation
			p = distuv.Beta{Alpha: p * worth, Beta: (1 - p) * worth, Src: rng}.Rand()
		}
		s.X[i] = drawBinomial(rng, s.N[i], p)
	}
	return s
}

func histories() []monthly {
	return []monthly{
		{20, 0.05, 0, 0, 1}, {100, 0.05, 0, 0, 1}, {1000, 0.02, 0, 0, 1}, {100, 0.01, 0.1, 0, 1},
		{20, 0.1, 0, 0, 2}, {100, 0.05, 0, 0, 2}, {100, 0.05, 0.1, 0, 3}, {400, 0.05, 0, 0, 5}, {1000, 0.02, 0.05, 0, 6},
	}
}

func trendSection() Section {
	return Section{
		ID:      "trends",
		Title:   "Twelve months: type I error and power of trend tests",
		Promise: "TrendOverdispersed rejects at most 6% of the time when nothing rises, at 5%, however much months differ by more than chance.",
		About: "Months are independent, with visits that vary and may grow; inflation is the variance of a month's count over " +
			"binomial. Power is at odds rising 15% a month. Theory: Cochran-Armitage takes any extra scatter for a trend. Months " +
			"that resemble their neighbours beyond a trend (a slow wave) break every test here; with a correlation of 0.5 between " +
			"neighbours about one in five would be rejected.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"visits a month", "share", "growth a month", "inflation", "Cochran-Armitage", "overdispersed", "Mann-Kendall of shares", "power, Cochran-Armitage", "power, overdispersed"}}
			for _, h := range histories() {
				if err := ctx.Err(); err != nil {
					return t, err
				}
				rng := e.rng("trends", h)
				var plain, wide, rank, plainPower, widePower tally
				rising := h
				rising.slope = math.Log(1.15)
				for range e.runs(3000) {
					s := h.draw(rng)
					p, q := trendP(s)
					plain.count(p <= 0.05)
					wide.count(q <= 0.05)
					rank.count(mannKendallP(s) <= 0.05)
					p, q = trendP(rising.draw(rng))
					plainPower.count(p <= 0.05)
					widePower.count(q <= 0.05)
				}
				t.add(num(h.visits), num(h.share), num(h.growth), num(h.inflation), share(plain.share()), share(wide.share()), share(rank.share()), share(plainPower.share()), share(widePower.share()))
				t.expect(wide.share() <= 0.06+0.22*3/sqrt(wide.of), "%+v rejects %.4f", h, wide.share())
			}
			return t, nil
		},
	}
}

// trendP are the p-values of both tests; 1 where a series can't be tested.
func trendP(s stat.CountSeries) (plain, wide float64) {
	plain, wide = 1, 1
	if r, err := stat.CochranArmitage(s.X, s.N, s.Score); err == nil {
		plain = r.P
	}
	if r, err := stat.TrendOverdispersed(s.X, s.N, s.Score); err == nil {
		wide = r.P
	}
	return plain, wide
}

func mannKendallP(s stat.CountSeries) float64 {
	var shares []float64
	for i, n := range s.N {
		if n > 0 {
			shares = append(shares, float64(s.X[i])/float64(n))
		}
	}
	m, err := stat.MannKendall(shares)
	if err != nil {
		return 1
	}
	return m.P
}

func trendsTogetherSection() Section {
	return Section{
		ID:    "trends-together",
		Title: "Many series at once: trend tests that lend each other their scatter",
		Promise: "At 5% at most 6% of steady series are rejected and at 0.1% at most 0.2%; of 5 rising among 40 series, more are " +
			"found at a false discovery rate of 5% than by single tests; and the false discovery rate stays at or below 6%.",
		About: "Forty series whose shares vary twofold and whose inflation varies by half about the given one. Five have odds " +
			"rising 15% a month. Found is the share of those five, false the mean share of steady series among the findings.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"visits a month", "share", "inflation", "rejected at 5%", "rejected at 0.1%", "found, single", "found, together", "false, single", "false, together"}}
			for _, h := range []monthly{{100, 0.05, 0, 0, 1}, {100, 0.05, 0, 0, 2}, {400, 0.03, 0, 0, 3}, {1000, 0.02, 0, 0, 5}, {1000, 0.003, 0, 0, 1.5}} {
				if err := ctx.Err(); err != nil {
					return t, err
				}
				r, err := lendScatter(e, h)
				if err != nil {
					return t, err
				}
				t.add(num(h.visits), num(h.share), num(h.inflation), share(r.five.share()), share(r.mille.share()),
					share(r.single.found.share()), share(r.together.found.share()), share(r.single.false.share()), share(r.together.false.share()))
				noise := 3 / sqrt(r.five.of)
				t.expect(r.five.share() <= 0.06+0.22*noise, "%+v rejects %.4f at 5%%", h, r.five.share())
				t.expect(r.mille.share() <= 0.002+0.04*noise, "%+v rejects %.5f at 0.1%%", h, r.mille.share())
				t.expect(r.together.found.share() >= r.single.found.share(), "%+v finds %.4f, singly %.4f", h, r.together.found.share(), r.single.found.share())
				t.expect(r.together.false.share() <= 0.06+0.15*3/sqrt(r.together.false.of), "%+v has false findings %.4f", h, r.together.false.share())
			}
			return t, nil
		},
	}
}

// discoveries are findings under a false discovery rate of 5%.
type discoveries struct{ found, false tally }

// add counts the findings of one simulated table: real says which rows are truly so.
func (d *discoveries) add(p []float64, real func(i int) bool) error {
	q, err := stat.BenjaminiHochberg(p)
	if err != nil {
		return err
	}
	wrong, all := 0.0, 0.0
	for i, v := range q {
		hit := v <= 0.05
		if real(i) {
			d.found.count(hit)
		} else if hit {
			wrong++
		}
		if hit {
			all++
		}
	}
	d.false.of++
	if all > 0 {
		d.false.hits += wrong / all
	}
	return nil
}

type lent struct {
	five, mille      tally
	single, together discoveries
}

func lendScatter(e Effort, h monthly) (lent, error) {
	rng := e.rng("together", h)
	var r lent
	const series, rising = 40, 5
	for range e.runs(150) {
		list := make([]stat.CountSeries, series)
		single := make([]float64, series)
		for i := range list {
			m := h
			m.share *= math.Exp(0.7 * rng.NormFloat64())
			m.share = min(m.share, 0.5)
			m.inflation = 1 + (h.inflation-1)*math.Exp(0.5*rng.NormFloat64())
			if i < rising {
				m.slope = math.Log(1.15)
			}
			list[i] = m.draw(rng)
			_, single[i] = trendP(list[i])
		}
		results, _, err := stat.TrendsTogether(list)
		if err != nil {
			return r, err
		}
		p := make([]float64, series)
		for i, s := range results {
			p[i] = 1
			if s.Err == nil {
				p[i] = s.P
			}
			if i >= rising {
				r.five.count(p[i] <= 0.05)
				r.mille.count(p[i] <= 0.001)
			}
		}
		real := func(i int) bool { return i < rising }
		if err := r.single.add(single, real); err != nil {
			return r, err
		}
		if err := r.together.add(p, real); err != nil {
			return r, err
		}
	}
	return r, nil
}
