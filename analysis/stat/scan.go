package stat

import (
	"fmt"
	"math"
)

// BernoulliLLR is the log likelihood ratio of a window that holds inside cases in visits
// trials, of cases in trials in all, against one chance everywhere; 0 where the share
// inside is not above that outside. It is half the likelihood-ratio chi-square of the 2x2 table.
//
// Kulldorff (1997), Communications in Statistics 26, 1481-1496.
func BernoulliLLR(inside, visits, cases, trials int) (float64, error) {
	if inside < 0 || inside > visits || cases-inside > trials-visits || cases < inside || visits > trials {
		return 0, outOfRange("%d of %d inside, %d of %d in all", inside, visits, cases, trials)
	}
	if trials == 0 {
		return 0, fmt.Errorf("%w: no trial", ErrNoData)
	}
	c, n, C, N := float64(inside), float64(visits), float64(cases), float64(trials)
	if n == 0 || n == N || c*(N-n) <= (C-c)*n {
		return 0, nil
	}
	// Each cell against its expectation, as deviances: their linear parts add up to 0.
	return deviance(c, C*n/N) + deviance(C-c, C*(N-n)/N) +
		deviance(n-c, (N-C)*n/N) + deviance(N-n-C+c, (N-C)*(N-n)/N), nil
}

// PoissonLLR is the log likelihood ratio of a window that holds inside events where expected
// were, of total events in all; 0 where inside is not above expected.
//
// Kulldorff (1997), as above.
func PoissonLLR(inside int, expected float64, total int) (float64, error) {
	if inside < 0 || inside > total || !(expected > 0 && expected < float64(total)) {
		return 0, outOfRange("%d inside with %v expected, %d in all", inside, expected, total)
	}
	c, C := float64(inside), float64(total)
	if c <= expected {
		return 0, nil
	}
	return deviance(c, expected) + deviance(C-c, C-expected), nil
}

// MonteCarloP is the p-value of observed among simulated maxima: the rank of observed
// over one more than the number of simulations, so it is never 0 and never too small.
//
// Barnard (1963) in Bartlett, J. R. Stat. Soc. B 25, 294; Dwass (1957).
func MonteCarloP(observed float64, simulated []float64) (float64, error) {
	if err := checkFinite(simulated); err != nil {
		return 0, err
	}
	if math.IsNaN(observed) || math.IsInf(observed, 0) {
		return 0, outOfRange("observed %v", observed)
	}
	atLeast := 0
	for _, v := range simulated {
		if v >= observed {
			atLeast++
		}
	}
	return float64(1+atLeast) / float64(1+len(simulated)), nil
}

// MaximumP is MonteCarloP, continued by the Gumbel tail of the simulated maxima where none
// reaches observed; the smaller of the two is then returned.
//
// Abrams, Kleinman and Kulldorff (2010), Int. J. Health Geographics 9, 61.
func MaximumP(observed float64, simulated []float64) (float64, error) {
	p, err := MonteCarloP(observed, simulated)
	if err != nil {
		return 0, err
	}
	if p > 1/float64(1+len(simulated)) {
		return p, nil
	}
	g, err := FitGumbel(simulated)
	if err != nil {
		return p, nil // too few or equal maxima: the rank stands alone
	}
	return min(p, g.UpperTail(observed)), nil
}

// A Gumbel is the distribution of a largest value.
type Gumbel struct{ Location, Scale float64 }

// FitGumbel fits by moments, the standard deviation taken with n-1. It needs 2 values that
// differ.
func FitGumbel(maxima []float64) (Gumbel, error) {
	if err := checkFinite(maxima); err != nil {
		return Gumbel{}, err
	}
	if len(maxima) < 2 {
		return Gumbel{}, fmt.Errorf("%w: 1 value, want 2", ErrTooFew)
	}
	n, mean, squares := float64(len(maxima)), 0.0, 0.0
	for _, v := range maxima {
		mean += v / n
	}
	for _, v := range maxima {
		squares += (v - mean) * (v - mean)
	}
	if squares == 0 {
		return Gumbel{}, fmt.Errorf("%w: all %d values are equal", ErrNoInformation, len(maxima))
	}
	const eulerGamma = 0.577215664901532860606512090082
	scale := math.Sqrt(squares/(n-1)) * math.Sqrt(6) / math.Pi
	return Gumbel{Location: mean - eulerGamma*scale, Scale: scale}, nil
}

// UpperTail is P(largest >= x), precise in the tail.
func (g Gumbel) UpperTail(x float64) float64 {
	return probability(-math.Expm1(-math.Exp(-(x - g.Location) / g.Scale)))
}

// RecurrenceDays is how often, in days, chance alone would raise as strong a signal in a
// scan run every so many days: every/p.
//
// Kulldorff et al. (2005), PLoS Medicine 2, e59.
func RecurrenceDays(p, every float64) (float64, error) {
	if !(p > 0 && p <= 1) {
		return 0, outOfRange("p-value %v: want above 0, at most 1", p)
	}
	if err := checkExposure(every); err != nil {
		return 0, err
	}
	return every / p, nil
}

func checkFinite(values []float64) error {
	if len(values) == 0 {
		return fmt.Errorf("%w: empty list", ErrNoData)
	}
	for i, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return outOfRange("value %d is %v", i+1, v)
		}
	}
	return nil
}
