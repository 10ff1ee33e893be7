package stock

import (
	"errors"

	"faultgrain/analysis/stat"
)

// Names of the forecasts that the backtest compares.
const (
	ThisForecast  = "this forecast"
	LastMonth     = "last month's usage"
	MovingAverage = "moving average"
	Croston       = "Croston"
	SBA           = "SBA"
	TSB           = "TSB"
)

// What the others are run with: common practice, no source.
const (
	monthWeeks   = 4
	averageWeeks = 13
	smoothing    = 0.1
)

// A rule says how much to have on hand and on order when the first known weeks of the demand are known.
type rule struct {
	name  string
	level func(known int) (int, error)
}

// rules are this forecast and the ones it is measured against, all ordering up to the same chance of not running out, but
// that this one aims lower where it sees demand fall.
// The others foretell a rate and no more, so theirs is the Poisson level of that rate.
func rules(weekly []int, prior stat.GammaPrior, horizon int, aim Target) ([]rule, error) {
	ours, err := foretold(weekly, prior, horizon)
	if err != nil {
		return nil, err
	}
	demand := make([]float64, len(weekly))
	for i, d := range weekly {
		demand[i] = float64(d)
	}
	list := []rule{{ThisForecast, func(known int) (int, error) {
		return ours[known].ahead.Quantile(aim.under(ours[known].falling))
	}}}
	for _, other := range []struct {
		name string
		rate func(known []float64) (float64, error)
	}{
		{LastMonth, func(known []float64) (float64, error) { return stat.MovingAverage(known, monthWeeks) }},
		{MovingAverage, func(known []float64) (float64, error) { return stat.MovingAverage(known, averageWeeks) }},
		{Croston, func(known []float64) (float64, error) { return rateOf(stat.Croston(known, smoothing)) }},
		{SBA, func(known []float64) (float64, error) { return rateOf(stat.CrostonSBA(known, smoothing)) }},
		{TSB, func(known []float64) (float64, error) { return rateOf(stat.CrostonTSB(known, smoothing, smoothing)) }},
	} {
		list = append(list, rule{other.name, func(known int) (int, error) {
			if known == 0 {
				return 0, nil
			}
			rate, err := other.rate(demand[:known])
			if err != nil {
				return 0, err
			}
			return stat.PoissonQuantile(aim.Level, rate*float64(horizon)/7)
		}})
	}
	return list, nil
}

// rateOf takes a part that was never asked for as one that never will be.
func rateOf(f stat.Intermittent, err error) (float64, error) {
	if errors.Is(err, stat.ErrNoInformation) {
		return 0, nil
	}
	return f.Rate, err
}

// An outlook is the demand foretold and the chance that it is falling.
type outlook struct {
	ahead   stat.NegativeBinomial
	falling float64
}

// foretold lists what this forecast said of the next days when the first 0, 1, 2, ... weeks were known.
func foretold(weekly []int, prior stat.GammaPrior, days int) ([]outlook, error) {
	f, err := newForecast(prior)
	if err != nil {
		return nil, err
	}
	list := []outlook{{f.Over(days), f.falling()}}
	for _, pieces := range weekly {
		if err := f.Observe(pieces); err != nil {
			return nil, err
		}
		list = append(list, outlook{f.Over(days), f.falling()})
	}
	return list, nil
}
