package hunch

import (
	"context"
	"time"

	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

// work fills in the usual minutes and prices: of the model, or of its class where the model has too few.
func (a *Answer) work(ctx context.Context, log *tally.Log) error {
	for _, scope := range []struct{ of, model string }{{"model", a.Model}, {"class", ""}} {
		minutes, err := tally.Query[float64](ctx, log, minutesSQL, named("model", scope.model), named("class", a.Class), named("component", a.Component))
		if err != nil {
			return err
		}
		if len(minutes) >= fewest {
			a.Minutes = Minutes{Median: middle(minutes, 0.5), P90: middle(minutes, 0.9), Jobs: len(minutes), Of: scope.of}
			break
		}
	}
	type line struct {
		Currency string  `sql:"currency"`
		Cost     float64 `sql:"unit_cost"`
	}
	a.Prices = []Price{}
	for _, scope := range []struct{ of, model string }{{"model", a.Model}, {"class", ""}} {
		lines, err := tally.Query[line](ctx, log, pricesSQL, named("model", scope.model), named("class", a.Class), named("component", a.Component),
			named("since", log.AsOf.AddDate(-1, 0, 1).Format(time.DateOnly)))
		if err != nil {
			return err
		}
		for from := 0; from < len(lines); {
			var costs []float64
			to := from
			for ; to < len(lines) && lines[to].Currency == lines[from].Currency; to++ {
				costs = append(costs, lines[to].Cost)
			}
			if len(costs) >= fewest {
				a.Prices = append(a.Prices, Price{Currency: lines[from].Currency, Median: middle(costs, 0.5), Lines: len(costs), Of: scope.of})
			}
			from = to
		}
		if len(a.Prices) > 0 {
			break
		}
	}
	return nil
}

// middle is a quantile of sorted values, between neighbours by proportion: type 7 of Hyndman and Fan (1996), Am. Stat.
// 50, 361-365.
func middle(sorted []float64, q float64) schemas.Float {
	at := q * float64(len(sorted)-1)
	i := int(at)
	if i+1 == len(sorted) {
		return schemas.Known(sorted[i])
	}
	return schemas.Known(sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i]))
}
