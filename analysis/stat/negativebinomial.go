package stat

import "math"

// A NegativeBinomial is the distribution of a count whose rate is gamma distributed: Size is
// the shape (> 0), Mean the expected count (>= 0). As Size grows it becomes Poisson.
// Its chance of success, where one is named, is Size/(Size+Mean).
type NegativeBinomial struct{ Size, Mean float64 }

func (d NegativeBinomial) check() error {
	if !(d.Size > 0) || !(d.Mean >= 0) || math.IsInf(d.Size, 0) || math.IsInf(d.Mean, 0) {
		return outOfRange("negative binomial with size %v and mean %v", d.Size, d.Mean)
	}
	return nil
}

// Variance is Mean + Mean^2/Size.
func (d NegativeBinomial) Variance() float64 { return d.Mean + d.Mean*d.Mean/d.Size }

// PMF is P(X = k).
func (d NegativeBinomial) PMF(k int) (float64, error) {
	if err := d.check(); err != nil {
		return 0, err
	}
	return d.mass(k), nil
}

func (d NegativeBinomial) mass(k int) float64 {
	x := float64(k)
	switch {
	case k < 0:
		return 0
	case d.Mean == 0:
		if k == 0 {
			return 1
		}
		return 0
	case k == 0:
		return math.Exp(-d.Size * math.Log1p(d.Mean/d.Size))
	}
	all := d.Size + d.Mean
	return d.Size / (d.Size + x) * math.Exp(logBinomial(d.Size, d.Size+x, d.Size/all, d.Mean/all))
}

// CDF is P(X <= k), the chance that k is enough.
func (d NegativeBinomial) CDF(k int) (float64, error) {
	if err := d.check(); err != nil {
		return 0, err
	}
	lower, _ := d.tails(k)
	return lower, nil
}

// UpperTail is P(X >= k), small tails with their own precision.
func (d NegativeBinomial) UpperTail(k int) (float64, error) {
	if err := d.check(); err != nil {
		return 0, err
	}
	_, upper := d.tails(k - 1)
	return upper, nil
}

// tails are P(X <= k) and P(X > k).
func (d NegativeBinomial) tails(k int) (lower, upper float64) {
	switch {
	case k < 0:
		return 0, 1
	case d.Mean == 0:
		return 1, 0
	}
	all := d.Size + d.Mean
	return betaTails(d.Size, float64(k)+1, d.Size/all, d.Mean/all)
}

// Quantile is the least k with P(X <= k) >= p, for 0 < p < 1.
func (d NegativeBinomial) Quantile(p float64) (int, error) {
	if err := d.check(); err != nil {
		return 0, err
	}
	return leastCount(p, d.Mean, math.Sqrt(d.Variance()), func(k int) float64 { lower, _ := d.tails(k); return lower })
}

// PoissonQuantile is the least k with P(X <= k) >= p for a Poisson mean, for 0 < p < 1.
func PoissonQuantile(p, mean float64) (int, error) {
	if !(mean >= 0) || math.IsInf(mean, 0) {
		return 0, outOfRange("mean %v: want 0 or more", mean)
	}
	return leastCount(p, mean, math.Sqrt(mean), func(k int) float64 { _, upper := gammaTails(float64(k)+1, mean); return upper })
}

// leastCount searches for the least k >= 0 whose cdf reaches p. A p met to rounding counts.
func leastCount(p, mean, sd float64, cdf func(int) float64) (int, error) {
	if !(p > 0 && p < 1) {
		return 0, outOfRange("quantile %v: want a value between 0 and 1", p)
	}
	enough := func(k int) bool { return cdf(k) >= p*(1-64*epsilon) }
	hi := int(mean+4*sd) + 1
	for !enough(hi) {
		if hi > math.MaxInt/4 {
			return 0, outOfRange("quantile %v of a count with mean %v", p, mean)
		}
		hi *= 2
	}
	lo := -1 // not enough, or below every count
	for hi-lo > 1 {
		if mid := lo + (hi-lo)/2; enough(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, nil
}
