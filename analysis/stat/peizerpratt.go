package stat

import "math"

// Tails in closed form for large shapes, where the continued fractions take thousands of
// steps. They serve averages over many distributions, where four digits of a tail are plenty.
//
// Peizer and Pratt (1968), J. Am. Stat. Assoc. 63, 1416-1456.

// leastClosed is the least shape for which the closed form is used: from there on its
// relative error is below 0.0002 in tails down to 0.0001, which moves a limit by less than
// a ten-thousandth of a standard deviation.
const leastClosed = 100

// closedBetaTails is betaTailsSlope, in closed form where both shapes are large.
func closedBetaTails(a, b, x, y float64) (lower, upper, slope float64) {
	if min(a, b) < leastClosed || x <= 0 || y <= 0 {
		return betaTailsSlope(a, b, x, y)
	}
	s, t, n := a-0.5, b-0.5, a+b-1
	d := s + 1.0/6 - (n+1.0/3)*x + 0.02*(y/a-x/b+(y-0.5)/(a+b))
	z := closedScore(d, s-n*x, deviance(s, n*x)+deviance(t, n*y), n*x*y) / math.Sqrt(1+1/(6*n))
	slope = math.Exp(logBinomial(a, a+b, x, y)) * a / (a + b) * b
	return normalCDF(-z), normalCDF(z), slope
}

// closedGammaTails is gammaTailsSlope, in closed form where the shape is large.
func closedGammaTails(a, x float64) (lower, upper, slope float64) {
	if a < leastClosed || x <= 0 {
		return gammaTailsSlope(a, x)
	}
	s := a - 0.5
	d := a - 1.0/3 - x + 0.02/a
	z := closedScore(d, s-x, deviance(s, x), x)
	return normalCDF(-z), normalCDF(z), math.Exp(logPoisson(a, x)) * a
}

// closedScore is d times sqrt(2*dev)/|gap|, which tends to d/sqrt(variance) as the gap closes.
func closedScore(d, gap, dev, variance float64) float64 {
	if math.Abs(gap) < 1e-3*math.Sqrt(variance) {
		return d / math.Sqrt(variance)
	}
	return d / math.Abs(gap) * math.Sqrt(2*dev)
}
