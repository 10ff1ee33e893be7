package main

import (
	"context"

	"faultgrain/analysis/stat"
)

func chartSection() Section {
	return Section{
		ID:      "charts",
		Title:   "Control charts: months outside the limits when nothing has changed",
		Promise: "On Laney's chart at most 3% of steady months lie outside, whatever the inflation.",
		About: "Twelve months as in the trend section. Theory: 0.27% of normal values lie beyond three standard deviations; counts " +
			"are skewed and sigma is estimated from eleven differences, so more do. Plain limits fail as soon as months " +
			"differ by more than chance.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"visits a month", "share", "inflation", "p chart", "p' chart (Laney)", "charts with a month outside, Laney"}}
			for _, h := range histories() {
				if err := ctx.Err(); err != nil {
					return t, err
				}
				rng := e.rng("charts", h)
				var plain, laney, any tally
				for range e.runs(3000) {
					s := h.draw(rng)
					p, err := stat.PChart(s.X, s.N)
					if err != nil {
						return t, err
					}
					l, err := stat.LaneyP(s.X, s.N)
					if err != nil {
						return t, err
					}
					out := false
					for i := range p.Points {
						plain.count(outside(p.Points[i]))
						laney.count(outside(l.Points[i]))
						out = out || outside(l.Points[i])
					}
					any.count(out)
				}
				t.add(num(h.visits), num(h.share), num(h.inflation), share(plain.share()), share(laney.share()), share(any.share()))
				t.expect(laney.share() <= 0.03, "%+v: %.4f outside", h, laney.share())
			}
			return t, nil
		},
	}
}

func outside(p stat.ChartPoint) bool { return p.Known && (p.Value < p.Lo || p.Value > p.Hi) }
