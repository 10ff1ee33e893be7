package stat

import (
	"math"
	"slices"
)

// FitRobustOthers gives for each of two or more finite values FitRobust of all the others, in the order given. The median
// of the others is one of three at most, so that all of it takes the time of a few sorts.
func FitRobustOthers(values []float64) ([]RobustScale, error) {
	if err := checkFinite(values); err != nil {
		return nil, err
	}
	if len(values) < 2 {
		return nil, outOfRange("%d values: want 2 or more, for there to be others", len(values))
	}
	type around struct {
		away []float64 // sorted
		sum  float64
	}
	sorted, seen := slices.Sorted(slices.Values(values)), map[float64]around{}
	scales := make([]RobustScale, len(values))
	for i, v := range values {
		mid := medianWithout(sorted, v)
		a, ok := seen[mid]
		if !ok {
			a.away, a.sum = deviations(values, mid)
			slices.Sort(a.away)
			seen[mid] = a
		}
		own := math.Abs(v - mid)
		scales[i] = newRobustScale(mid, medianWithout(a.away, own), (a.sum-own)/float64(len(values)-1))
	}
	return scales, nil
}

// medianWithout is the median of two or more sorted values but for one of them.
func medianWithout(sorted []float64, one float64) float64 {
	gap, _ := slices.BinarySearch(sorted, one)
	at := func(i int) float64 {
		if i >= gap {
			i++
		}
		return sorted[i]
	}
	n := len(sorted) - 1
	return (at((n-1)/2) + at(n/2)) / 2
}
