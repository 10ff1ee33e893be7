package stat

import (
	"fmt"
	"math"
)

// MantelHaenszelOdds pools the odds ratio over strata, each a 2x2 table, assuming one
// odds ratio common to all. Limits come from the Robins-Breslow-Greenland variance of
// the log, valid for few large and for many sparse strata. Strata with an empty margin
// carry no weight. Where no stratum has both diagonal cells (or both others) filled, the
// estimate is 0 or unbounded and the limits are those of OddsRatioStratified.
//
// Mantel and Haenszel (1959), J. Natl. Cancer Inst. 22, 719-748; Robins, Breslow and
// Greenland (1986), Biometrics 42, 311-323.
func MantelHaenszelOdds(strata []Table2, conf float64) (Ratio, error) {
	m, err := mantelHaenszel(strata, conf)
	if err != nil {
		return Ratio{}, err
	}
	if m.r == 0 || m.s == 0 {
		return OddsRatioStratified(strata, conf)
	}
	return logRatio(m.r/m.s, m.logSE(), conf), nil
}

// LogMantelHaenszelOdds returns the log of the pooled odds ratio and its standard error,
// for use where several pooled ratios are combined. It is ErrNoInformation where the
// ratio is 0 or unbounded.
func LogMantelHaenszelOdds(strata []Table2) (logOdds, se float64, err error) {
	m, err := mantelHaenszel(strata, 0.95)
	if err != nil {
		return 0, 0, err
	}
	if m.r == 0 || m.s == 0 {
		return 0, 0, fmt.Errorf("%w: pooled odds ratio is 0 or unbounded", ErrNoInformation)
	}
	return math.Log(m.r / m.s), m.logSE(), nil
}

// mhSums are the sums that the estimator and its variance are made of.
type mhSums struct{ r, s, pr, mixed, qs float64 }

func (m *mhSums) add(t Table2) {
	n := float64(t.total())
	if n == 0 {
		return
	}
	a, b, c, d := float64(t.A), float64(t.B), float64(t.C), float64(t.D)
	r, s, p, q := a*d/n, b*c/n, (a+d)/n, (b+c)/n
	m.r += r
	m.s += s
	m.pr += p * r
	m.mixed += p*s + q*r
	m.qs += q * s
}

func (m mhSums) logSE() float64 {
	return math.Sqrt(m.pr/(2*m.r*m.r) + m.mixed/(2*m.r*m.s) + m.qs/(2*m.s*m.s))
}

func mantelHaenszel(strata []Table2, conf float64) (mhSums, error) {
	if err := checkStrata(strata, conf); err != nil {
		return mhSums{}, err
	}
	var m mhSums
	for _, t := range strata {
		m.add(t)
	}
	if m.r == 0 && m.s == 0 {
		return mhSums{}, fmt.Errorf("%w: no stratum compares the two groups", ErrNoInformation)
	}
	return m, nil
}

// MantelHaenszelRisk pools the ratio of risks A/(A+B) over C/(C+D) over strata, with the
// Greenland-Robins variance of the log. With no case in one of the groups the ratio is 0
// or unbounded and no limit can be given by this method: ErrNoInformation.
//
// Greenland and Robins (1985), Biometrics 41, 55-68.
func MantelHaenszelRisk(strata []Table2, conf float64) (Ratio, error) {
	if err := checkStrata(strata, conf); err != nil {
		return Ratio{}, err
	}
	var top, bottom, spread float64
	for _, t := range strata {
		n := float64(t.total())
		if n == 0 {
			continue
		}
		a, c := float64(t.A), float64(t.C)
		row1, row2 := float64(t.A+t.B), float64(t.C+t.D)
		top += a * row2 / n
		bottom += c * row1 / n
		spread += (row1*row2*(a+c)/n - a*c) / n
	}
	if top == 0 || bottom == 0 {
		return Ratio{}, fmt.Errorf("%w: no stratum has cases to compare in both groups", ErrNoInformation)
	}
	return logRatio(top/bottom, math.Sqrt(spread/(top*bottom)), conf), nil
}

