package stat

import (
	"fmt"
	"math"
	"sort"
)

// FisherStratified is Fisher's exact test of odds ratio 1 in every stratum, conditional on
// all margins: the sum of the A cells against its exact distribution. Use it where the
// strata are sparse and CMH is doubtful. ErrTooLarge where CMH is as good and far faster.
//
// Gart (1970), Biometrika 57, 471-475.
func FisherStratified(strata []Table2) (FisherP, error) {
	s, err := newConditionalSum(strata, 0.95)
	if err != nil {
		return FisherP{}, err
	}
	if s.lo == s.hi {
		return FisherP{1, 1, 1, 1, 1, 1}, nil
	}
	d, err := s.at(0, 1e-290)
	if err != nil {
		return FisherP{}, err
	}
	// Smallest first, so that small tails keep their digits.
	var less, greater, total float64
	for v, p := range d.p {
		total += p
		if d.lo+v < s.x {
			less += p
		}
	}
	for v := len(d.p) - 1; v >= 0 && d.lo+v > s.x; v-- {
		greater += d.p[v]
	}
	here := 0.0
	if i := s.x - d.lo; i >= 0 && i < len(d.p) {
		here = d.p[i]
	}
	const tie = 1 + 1e-7
	var below, ties float64
	sorted := append([]float64(nil), d.p...)
	sort.Float64s(sorted)
	for _, p := range sorted {
		switch {
		case p > here*tie:
		case p*tie < here:
			below += p
		default:
			ties += p
		}
	}
	return FisherP{
		Less: probability((less + here) / total), Greater: probability((greater + here) / total),
		MidLess: probability((less + here/2) / total), MidGreater: probability((greater + here/2) / total),
		TwoSided: probability((below + ties) / total), MidP: probability((below + ties/2) / total),
	}, nil
}

// OddsRatioStratified returns the conditional maximum likelihood odds ratio common to all
// strata with mid-p limits, from the exact distribution of the sum of the A cells. It is
// the small-sample form of MantelHaenszelOdds. ErrTooLarge where that is as good.
//
// Gart (1970), as above.
func OddsRatioStratified(strata []Table2, conf float64) (Ratio, error) {
	return oddsRatioStratified(strata, conf, 0.5)
}

// OddsRatioStratifiedExact is OddsRatioStratified with exact limits, whose coverage is at
// least conf.
func OddsRatioStratifiedExact(strata []Table2, conf float64) (Ratio, error) {
	return oddsRatioStratified(strata, conf, 0)
}

func oddsRatioStratified(strata []Table2, conf, without float64) (Ratio, error) {
	s, err := newConditionalSum(strata, conf)
	if err != nil {
		return Ratio{}, err
	}
	if s.lo == s.hi {
		return Ratio{}, fmt.Errorf("%w: no stratum compares the two groups", ErrNoInformation)
	}
	var r, q, spread float64 // a Mantel-Haenszel estimate that is always finite
	for _, h := range s.strata {
		n := h.row + h.other
		a, b, c, d := float64(h.x), h.row-float64(h.x), h.col-float64(h.x), h.other-h.col+float64(h.x)
		r += (a*d + 0.25) / n
		q += (b*c + 0.25) / n
		spread += 1 / (1/(a+0.5) + 1/(b+0.5) + 1/(c+0.5) + 1/(d+0.5))
	}
	start := math.Log(r / q)
	if s.x == s.lo || s.x == s.hi {
		return conditionalRatio(s.end, s.x == s.lo, s.x == s.hi, float64(s.x), start, 1/math.Sqrt(spread), conf, without)
	}
	d, err := s.at(start, 1e-80)
	if err != nil {
		return Ratio{}, err
	}
	return conditionalRatio(func(theta float64) tilted { return d.tilt(s.x, theta-start) },
		false, false, float64(s.x), start, 1/math.Sqrt(spread), conf, without)
}

// A conditionalSum is the sum of the A cells over strata with given margins.
type conditionalSum struct {
	strata    []stratum
	x, lo, hi int // observed, least and greatest sum
}

type stratum struct {
	hypergeometric
	x int
}

