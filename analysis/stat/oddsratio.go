package stat

import (
	"fmt"
	"math"
)

// OddsRatioExact returns the conditional maximum likelihood odds ratio of a 2x2 table
// with exact limits: each is the odds ratio at which the observed A, or one further out,
// has chance (1-conf)/2. It is not AD/BC, but close to it when counts are large.
// At the ends of the support the estimate is 0 or unbounded, and one limit with it.
// A table with an empty margin is ErrNoInformation.
//
// Cornfield (1956), Proc. 3rd Berkeley Symp. 4, 135-148; Fisher (1935).
func OddsRatioExact(t Table2, conf float64) (Ratio, error) { return oddsRatio(t, conf, 0) }

// OddsRatioMidP is OddsRatioExact with the observed table counted by half in each tail:
// narrower limits whose coverage is near conf rather than at least conf. They agree with
// the one-sided mid-p values of Fisher.
func OddsRatioMidP(t Table2, conf float64) (Ratio, error) { return oddsRatio(t, conf, 0.5) }

// oddsRatio leaves out the given part of the observed table's probability from each tail.
func oddsRatio(t Table2, conf, without float64) (Ratio, error) {
	if err := checkConf(conf); err != nil {
		return Ratio{}, err
	}
	if err := t.check(); err != nil {
		return Ratio{}, err
	}
	if t.fixed() {
		return Ratio{}, fmt.Errorf("%w: a 2x2 table with an empty margin", ErrNoInformation)
	}
	h := newHypergeometric(t)
	a, b, c, d := float64(t.A)+0.5, float64(t.B)+0.5, float64(t.C)+0.5, float64(t.D)+0.5
	start := math.Log(a * d / b / c)
	spread := math.Sqrt(1/a + 1/b + 1/c + 1/d)
	return conditionalRatio(func(theta float64) tilted { return h.tilt(t.A, theta) },
		t.A == h.lo, t.A == h.hi, float64(t.A), start, spread, conf, without)
}

// A tilted summarises the conditional distribution at one log odds ratio: its mean and
// the chances of at most, at least and exactly the observed count.
type tilted struct{ mean, atMost, atLeast, here float64 }

// conditionalRatio solves for the estimate and the limits, given the distribution by log
// odds ratio. start and spread are the sample log odds ratio and its standard error, roughly.
func conditionalRatio(at func(theta float64) tilted, least, most bool, x, start, spread, conf, without float64) (Ratio, error) {
	tail := (1 - conf) / 2
	z := zFor(conf)
	r := Ratio{Value: bounded(0)}
	solve := func(f func(tilted) float64, from float64) (float64, error) {
		theta, err := findRootFrom(func(v float64) float64 { return f(at(v)) }, from, 0.2*spread)
		return math.Exp(theta), err
	}
	var err error
	if !least {
		if r.Lo, err = solve(func(d tilted) float64 { return d.atLeast - without*d.here - tail }, start-z*spread); err != nil {
			return Ratio{}, err
		}
		r.Value = Limit{}
	}
	if !most {
		hi, err := solve(func(d tilted) float64 { return tail - d.atMost + without*d.here }, start+z*spread)
		if err != nil {
			return Ratio{}, err
		}
		r.Hi = bounded(hi)
	}
	if !least && !most {
		v, err := solve(func(d tilted) float64 { return d.mean - x }, start)
		if err != nil {
			return Ratio{}, err
		}
		r.Value = bounded(v)
	}
	return r, nil
}

// tilt walks from the mode of the noncentral hypergeometric outward until the weights are
// negligible, so the cost follows the standard deviation and not the range.
func (h hypergeometric) tilt(x int, theta float64) tilted {
	psi := math.Exp(theta)
	mode := h.tiltedMode(psi)
	var below, here, above, moment float64 // weights relative to the mode; moment about it
	add := func(v int, w float64) {
		switch {
		case v < x:
			below += w
		case v > x:
			above += w
		default:
			here += w
		}
		moment += w * float64(v-mode)
	}
	add(mode, 1)
	const negligible = 1e-19
	w := 1.0
	for v := mode; v < h.hi && w > negligible; v++ {
		a := float64(v)
		w *= psi * (h.row - a) * (h.col - a) / ((a + 1) * (h.other - h.col + a + 1))
		add(v+1, w)
	}
	w = 1
	for v := mode; v > h.lo && w > negligible; v-- {
		a := float64(v)
		w *= a * (h.other - h.col + a) / ((h.row - a + 1) * (h.col - a + 1) * psi)
		add(v-1, w)
	}
	total := below + here + above
	return tilted{
		mean:    float64(mode) + moment/total,
		atMost:  (below + here) / total,
		atLeast: (above + here) / total,
		here:    here / total,
	}
}

// tiltedMode is the most likely A at odds ratio psi: the last value whose step up from
// the one before is at least 1, from the quadratic in Liao and Rosen (2001), The American
// Statistician 55, 366-369.
func (h hypergeometric) tiltedMode(psi float64) int {
	root := rootWithin(psi-1, -((h.row+h.col+2)*psi + h.other - h.col), (h.row+1)*(h.col+1)*psi)
	return int(min(max(math.Floor(root), float64(h.lo)), float64(h.hi)))
}
