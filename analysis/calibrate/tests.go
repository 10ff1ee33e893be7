package main

import (
	"context"
	"math"

	"faultgrain/analysis/stat"
)

func pow(a, b float64) float64 { return math.Pow(a, b) }

func testSection() Section {
	return Section{
		ID:    "tests",
		Title: "One model against the rest: type I error of Fisher's test",
		Promise: "The exact test never rejects more than 5% of the time; the mid-p test never more than 6.5%, and 5% or less " +
			"on average.",
		About: "Every pair of counts is listed; both groups share one chance, from 0.5 to 50% in 60 steps. Theory (Lancaster " +
			"1961; Lydersen et al. 2009): the exact test rejects far less than 5% in small groups; mid-p comes close to " +
			"it and seldom exceeds it.",
		Run: func(ctx context.Context, _ Effort) (Table, error) {
			t := Table{Columns: []string{"trials", "exact, mean", "exact, most", "mid-p, mean", "mid-p, most", "most at chance", "uncorrected chi-square, most"}}
			for _, n := range [][2]int{{10, 10}, {10, 100}, {25, 250}, {60, 60}} {
				if err := ctx.Err(); err != nil {
					return t, err
				}
				r, err := rejectionRates(n[0], n[1])
				if err != nil {
					return t, err
				}
				t.add(num(n[0])+" and "+num(n[1]), share(r.exact), share(r.exactMost), share(r.mid), share(r.midMost), share(r.at), share(r.chiMost))
				t.expect(r.exactMost <= 0.05+1e-9, "exact at %v rejects %.4f", n, r.exactMost)
				t.expect(r.midMost <= 0.065 && r.mid <= 0.05, "mid-p at %v rejects %.4f at most, %.4f on average", n, r.midMost, r.mid)
			}
			return t, nil
		},
	}
}

type rejections struct{ exact, exactMost, mid, midMost, at, chiMost float64 }

func rejectionRates(n1, n2 int) (rejections, error) {
	type verdict struct{ exact, mid, chi bool }
	verdicts := make([]verdict, (n1+1)*(n2+1))
	for x := 0; x <= n1; x++ {
		for y := 0; y <= n2; y++ {
			table := stat.Table2{A: x, B: n1 - x, C: y, D: n2 - y}
			f, err := stat.Fisher(table)
			if err != nil {
				return rejections{}, err
			}
			v := verdict{exact: f.TwoSided <= 0.05, mid: f.MidP <= 0.05}
			if c, err := stat.CMH([]stat.Table2{table}, false); err == nil {
				v.chi = c.P <= 0.05
			}
			verdicts[x*(n2+1)+y] = v
		}
	}
	var r rejections
	const steps = 60
	for i := range steps {
		p := 0.005 + 0.495*float64(i)/(steps-1)
		second := binomial(n2, p)
		var exact, mid, chi float64
		for x, a := range binomial(n1, p) {
			for y, b := range second {
				v := verdicts[x*(n2+1)+y]
				if v.exact {
					exact += a * b
				}
				if v.mid {
					mid += a * b
				}
				if v.chi {
					chi += a * b
				}
			}
		}
		r.exact += exact / steps
		r.mid += mid / steps
		r.exactMost, r.chiMost = max(r.exactMost, exact), max(r.chiMost, chi)
		if mid > r.midMost {
			r.midMost, r.at = mid, p
		}
	}
	return r, nil
}

func discoverySection() Section {
	return Section{
		ID:      "discovery",
		Title:   "Many models at once: false discovery rate of the mid-p test with Benjamini-Hochberg",
		Promise: "At most 6% false among the findings on average (5% is nominal), with none, few or many models truly different.",
		About: "Each table has 120 rows: a model of 5 to 400 visits against the rest, a component with a usual share of 1 to 15%, " +
			"and the given part of the rows at four times the usual odds. This is the arithmetic alone; the tables of shares and " +
			"pairs on histories with their real structure have sections of their own.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"truly different", "false among findings", "found"}}
			for _, part := range []float64{0, 0.05, 0.3} {
				if err := ctx.Err(); err != nil {
					return t, err
				}
				rng := e.rng("discovery", part)
				var d discoveries
				for range e.runs(300) {
					const rows = 120
					p := make([]float64, rows)
					real := make([]bool, rows)
					for i := range p {
						n := int(5 * pow(80, rng.Float64()))
						usual := 0.01 + 0.14*rng.Float64()
						real[i] = rng.Float64() < part
						own := usual
						if real[i] {
							own = 4 * usual / (1 + 3*usual)
						}
						const rest = 3000
						x, y := drawBinomial(rng, n, own), drawBinomial(rng, rest, usual)
						var err error
						if p[i], err = stat.FisherMidP(stat.Table2{A: x, B: n - x, C: y, D: rest - y}); err != nil {
							return t, err
						}
					}
					if err := d.add(p, func(i int) bool { return real[i] }); err != nil {
						return t, err
					}
				}
				found := share(d.found.share())
				if part == 0 {
					found = ""
				}
				t.add(share(part), share(d.false.share()), found)
				t.expect(d.false.share() <= 0.06+0.22*3/sqrt(d.false.of), "%v different: %.4f false", part, d.false.share())
			}
			return t, nil
		},
	}
}
