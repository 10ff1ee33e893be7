package stat

import "math"

// Combine is the sum of factor[i] times estimate[i], independent of each other, with limits
// recovered from their own. Minutes saved by one opening, for example, are the mean of the
// first job plus that of the second less that of both together: factors 1, 1, -1.
//
// Method of variance estimates recovery (MOVER): Zou and Donner (2008), Statistics in
// Medicine 27, 1693-1702; for sums Zou, Huang and Zhang (2009), Comput. Stat. Data Anal. 53,
// 1080-1085.
func Combine(factor []float64, estimate []Estimate) (Estimate, error) {
	if err := checkLengths(len(factor), len(estimate)); err != nil {
		return Estimate{}, err
	}
	var sum Estimate
	var down, up float64
	for i, e := range estimate {
		f := factor[i]
		if math.IsNaN(f) || math.IsInf(f, 0) || !(e.Lo <= e.Value && e.Value <= e.Hi) || math.IsInf(e.Lo, 0) || math.IsInf(e.Hi, 0) {
			return Estimate{}, outOfRange("part %d: %v times %+v", i+1, f, e)
		}
		sum.Value += f * e.Value
		below, above := f*(e.Value-e.Lo), f*(e.Hi-e.Value)
		if f < 0 {
			below, above = -above, -below
		}
		down += below * below
		up += above * above
	}
	sum.Lo, sum.Hi = sum.Value-math.Sqrt(down), sum.Value+math.Sqrt(up)
	return sum, nil
}

// recoverDifference is a - b with limits recovered from those of a and of b, which must be
// independent. Newcombe's difference of shares is a case of it.
func recoverDifference(a, b Estimate) Estimate {
	d := a.Value - b.Value
	return Estimate{
		Value: d,
		Lo:    d - math.Hypot(a.Value-a.Lo, b.Hi-b.Value),
		Hi:    d + math.Hypot(a.Hi-a.Value, b.Value-b.Lo),
	}
}
