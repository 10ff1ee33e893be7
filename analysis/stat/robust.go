package stat

import (
	"fmt"
	"math"
	"sort"
)

// A RobustScale is a centre and a spread that a few odd values can't move.
type RobustScale struct {
	Median float64
	MAD    float64     // median absolute deviation from the median, raw
	Source SpreadBasis // what Score divides by
	unit   float64     // spread in units of a normal standard deviation; 0 if all are equal
}

// SpreadBasis says what a score rests on.
type SpreadBasis string

const (
	SpreadMAD  SpreadBasis = "median deviation"
	SpreadMean SpreadBasis = "mean deviation" // more than half of the values are equal, so MAD is 0
	SpreadNone SpreadBasis = "none"           // all values are equal
)

// FitRobust takes the median and the median absolute deviation of finite values. Where more
// than half of the values are equal that deviation is 0, and the mean absolute deviation
// takes its place; where all are equal there is no spread and Score can't tell.
//
// Iglewicz and Hoaglin (1993), How to Detect and Handle Outliers, ASQC: 0.6745 and, for the
// fallback, 1.253314.
func FitRobust(values []float64) (RobustScale, error) {
	if err := checkFinite(values); err != nil {
		return RobustScale{}, err
	}
	mid := median(values)
	away, sum := deviations(values, mid)
	return newRobustScale(mid, median(away), sum/float64(len(values))), nil
}

// newRobustScale takes the median, and the median and the mean of the absolute deviations from it.
func newRobustScale(median, mad, mean float64) RobustScale {
	r := RobustScale{Median: median, MAD: mad, Source: SpreadMAD, unit: mad / 0.6745}
	if mad == 0 {
		r.Source, r.unit = SpreadMean, 1.253314*mean
	}
	if r.unit == 0 {
		r.Source = SpreadNone
	}
	return r
}

// deviations are absolute, in the order of the values.
func deviations(values []float64, from float64) (away []float64, sum float64) {
	away = make([]float64, len(values))
	for i, v := range values {
		away[i] = math.Abs(v - from)
		sum += away[i]
	}
	return away, sum
}

// Score is the modified z of a value: beyond 3.5 either way it is worth a look. With no
// spread the median itself scores 0 and anything else is ErrNoInformation.
func (r RobustScale) Score(v float64) (float64, error) {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return 0, outOfRange("value %v", v)
	case v == r.Median:
		return 0, nil
	case r.unit == 0:
		return 0, fmt.Errorf("%w: all values it is compared with are equal", ErrNoInformation)
	}
	return (v - r.Median) / r.unit, nil
}

// ModifiedZ scores each value against all of them, in the order given; see FitRobust.
func ModifiedZ(values []float64) ([]float64, error) {
	r, err := FitRobust(values)
	if err != nil {
		return nil, err
	}
	z := make([]float64, len(values))
	for i, v := range values {
		if z[i], err = r.Score(v); err != nil {
			return nil, err
		}
	}
	return z, nil
}

// SampleQuantile is the p-quantile of the values, 0 <= p <= 1, by linear interpolation
// between order statistics (R's default, type 7 of Hyndman and Fan (1996), The American
// Statistician 50, 361-365). The input is not changed.
func SampleQuantile(values []float64, p float64) (float64, error) {
	if err := checkFinite(values); err != nil {
		return 0, err
	}
	if !(p >= 0 && p <= 1) {
		return 0, outOfRange("quantile %v: want 0 to 1", p)
	}
	sorted := append([]float64(nil), values...)
	sort.Float64s(sorted)
	at := p * float64(len(sorted)-1)
	i := int(at)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1], nil
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i]), nil
}

func median(values []float64) float64 {
	sorted := append([]float64(nil), values...)
	sort.Float64s(sorted)
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
