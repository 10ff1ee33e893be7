package stat

import (
	"fmt"
	"math"
)

// PoissonLimits returns exact two-sided limits for the mean of a Poisson count.
// The lower limit is 0 at count 0; the upper keeps half of 1-conf then too.
//
// Garwood (1936), Biometrika 28, 437-442; chi-square form of Ulm (1990), Am. J. Epidemiol. 131, 373-375.
func PoissonLimits(count int, conf float64) (Interval, error) {
	if err := checkConf(conf); err != nil {
		return Interval{}, err
	}
	if count < 0 {
		return Interval{}, outOfRange("count %d: want 0 or more", count)
	}
	var iv Interval
	var err error
	tail := (1 - conf) / 2
	if count > 0 {
		if iv.Lo, err = gammaQuantile(tail, float64(count)); err != nil {
			return Interval{}, err
		}
	}
	iv.Hi, err = gammaQuantile(1-tail, float64(count)+1)
	return iv, err
}

// PoissonRate returns count/exposure with exact limits, per unit of exposure (> 0).
func PoissonRate(count int, exposure, conf float64) (Estimate, error) {
	if err := checkExposure(exposure); err != nil {
		return Estimate{}, err
	}
	iv, err := PoissonLimits(count, conf)
	return Estimate{float64(count) / exposure, iv.Lo / exposure, iv.Hi / exposure}, err
}

// PoissonUpperTail is P(X >= k) for a Poisson mean: the chance of at least k by luck.
// Small tails are computed as such, never as 1 less something.
func PoissonUpperTail(k int, mean float64) (float64, error) {
	if !(mean >= 0) || math.IsInf(mean, 0) {
		return 0, outOfRange("mean %v: want 0 or more", mean)
	}
	if k <= 0 {
		return 1, nil
	}
	tail, _ := gammaTails(float64(k), mean)
	return tail, nil
}

// A RateComparison is the ratio of two rates with its limits and two-sided p-values of the
// hypothesis that it is 1: exact adds the outcomes no more likely than the observed one;
// mid-p counts those as likely by half.
type RateComparison struct {
	Ratio  Ratio
	P      float64
	MidP   float64
	Higher float64 // one-sided: P of at least as many in the first, mid-p
}

// PoissonRateRatio compares the rates x1/t1 and x2/t2 of two Poisson counts, given their
// sum, with exact limits (coverage at least conf). Two zero counts are ErrNoInformation.
//
// Przyborowski and Wilenski (1940), Biometrika 31, 313-323.
func PoissonRateRatio(x1 int, t1 float64, x2 int, t2, conf float64) (RateComparison, error) {
	return rateRatio(x1, t1, x2, t2, conf, ClopperPearson)
}

// PoissonRateRatioMidP is PoissonRateRatio with mid-p limits (coverage near conf).
func PoissonRateRatioMidP(x1 int, t1 float64, x2 int, t2, conf float64) (RateComparison, error) {
	return rateRatio(x1, t1, x2, t2, conf, MidPShare)
}

func rateRatio(x1 int, t1 float64, x2 int, t2, conf float64, limits func(x, n int, conf float64) (Interval, error)) (RateComparison, error) {
	for _, t := range []float64{t1, t2} {
		if err := checkExposure(t); err != nil {
			return RateComparison{}, err
		}
	}
	switch {
	case x1 < 0 || x2 < 0:
		return RateComparison{}, outOfRange("counts %d and %d: want 0 or more", x1, x2)
	case x1 == 0 && x2 == 0:
		return RateComparison{}, fmt.Errorf("%w: both counts are 0", ErrNoInformation)
	}
	n := x1 + x2
	first, err := limits(x1, n, conf)
	if err != nil {
		return RateComparison{}, err
	}
	second, err := limits(x2, n, conf) // the complement, with its own precision near 0
	if err != nil {
		return RateComparison{}, err
	}
	var c RateComparison
	c.Ratio.Lo = first.Lo / second.Hi * t2 / t1
	if x2 > 0 {
		c.Ratio.Value = bounded(float64(x1) / t1 * t2 / float64(x2))
		c.Ratio.Hi = bounded(first.Hi / second.Lo * t2 / t1)
	}
	share := t1 / (t1 + t2)
	c.P, c.MidP = binomialTwoSided(x1, n, share, t2/(t1+t2))
	up, _ := betaTails(float64(x1), float64(n-x1+1), share, t2/(t1+t2))
	if x1 == 0 {
		up = 1
	}
	c.Higher = probability(up - 0.5*math.Exp(logBinomial(float64(x1), float64(n), share, t2/(t1+t2))))
	return c, nil
}

// BinomialTest is the exact two-sided test that the chance behind x of n is p: exact adds
// the outcomes no more likely than x; midP counts those as likely by half.
func BinomialTest(x, n int, p float64) (exact, midP float64, err error) {
	if err := checkShare(x, n); err != nil {
		return 0, 0, err
	}
	if !(p >= 0 && p <= 1) {
		return 0, 0, outOfRange("chance %v: want 0 to 1", p)
	}
	exact, midP = binomialTwoSided(x, n, p, 1-p)
	return exact, midP, nil
}

// binomialTwoSided walks to the point beyond the mode that is no more likely than x.
func binomialTwoSided(x, n int, p, q float64) (exact, midP float64) {
	const tie = 1e-7
	N := float64(n)
	log := func(v int) float64 { return logBinomial(float64(v), N, p, q) }
	atMost := func(v int) float64 {
		switch {
		case v < 0:
			return 0
		case v >= n:
			return 1
		}
		_, upper := betaTails(float64(v)+1, N-float64(v), p, q)
		return upper
	}
	atLeast := func(v int) float64 {
		switch {
		case v > n:
			return 0
		case v <= 0:
			return 1
		}
		lower, _ := betaTails(float64(v), N-float64(v)+1, p, q)
		return lower
	}
	mode := min(int(math.Floor((N+1)*p)), n)
	at := log(x)
	ties := math.Exp(at)
	var y int
	switch {
	case x < mode:
		y = firstAtMost(mode, n+1, 1, log, at+tie)
		exact = atMost(x) + atLeast(y)
	case x > mode:
		y = firstAtMost(mode, -1, -1, log, at+tie)
		exact = atLeast(x) + atMost(y)
	default:
		y = x - 1 // of two equal modes, mode is the upper one
		exact = 1
	}
	if y >= 0 && y <= n && math.Abs(log(y)-at) <= tie {
		ties += math.Exp(log(y))
	}
	return probability(exact), probability(exact - ties/2)
}

// firstAtMost searches from start towards end (exclusive, returned when there is none) in
// steps of dir for the first value whose log probability is at most limit, given that log
// probabilities fall along the way.
func firstAtMost(start, end, dir int, log func(int) float64, limit float64) int {
	lo, hi := 0, (end-start)*dir
	for lo < hi {
		mid := (lo + hi) / 2
		if log(start+dir*mid) <= limit {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return start + dir*lo
}

func checkExposure(t float64) error {
	if !(t > 0) || math.IsInf(t, 0) {
		return outOfRange("exposure %v: want a positive number", t)
	}
	return nil
}
