package stat

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// A CountSeries is x[i] of n[i] at score[i], groups in any order.
type CountSeries struct {
	X, N  []int
	Score []float64
}

// A ScalePrior says how far variances usually stray from binomial: about Scale times as
// large, a guess worth DF degrees of freedom (0: no guess; they differ too much to lend).
type ScalePrior struct{ Scale, DF float64 }

// A TrendResult is the outcome for one series: a test, or why there is none.
type TrendResult struct {
	Test
	Err error
}

// TrendsTogether is TrendOverdispersed for many series at once that lend each other their
// scatter. Twelve months say little about the scatter of one series; the scatters of all
// are alike, so each is drawn towards the usual one. This keeps the type I error and finds
// far more under a correction for many tests, where Student's t with 10 degrees of freedom
// asks for enormous slopes. Series with less than one expected event a group neither lend
// nor shape the prior. Results are in the order given; a series that can't be tested has Err.
//
// Smyth (2004), Statistical Applications in Genetics and Molecular Biology 3(1), article 3.
func TrendsTogether(list []CountSeries) ([]TrendResult, ScalePrior, error) {
	if len(list) == 0 {
		return nil, ScalePrior{}, fmt.Errorf("%w: empty list", ErrNoData)
	}
	results := make([]TrendResult, len(list))
	trends := make([]trend, len(list))
	var scales, dfs []float64
	for i, s := range list {
		g, err := newTrend(s.X, s.N, s.Score)
		if err == nil && g.groups < 4 {
			err = fmt.Errorf("%w: %d groups with trials, want 4", ErrTooFew, g.groups)
		}
		if errors.Is(err, ErrOutOfRange) {
			return nil, ScalePrior{}, fmt.Errorf("series %d: %w", i+1, err)
		}
		results[i].Err, trends[i] = err, g
		if err != nil || !g.lends() {
			continue
		}
		if scale := g.scale(s.X, s.N, s.Score); scale > 0 {
			scales, dfs = append(scales, scale), append(dfs, float64(g.groups-2))
		}
	}
	prior := fitScales(scales, dfs)
	for i, s := range list {
		if results[i].Err != nil {
			continue
		}
		g := trends[i]
		df := float64(g.groups - 2)
		scale := g.scale(s.X, s.N, s.Score)
		if prior.DF > 0 && g.lends() {
			scale = (prior.DF*prior.Scale + df*scale) / (prior.DF + df)
			df += prior.DF
		}
		results[i].Test = g.scaled(scale, df)
	}
	return results, prior, nil
}

// lends reports whether events and others are common enough for the scatter to mean something.
func (g trend) lends() bool {
	rarer := g.trials * min(g.share, 1-g.share)
	return rarer >= float64(g.groups)
}

// mostLent bounds what a prior may be worth, for when all scatters look the same.
const mostLent = 200

// fitScales matches the mean and variance of the logs of scaled chi-square variances.
// With fewer than 5 series there is nothing to learn it from.
func fitScales(scales, df []float64) ScalePrior {
	if len(scales) < 5 {
		return ScalePrior{}
	}
	n := float64(len(scales))
	var mean, noise float64
	logs := make([]float64, len(scales))
	for i, s := range scales {
		logs[i] = math.Log(s) - mathext.Digamma(df[i]/2) + math.Log(df[i]/2)
		mean += logs[i] / n
		noise += mathext.Zeta(2, df[i]/2) / n
	}
	variance := 0.0
	for _, l := range logs {
		variance += (l - mean) * (l - mean) / (n - 1)
	}
	d := mostLent / 2.0
	if excess := variance - noise; excess > mathext.Zeta(2, d) {
		d = trigammaInverse(excess)
	}
	return ScalePrior{Scale: math.Exp(mean + mathext.Digamma(d) - math.Log(d)), DF: 2 * d}
}

// trigammaInverse is the x > 0 with trigamma(x) = y, by bisection on the log: trigamma falls.
func trigammaInverse(y float64) float64 {
	lo, hi := -20.0, 20.0
	for range 80 {
		if mid := (lo + hi) / 2; mathext.Zeta(2, math.Exp(mid)) > y {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Exp((lo + hi) / 2)
}
