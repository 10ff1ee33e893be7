package stat

import (
	"fmt"
	"math"
)

// Demand here is one number per period, 0 or more, oldest first; forecasts are per period.

// An Intermittent is the state of a forecast that follows sizes and gaps separately.
type Intermittent struct {
	Size     float64 // smoothed size of a demand that is not 0
	Interval float64 // smoothed periods from one to the next
	Rate     float64 // forecast per period
}

// Croston forecasts by smoothing, at each demand, its size and the periods since the last,
// both with alpha in (0, 1]. It starts from the first demand and the periods up to it, so
// needs one demand: a series of zeros is ErrNoInformation. Rate is Size/Interval, which is
// too high on average; see CrostonSBA.
//
// Croston (1972), Operational Research Quarterly 23, 289-303.
func Croston(demand []float64, alpha float64) (Intermittent, error) {
	if err := checkDemand(demand, alpha); err != nil {
		return Intermittent{}, err
	}
	var f Intermittent
	gap := 0.0
	for _, d := range demand {
		gap++
		if d == 0 {
			continue
		}
		if f.Interval == 0 {
			f.Size, f.Interval = d, gap
		} else {
			f.Size += alpha * (d - f.Size)
			f.Interval += alpha * (gap - f.Interval)
		}
		gap = 0
	}
	if f.Interval == 0 {
		return Intermittent{}, fmt.Errorf("%w: no demand in %d periods", ErrNoInformation, len(demand))
	}
	f.Rate = f.Size / f.Interval
	return f, nil
}

// CrostonSBA is Croston with its upward bias taken off: Rate is (1-alpha/2)*Size/Interval.
//
// Syntetos and Boylan (2005), Int. J. Forecasting 21, 303-314.
func CrostonSBA(demand []float64, alpha float64) (Intermittent, error) {
	f, err := Croston(demand, alpha)
	f.Rate *= 1 - alpha/2
	return f, err
}

// CrostonTSB smooths the chance of a demand in every period instead of the gap, so that the
// forecast falls when demand dies out. alpha smooths the size and beta the chance, both in
// (0, 1]. It starts from the first demand and one over the periods up to it, as Croston does.
//
// Teunter, Syntetos and Babai (2011), European J. Operational Research 214, 606-615.
func CrostonTSB(demand []float64, alpha, beta float64) (Intermittent, error) {
	if err := checkDemand(demand, alpha); err != nil {
		return Intermittent{}, err
	}
	for i, d := range demand {
		if d > 0 {
			return TSBFrom(demand[i+1:], alpha, beta, d, 1/float64(i+1))
		}
	}
	return Intermittent{}, fmt.Errorf("%w: no demand in %d periods", ErrNoInformation, len(demand))
}

// TSBFrom is CrostonTSB from a given size (> 0) and chance of demand in (0, 1].
func TSBFrom(demand []float64, alpha, beta, size, chance float64) (Intermittent, error) {
	if !(beta > 0 && beta <= 1) || !(size > 0) || math.IsInf(size, 0) || !(chance > 0 && chance <= 1) {
		return Intermittent{}, outOfRange("beta %v, size %v, chance %v", beta, size, chance)
	}
	if len(demand) > 0 {
		if err := checkDemand(demand, alpha); err != nil {
			return Intermittent{}, err
		}
	}
	for _, d := range demand {
		if d > 0 {
			size += alpha * (d - size)
			chance += beta * (1 - chance)
		} else {
			chance -= beta * chance
		}
	}
	return Intermittent{Size: size, Interval: 1 / chance, Rate: size * chance}, nil
}

// MovingAverage is the mean of the last window periods, or of all if there are fewer.
func MovingAverage(demand []float64, window int) (float64, error) {
	if err := checkDemand(demand, 1); err != nil {
		return 0, err
	}
	if window < 1 {
		return 0, outOfRange("window of %d periods: want 1 or more", window)
	}
	last := demand[max(0, len(demand)-window):]
	sum := 0.0
	for _, d := range last {
		sum += d
	}
	return sum / float64(len(last)), nil
}

func checkDemand(demand []float64, alpha float64) error {
	if !(alpha > 0 && alpha <= 1) {
		return outOfRange("smoothing %v: want above 0, at most 1", alpha)
	}
	if err := checkFinite(demand); err != nil {
		return err
	}
	for i, d := range demand {
		if d < 0 {
			return outOfRange("period %d has demand %v: want 0 or more", i+1, d)
		}
	}
	return nil
}
