package stat

import (
	"fmt"
	"math"
)

// A ChartPoint is one period on a control chart. Known is false for a period without
// trials; its limits are then empty.
type ChartPoint struct {
	Value, Lo, Hi float64
	Known         bool
}

// A Chart is a control chart: the centre line, three-sigma limits per period, and the
// factor by which the limits were widened (1 for plain charts).
type Chart struct {
	Centre float64
	SigmaZ float64
	Points []ChartPoint
}

// PChart charts the share x[i] of n[i] per period with three-sigma binomial limits,
// cut to [0, 1].
//
// Shewhart (1931); NIST/SEMATECH e-Handbook 6.3.3.2.
func PChart(x, n []int) (Chart, error) { return shareChart(x, n, false) }

// LaneyP is PChart with limits widened (or narrowed) by how much neighbouring periods differ
// in units of their binomial standard deviation: moving range over 1.128. It keeps false
// alarms down where periods differ by more than chance. It needs two periods with trials.
//
// Laney (2002), Quality Engineering 14, 531-537.
func LaneyP(x, n []int) (Chart, error) { return shareChart(x, n, true) }

func shareChart(x, n []int, laney bool) (Chart, error) {
	if err := checkLengths(len(x), len(n)); err != nil {
		return Chart{}, err
	}
	exposure := make([]float64, len(n))
	for i := range x {
		if x[i] < 0 || x[i] > n[i] {
			return Chart{}, outOfRange("period %d: %d of %d: want 0 <= x <= n", i+1, x[i], n[i])
		}
		exposure[i] = float64(n[i])
	}
	return chart(x, exposure, laney, func(p float64) float64 { return p * (1 - p) }, 1)
}

// UChart charts the rate x[i] per exposure[i] (>= 0) with three-sigma Poisson limits, cut at 0.
//
// NIST/SEMATECH e-Handbook 6.3.3.1.
func UChart(x []int, exposure []float64) (Chart, error) { return rateChart(x, exposure, false) }

// LaneyU is UChart with limits widened as in LaneyP.
func LaneyU(x []int, exposure []float64) (Chart, error) { return rateChart(x, exposure, true) }

func rateChart(x []int, exposure []float64, laney bool) (Chart, error) {
	if err := checkLengths(len(x), len(exposure)); err != nil {
		return Chart{}, err
	}
	for i, e := range exposure {
		if x[i] < 0 || !(e >= 0) || math.IsInf(e, 0) || (e == 0 && x[i] > 0) {
			return Chart{}, outOfRange("period %d: %d in exposure %v", i+1, x[i], e)
		}
	}
	return chart(x, exposure, laney, func(u float64) float64 { return u }, math.Inf(1))
}

// chart takes the variance of one unit of exposure at the centre, and the ceiling of a value.
func chart(x []int, exposure []float64, laney bool, unitVariance func(float64) float64, ceiling float64) (Chart, error) {
	var events, total float64
	known := 0
	for i, e := range exposure {
		events += float64(x[i])
		total += e
		if e > 0 {
			known++
		}
	}
	if total == 0 {
		return Chart{}, fmt.Errorf("%w: no period has a trial", ErrNoData)
	}
	c := Chart{Centre: events / total, SigmaZ: 1, Points: make([]ChartPoint, len(x))}
	v := unitVariance(c.Centre)
	if laney {
		if known < 2 {
			return Chart{}, fmt.Errorf("%w: 1 period with trials, want 2", ErrTooFew)
		}
		if v > 0 {
			c.SigmaZ = movingSigma(x, exposure, c.Centre, v)
		}
	}
	for i, e := range exposure {
		if e == 0 {
			continue
		}
		half := 3 * c.SigmaZ * math.Sqrt(v/e)
		c.Points[i] = ChartPoint{float64(x[i]) / e, max(c.Centre-half, 0), min(c.Centre+half, ceiling), true}
	}
	return c, nil
}

// movingSigma is the mean absolute difference of neighbouring z scores over 1.128, which
// is the mean range of two standard normal values.
func movingSigma(x []int, exposure []float64, centre, v float64) float64 {
	var sum, before float64
	seen := 0
	for i, e := range exposure {
		if e == 0 {
			continue
		}
		z := (float64(x[i])/e - centre) / math.Sqrt(v/e)
		if seen > 0 {
			sum += math.Abs(z - before)
		}
		before = z
		seen++
	}
	return sum / float64(seen-1) / 1.128
}
