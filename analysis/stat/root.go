package stat

import (
	"fmt"
	"math"
)

// findRoot returns the x in [lo, hi] where the monotone f changes sign, to about the
// precision of x itself. f(lo) and f(hi) must not have the same sign.
//
// Chandrupatla (1997), Advances in Engineering Software 28(3), 145-149: bisection
// that takes an inverse quadratic step whenever such a step is safe.
func findRoot(f func(float64) float64, lo, hi float64) (float64, error) {
	a, b := lo, hi
	fa, fb := f(a), f(b)
	switch {
	case fa == 0:
		return a, nil
	case fb == 0:
		return b, nil
	case math.IsNaN(fa) || math.IsNaN(fb) || (fa > 0) == (fb > 0):
		return 0, fmt.Errorf("%w: no change of sign in [%g, %g]", ErrNotConverged, lo, hi)
	}
	c, fc := a, fa
	t := 0.5
	for range 200 {
		x := a + t*(b-a)
		fx := f(x)
		if (fx > 0) == (fa > 0) {
			c, fc = a, fa
		} else {
			c, b = b, a
			fc, fb = fb, fa
		}
		a, fa = x, fx
		best := a
		if math.Abs(fb) < math.Abs(fa) {
			best = b
		}
		tol := 2*epsilon*math.Abs(best) + 1e-300
		if fa == 0 || math.Abs(b-a) <= 2*tol {
			return best, nil
		}
		xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
		t = 0.5
		if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
			t = fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
		}
		least := tol / math.Abs(b-a)
		t = min(max(t, least), 1-least)
	}
	return 0, fmt.Errorf("%w: root in [%g, %g]", ErrNotConverged, lo, hi)
}

// findRootFrom widens an interval around start until the increasing f changes sign
// within it, then finds the root. step is the first half width, positive.
func findRootFrom(f func(float64) float64, start, step float64) (float64, error) {
	lo, hi := start-step, start+step
	for range 60 {
		if f(lo) <= 0 {
			break
		}
		hi = lo
		step *= 2
		lo -= step
	}
	for range 60 {
		if f(hi) >= 0 {
			break
		}
		lo = hi
		step *= 2
		hi += step
	}
	return findRoot(f, lo, hi)
}

// epsilon is the spacing of float64 at 1.
const epsilon = 0x1p-52

// rootWithin is the root (-b - sqrt(b*b-4*a*c))/(2*a) of a quadratic with c > 0, in the form
// that keeps its digits, also where a is 0. Cells of a 2x2 table with given margins and odds
// ratio are such roots.
func rootWithin(a, b, c float64) float64 {
	root := math.Sqrt(max(b*b-4*a*c, 0))
	if b <= 0 {
		return 2 * c / (root - b)
	}
	return (-b - root) / (2 * a)
}
