package stat

import "math"

// betaTails returns the lower and upper tail at x of the beta distribution with shapes
// a, b > 0, each with its own relative precision: the smaller one is computed, never
// subtracted from 1. y is 1-x.
//
// Continued fraction DLMF 8.17.22, which takes about sqrt(max(a, b)) steps.
func betaTails(a, b, x, y float64) (lower, upper float64) {
	lower, upper, _ = betaTailsSlope(a, b, x, y)
	return lower, upper
}

// betaTailsSlope adds the slope of the lower tail on the logit scale, x^a y^b / B(a, b).
func betaTailsSlope(a, b, x, y float64) (lower, upper, front float64) {
	switch {
	case x <= 0:
		return 0, 1, 0
	case y <= 0:
		return 1, 0, 0
	}
	front = math.Exp(logBinomial(a, a+b, x, y)) * a / (a + b) * b // the binomial chance of a in a+b
	if x < (a+1)/(a+b+2) {
		lower = min(front*betaFraction(a, b, x)/a, 1)
		return lower, 1 - lower, front
	}
	upper = min(front*betaFraction(b, a, y)/b, 1)
	return 1 - upper, upper, front
}

func betaFraction(a, b, x float64) float64 {
	const tiny = 1e-300
	c := 1.0
	d := 1 / (1 - (a+b)*x/(a+1))
	h := d
	for m := 1.0; m < 1e6; m++ {
		even := m * (b - m) * x / ((a + 2*m - 1) * (a + 2*m))
		d = 1 / nonzero(1+even*d, tiny)
		c = nonzero(1+even/c, tiny)
		h *= d * c
		odd := -(a + m) * (a + b + m) * x / ((a + 2*m) * (a + 2*m + 1))
		d = 1 / nonzero(1+odd*d, tiny)
		c = nonzero(1+odd/c, tiny)
		step := d * c
		h *= step
		if math.Abs(step-1) < epsilon {
			break
		}
	}
	return h
}

func nonzero(v, tiny float64) float64 {
	if math.Abs(v) < tiny {
		return tiny
	}
	return v
}

// gammaTails returns the lower and upper tail at x of the gamma distribution with shape
// a > 0 and scale 1, the smaller one computed directly.
//
// Series DLMF 8.11.4 below the mean, continued fraction DLMF 8.9.2 above it.
func gammaTails(a, x float64) (lower, upper float64) {
	lower, upper, _ = gammaTailsSlope(a, x)
	return lower, upper
}

// gammaTailsSlope adds the slope of the lower tail in log(x), x^a exp(-x) / Gamma(a).
func gammaTailsSlope(a, x float64) (lower, upper, slope float64) {
	if x <= 0 {
		return 0, 1, 0
	}
	front := math.Exp(logPoisson(a, x)) // x^a exp(-x) / Gamma(a+1)
	slope = front * a
	if x < a+1 {
		sum, term := 1.0, 1.0
		for n := 1.0; n < 1e7; n++ {
			term *= x / (a + n)
			sum += term
			if term < sum*epsilon/4 {
				break
			}
		}
		lower = min(front*sum, 1)
		return lower, 1 - lower, slope
	}
	const tiny = 1e-300
	b := x + 1 - a
	c := 1 / tiny
	d := 1 / b
	h := d
	for n := 1.0; n < 1e7; n++ {
		k := -n * (n - a)
		b += 2
		d = 1 / nonzero(k*d+b, tiny)
		c = nonzero(b+k/c, tiny)
		step := d * c
		h *= step
		if math.Abs(step-1) < epsilon {
			break
		}
	}
	upper = min(front*a*h, 1)
	return 1 - upper, upper, slope
}

// betaQuantile is the x whose lower tail is p, for shapes a, b > 0 and 0 < p < 1.
// The search runs on the logit, so limits near 0 and 1 keep their relative precision.
func betaQuantile(p, a, b float64) (float64, error) {
	excess := func(u float64) float64 {
		x, y := expit(u)
		lower, upper := betaTails(a, b, x, y)
		if p <= 0.5 {
			return math.Log(max(lower, leastP)) - math.Log(p)
		}
		return math.Log1p(-p) - math.Log(max(upper, leastP))
	}
	spread := math.Sqrt(1/a + 1/b)
	u, err := findRootFrom(excess, math.Log(a/b)+spread*normalQuantile(p), 0.1*spread)
	if err != nil {
		return 0, err
	}
	x, _ := expit(u)
	return x, nil
}

// gammaQuantile is the x whose lower tail is p, for shape a > 0, scale 1 and 0 < p < 1.
func gammaQuantile(p, a float64) (float64, error) {
	excess := func(u float64) float64 {
		lower, upper := gammaTails(a, math.Exp(u))
		if p <= 0.5 {
			return math.Log(max(lower, leastP)) - math.Log(p)
		}
		return math.Log1p(-p) - math.Log(max(upper, leastP))
	}
	spread := math.Sqrt(1 / a)
	u, err := findRootFrom(excess, math.Log(a)+spread*normalQuantile(p), 0.1*spread)
	return math.Exp(u), err
}

// expit returns 1/(1+exp(-u)) and its complement, neither by subtraction.
func expit(u float64) (x, y float64) {
	if u >= 0 {
		e := math.Exp(-u)
		return 1 / (1 + e), e / (1 + e)
	}
	e := math.Exp(u)
	return e / (1 + e), 1 / (1 + e)
}

// chiSquareTail is P(chi-square with df degrees of freedom >= x).
func chiSquareTail(x float64, df int) float64 {
	_, upper := gammaTails(float64(df)/2, x/2)
	return probability(upper)
}

// chiSquareQuantile is the x with P(chi-square <= x) = p.
func chiSquareQuantile(p float64, df int) (float64, error) {
	q, err := gammaQuantile(p, float64(df)/2)
	return 2 * q, err
}

// studentTwoSided is P(|T| >= |t|) for Student's t with df > 0 degrees of freedom.
func studentTwoSided(t, df float64) float64 {
	d := df + t*t
	lower, _ := betaTails(df/2, 0.5, df/d, t*t/d)
	return probability(lower)
}

// studentFor is the two-sided quantile of Student's t: P(|T| <= t) = conf.
func studentFor(conf, df float64) (float64, error) {
	if df > 1e7 {
		return zFor(conf), nil
	}
	x, err := betaQuantile(1-conf, df/2, 0.5)
	if err != nil {
		return 0, err
	}
	return math.Sqrt(df * (1 - x) / x), nil
}
