package stat

import (
	"fmt"
	"math"
)

// RiskRatioScore returns the ratio of two shares, x1 of n1 over x2 of n2, with limits from
// inverting the score test (Koopman). With x2 = 0 the ratio and its upper limit are
// unbounded; with x1 = 0 the ratio and its lower limit are 0; with both 0 there is
// ErrNoInformation. Coverage stays near conf in small samples, where Katz's does not.
//
// Koopman (1984), Biometrics 40, 513-517.
func RiskRatioScore(x1, n1, x2, n2 int, conf float64) (Ratio, error) {
	if err := checkTwo(x1, n1, x2, n2, conf); err != nil {
		return Ratio{}, err
	}
	if x1 == 0 && x2 == 0 {
		return Ratio{}, fmt.Errorf("%w: no case in either group", ErrNoInformation)
	}
	z := zFor(conf)
	p1, p2 := float64(x1)/float64(n1), float64(x2)/float64(n2)
	var r Ratio
	if x2 > 0 {
		r.Value = bounded(p1 / p2)
	}
	// A start that is always finite, and a step of about one standard error.
	start := math.Log((float64(x1) + 0.5) / (float64(n1) + 0.5) * (float64(n2) + 0.5) / (float64(x2) + 0.5))
	spread := math.Sqrt(1/(float64(x1)+0.5) + 1/(float64(x2)+0.5))
	signed := func(theta float64) float64 { return scoreZ(x1, n1, x2, n2, math.Exp(theta)) }
	if x1 > 0 {
		theta, err := findRootFrom(func(v float64) float64 { return z - signed(v) }, start-z*spread, 0.5*spread)
		if err != nil {
			return Ratio{}, err
		}
		r.Lo = math.Exp(theta)
	}
	if x2 > 0 {
		theta, err := findRootFrom(func(v float64) float64 { return -z - signed(v) }, start+z*spread, 0.5*spread)
		if err != nil {
			return Ratio{}, err
		}
		r.Hi = bounded(math.Exp(theta))
	}
	return r, nil
}

// scoreZ is the signed root of the score statistic for ratio phi: positive where the
// observed ratio is larger. It falls as phi rises.
func scoreZ(x1, n1, x2, n2 int, phi float64) float64 {
	a, m, b, n := float64(x1), float64(n1), float64(x2), float64(n2)
	// Most likely shares with p1 = phi*p2.
	p2 := rootWithin((m+n)*phi, -(m*phi + a + n + b*phi), a+b)
	p1 := min(phi*p2, 1)
	chi := scorePart(a, m, p1) + scorePart(b, n, min(p2, 1))
	if a/m < phi*b/n {
		return -math.Sqrt(chi)
	}
	return math.Sqrt(chi)
}

// scorePart is (x-np)^2/(np(1-p)), in the forms that stand at the ends of [0, 1].
func scorePart(x, n, p float64) float64 {
	switch {
	case x == 0:
		return n * p / (1 - p)
	case x == n:
		return n * (1 - p) / p
	}
	d := x - n*p
	return d * d / (n * p * (1 - p))
}

// RiskRatioKatz returns the ratio of two shares with limits symmetric on the log scale.
// It needs a case in both groups, else ErrNoInformation. Use RiskRatioScore for small counts.
//
// Katz, Baptista, Azen and Pike (1978), Biometrics 34, 469-474.
func RiskRatioKatz(x1, n1, x2, n2 int, conf float64) (Ratio, error) {
	if err := checkTwo(x1, n1, x2, n2, conf); err != nil {
		return Ratio{}, err
	}
	if x1 == 0 || x2 == 0 {
		return Ratio{}, fmt.Errorf("%w: log ratio of %d/%d to %d/%d", ErrNoInformation, x1, n1, x2, n2)
	}
	a, m, b, n := float64(x1), float64(n1), float64(x2), float64(n2)
	return logRatio(a/m/(b/n), math.Sqrt((m-a)/(a*m)+(n-b)/(b*n)), conf), nil
}

func checkTwo(x1, n1, x2, n2 int, conf float64) error {
	if err := checkConf(conf); err != nil {
		return err
	}
	if err := checkShare(x1, n1); err != nil {
		return fmt.Errorf("first group: %w", err)
	}
	if err := checkShare(x2, n2); err != nil {
		return fmt.Errorf("second group: %w", err)
	}
	return nil
}
