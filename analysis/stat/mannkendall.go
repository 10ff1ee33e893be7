package stat

import (
	"fmt"
	"math"
	"sort"
)

// A MannKendallTest is a test for a steady rise or fall of a series.
type MannKendallTest struct {
	S        int     // pairs that rise less pairs that fall
	Variance float64 // of S under no trend, ties allowed for
	Z        float64 // normal score with continuity correction
	P        float64 // two-sided: exact if Exact, else from Z
	Rising   float64 // one-sided p of a rise
	Exact    bool
}

// mostExact is the longest series whose null distribution is worked out, ties included.
const mostExact = 40

// MannKendall tests whether a series, in order of time, rises or falls. Only the order of
// the values matters. Up to 40 values the p-values are exact, tied values included; beyond
// that they are normal with continuity correction. It needs 3 values, not all equal.
//
// Mann (1945), Econometrica 13, 245-259; Kendall, Rank Correlation Methods, chs. 4 and 5.
func MannKendall(values []float64) (MannKendallTest, error) {
	n := len(values)
	if n == 0 {
		return MannKendallTest{}, fmt.Errorf("%w: empty series", ErrNoData)
	}
	if n < 3 {
		return MannKendallTest{}, fmt.Errorf("%w: %d values, want 3", ErrTooFew, n)
	}
	ties := make(map[float64]int)
	var m MannKendallTest
	for j, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return MannKendallTest{}, outOfRange("value %d is %v", j+1, v)
		}
		ties[v]++
		for _, earlier := range values[:j] {
			switch {
			case v > earlier:
				m.S++
			case v < earlier:
				m.S--
			}
		}
	}
	m.Variance = float64(n) * float64(n-1) * float64(2*n+5)
	groups := make([]int, 0, len(ties))
	for _, t := range ties {
		m.Variance -= float64(t) * float64(t-1) * float64(2*t+5)
		groups = append(groups, t)
	}
	sort.Ints(groups) // maps have no order, and the last digits of exact's sums would follow it
	m.Variance /= 18
	if len(groups) < 2 {
		return MannKendallTest{}, fmt.Errorf("%w: all %d values are equal", ErrNoInformation, n)
	}
	sd := math.Sqrt(m.Variance)
	switch {
	case m.S > 0:
		m.Z = float64(m.S-1) / sd
	case m.S < 0:
		m.Z = float64(m.S+1) / sd
	}
	m.P, m.Rising = normalTwoSided(m.Z), probability(normalCDF(-float64(m.S-1)/sd))
	if n <= mostExact {
		m.exact(groups)
	}
	return m, nil
}

// exact sums the null distribution of S. With tied groups in the values, the number of
// falling pairs has the Gaussian multinomial coefficient as generating function: a product
// of rank-sum distributions, one per group.
func (m *MannKendallTest) exact(groups []int) {
	falls := []float64{1}
	placed, pairs := 0, 0
	for _, t := range groups {
		pairs += placed * t
		falls = convolve(falls, rankSum(placed, t))
		placed += t
	}
	// S = pairs - 2*falls, and its distribution is symmetric.
	tail := func(s int) float64 { // P(S >= s)
		p := 0.0
		for f := range falls {
			if pairs-2*f < s {
				break
			}
			p += falls[f]
		}
		return probability(p)
	}
	m.Exact = true
	m.Rising = tail(m.S)
	m.P = 1
	if m.S != 0 {
		m.P = probability(2 * tail(max(m.S, -m.S)))
	}
}

// rankSum is the distribution of the number of pairs out of order when k equal items are
// put at random among n others: the Mann-Whitney distribution for n and k.
func rankSum(n, k int) []float64 {
	// row[b] is for a items of one kind and b of the other, b up to k.
	row := make([][]float64, k+1)
	for b := range row {
		row[b] = []float64{1}
	}
	for a := 1; a <= n; a++ {
		next := make([][]float64, k+1)
		next[0] = []float64{1}
		for b := 1; b <= k; b++ {
			// The last place is taken by one of a, which adds nothing, or by one of b, which
			// comes after all a: count those a*1 pairs.
			p := make([]float64, a*b+1)
			pa, pb := float64(a)/float64(a+b), float64(b)/float64(a+b)
			for i, v := range row[b] {
				p[i] += pa * v
			}
			for i, v := range next[b-1] {
				p[i+a] += pb * v
			}
			next[b] = p
		}
		row = next
	}
	return row[k]
}

func convolve(a, b []float64) []float64 {
	out := make([]float64, len(a)+len(b)-1)
	for i, p := range a {
		for j, q := range b {
			out[i+j] += p * q
		}
	}
	return out
}