// end is the distribution where the sum is its least or greatest value, as far as the one limit there asks for it: the
// chance of that value is the product of the strata's, so nothing needs to be convolved.
func (s conditionalSum) end(theta float64) tilted {
	p := 1.0
	for _, h := range s.strata {
		p *= h.tilt(h.x, theta).here
	}
	return tilted{atMost: p, atLeast: p, here: p}
}

func newConditionalSum(strata []Table2, conf float64) (conditionalSum, error) {
	if err := checkStrata(strata, conf); err != nil {
		return conditionalSum{}, err
	}
	var s conditionalSum
	for _, t := range strata {
		if t.total() == 0 || t.fixed() {
			continue
		}
		h := newHypergeometric(t)
		s.strata = append(s.strata, stratum{h, t.A})
		s.x += t.A
		s.lo += h.lo
		s.hi += h.hi
	}
	return s, nil
}

// A massFunction holds probabilities (up to a factor) of lo, lo+1, ...
type massFunction struct {
	lo int
	p  []float64
}

// mostWork bounds the multiplications of one convolution: about half a second.
const mostWork = 3e8

// at convolves the strata at log odds ratio theta, leaving out weights below negligible
// times the largest.
func (s conditionalSum) at(theta, negligible float64) (massFunction, error) {
	parts := make([]massFunction, len(s.strata))
	for i, h := range s.strata {
		parts[i] = h.weights(theta, negligible)
	}
	// Short ones first keeps the work low; ties by position, so sums are reproducible.
	sort.SliceStable(parts, func(i, j int) bool { return len(parts[i].p) < len(parts[j].p) })
	sum := massFunction{p: []float64{1}}
	work := 0.0
	for _, part := range parts {
		work += float64(len(sum.p)) * float64(len(part.p))
		if work > mostWork {
			return massFunction{}, fmt.Errorf("%w: %d strata", ErrTooLarge, len(s.strata))
		}
		sum = sum.plus(part)
	}
	return sum, nil
}

// weights lists the mass function of one stratum, relative to its mode.
func (h hypergeometric) weights(theta, negligible float64) massFunction {
	psi := math.Exp(theta)
	mode := h.tiltedMode(psi)
	var down []float64
	w := 1.0
	for v := mode; v > h.lo && w > negligible; v-- {
		a := float64(v)
		w *= a * (h.other - h.col + a) / ((h.row - a + 1) * (h.col - a + 1) * psi)
		down = append(down, w)
	}
	m := massFunction{lo: mode - len(down)}
	for i := len(down) - 1; i >= 0; i-- {
		m.p = append(m.p, down[i])
	}
	m.p = append(m.p, 1)
	w = 1
	for v := mode; v < h.hi && w > negligible; v++ {
		a := float64(v)
		w *= psi * (h.row - a) * (h.col - a) / ((a + 1) * (h.other - h.col + a + 1))
		m.p = append(m.p, w)
	}
	return m
}

// plus is the mass function of the sum of two independent counts, scaled to sum to 1.
func (m massFunction) plus(o massFunction) massFunction {
	out := massFunction{lo: m.lo + o.lo, p: make([]float64, len(m.p)+len(o.p)-1)}
	total := 0.0
	for i, p := range m.p {
		for j, q := range o.p {
			out.p[i+j] += p * q
		}
	}
	for _, p := range out.p {
		total += p
	}
	for i := range out.p {
		out.p[i] /= total
	}
	return out
}

// tilt reweights the mass function by exp(delta * v) and summarises it about x.
func (m massFunction) tilt(x int, delta float64) tilted {
	top := math.Inf(-1)
	logs := make([]float64, len(m.p))
	for v, p := range m.p {
		logs[v] = math.Inf(-1)
		if p > 0 {
			logs[v] = math.Log(p) + delta*float64(v)
		}
		top = max(top, logs[v])
	}
	var below, here, above, moment float64
	for v, l := range logs {
		w := math.Exp(l - top)
		moment += w * float64(v)
		switch at := m.lo + v; {
		case at < x:
			below += w
		case at > x:
			above += w
		default:
			here += w
		}
	}
	total := below + here + above
	return tilted{
		mean:    float64(m.lo) + moment/total,
		atMost:  (below + here) / total,
		atLeast: (above + here) / total,
		here:    here / total,
	}
}
