package stat

import "math"

// CriticalRatio is the chance of no stockout that costs least: shortage is what one unit
// short costs, surplus what one unit left over costs, both per unit and positive.
//
// Newsvendor problem, Arrow, Harris and Marschak (1951), Econometrica 19, 250-272.
func CriticalRatio(shortage, surplus float64) (float64, error) {
	if !(shortage > 0) || !(surplus > 0) || math.IsInf(shortage, 0) || math.IsInf(surplus, 0) {
		return 0, outOfRange("costs %v short and %v left over: want positive numbers", shortage, surplus)
	}
	return shortage / (shortage + surplus), nil
}

// NormalLoss is E(Z - z)+ for a standard normal Z: expected shortage in standard deviations.
func NormalLoss(z float64) (float64, error) {
	if math.IsNaN(z) || math.IsInf(z, 0) {
		return 0, outOfRange("z %v", z)
	}
	density := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
	return max(density-z*normalCDF(-z), 0), nil
}

// PoissonBackorders is E(X - level)+ for a Poisson mean: the expected number short.
//
// Sherbrooke, Optimal Inventory Modeling of Systems, ch. 2.
func PoissonBackorders(level int, mean float64) (float64, error) {
	if !(mean >= 0) || math.IsInf(mean, 0) {
		return 0, outOfRange("mean %v: want 0 or more", mean)
	}
	if mean == 0 {
		return max(-float64(level), 0), nil
	}
	mass := func(k int) float64 { return math.Exp(logPoisson(float64(k), mean)) }
	return expectedShort(level, mean, mass, func(k int) float64 { return mean / float64(k+1) }), nil
}

// Backorders is E(X - level)+: the expected number short when level is at hand.
func (d NegativeBinomial) Backorders(level int) (float64, error) {
	if err := d.check(); err != nil {
		return 0, err
	}
	if d.Mean == 0 {
		return max(-float64(level), 0), nil
	}
	q := d.Mean / (d.Size + d.Mean)
	return expectedShort(level, d.Mean, d.mass, func(k int) float64 { return (d.Size + float64(k)) / float64(k+1) * q }), nil
}

// expectedShort sums from level away from the mean, so that nothing cancels and only terms
// that matter are visited. ratio(k) is mass(k+1)/mass(k).
func expectedShort(level int, mean float64, mass func(int) float64, ratio func(int) float64) float64 {
	if level <= 0 {
		return mean - float64(level)
	}
	if float64(level) > mean {
		sum, p := 0.0, mass(level+1)
		for k := level + 1; ; k++ {
			term := float64(k-level) * p
			sum += term
			if term <= sum*epsilon/16 {
				return sum
			}
			p *= ratio(k)
		}
	}
	left, p := 0.0, mass(level-1)
	for k := level - 1; k >= 0; k-- {
		term := float64(level-k) * p
		left += term
		if term <= left*epsilon/16 || k == 0 {
			break
		}
		p /= ratio(k - 1)
	}
	return mean - float64(level) + left
}