// CMH is the Cochran-Mantel-Haenszel test that the odds ratio is 1 in every stratum:
// chi-square with one degree of freedom. corrected takes 1/2 off the difference, for
// agreement with the exact test; without it the test has more power and, where the
// expected counts are small, a type I error that is no longer below its level.
//
// Mantel and Haenszel (1959), as above.
func CMH(strata []Table2, corrected bool) (Test, error) {
	if err := checkStrata(strata, 0.95); err != nil {
		return Test{}, err
	}
	var excess, variance float64
	for _, t := range strata {
		n := float64(t.total())
		if n < 2 {
			continue
		}
		row, other := float64(t.A+t.B), float64(t.C+t.D)
		col, rest := float64(t.A+t.C), float64(t.B+t.D)
		excess += float64(t.A) - row*col/n
		variance += row / n * other / n * col * rest / (n - 1)
	}
	if variance == 0 {
		return Test{}, fmt.Errorf("%w: no stratum compares the two groups", ErrNoInformation)
	}
	excess = math.Abs(excess)
	if corrected {
		excess = max(excess-0.5, 0)
	}
	chi := excess * excess / variance
	return Test{Statistic: chi, DF: 1, P: normalTwoSided(math.Sqrt(chi))}, nil
}

// Homogeneity is the Breslow-Day test that all strata share one odds ratio, plain and
// with Tarone's correction, which makes the statistic chi-square when the Mantel-Haenszel
// estimate is used. Report Tarone's.
type Homogeneity struct {
	BreslowDay, Tarone float64
	DF                 int     // informative strata less one
	P, TaroneP         float64 // of BreslowDay and of Tarone
}

// BreslowDayTarone tests whether the odds ratio is the same in every stratum. It needs two
// strata with full margins and a pooled odds ratio that is neither 0 nor unbounded; else
// ErrNoInformation. The chi-square is rough when strata hold few expected cases.
//
// Breslow and Day (1980), Statistical Methods in Cancer Research I, 142; Tarone (1985),
// Biometrika 72, 91-95.
func BreslowDayTarone(strata []Table2) (Homogeneity, error) {
	m, err := mantelHaenszel(strata, 0.95)
	if err != nil {
		return Homogeneity{}, err
	}
	if m.r == 0 || m.s == 0 {
		return Homogeneity{}, fmt.Errorf("%w: pooled odds ratio is 0 or unbounded", ErrNoInformation)
	}
	psi := m.r / m.s
	var h Homogeneity
	var gap, variance float64
	informative := 0
	for _, t := range strata {
		if t.fixed() {
			continue
		}
		informative++
		fit, v := fittedCell(t, psi)
		diff := float64(t.A) - fit
		h.BreslowDay += diff * diff / v
		gap += diff
		variance += v
	}
	if informative < 2 {
		return Homogeneity{}, fmt.Errorf("%w: %d stratum with full margins, want 2", ErrNoInformation, informative)
	}
	h.DF = informative - 1
	h.Tarone = max(h.BreslowDay-gap*gap/variance, 0)
	h.P, h.TaroneP = chiSquareTail(h.BreslowDay, h.DF), chiSquareTail(h.Tarone, h.DF)
	return h, nil
}

// fittedCell is the A that gives the table, with its margins, odds ratio psi, and the
// asymptotic variance of A there.
func fittedCell(t Table2, psi float64) (a, variance float64) {
	row, col, n := float64(t.A+t.B), float64(t.A+t.C), float64(t.total())
	a = rootWithin(psi-1, -(n - row - col + psi*(row+col)), psi*row*col)
	return a, 1 / (1/a + 1/(row-a) + 1/(col-a) + 1/(n-row-col+a))
}

func checkStrata(strata []Table2, conf float64) error {
	if err := checkConf(conf); err != nil {
		return err
	}
	total := 0
	for i, t := range strata {
		if t.A < 0 || t.B < 0 || t.C < 0 || t.D < 0 {
			return outOfRange("stratum %d: %d %d / %d %d: want counts of 0 or more", i+1, t.A, t.B, t.C, t.D)
		}
		total += t.total()
	}
	if total == 0 {
		return fmt.Errorf("%w: no stratum holds a count", ErrNoData)
	}
	return nil
}

// logRatio gives a ratio limits that are symmetric on the log scale.
func logRatio(value, logSE, conf float64) Ratio {
	half := math.Exp(zFor(conf) * logSE)
	return Ratio{Value: bounded(value), Lo: value / half, Hi: bounded(value * half)}
}
