package stat

import (
	"fmt"
	"math"
	"sort"
)

// slopes are a log likelihood and its first and second derivatives in two free parameters:
// u, a location, and v, the log of how alike the groups are.
type slopes struct {
	value      float64
	u, v       float64
	uu, uv, vv float64
}

// climb finds the maximum over u and over v in [vLo, vHi] by Newton's method. A step that
// does not raise the likelihood is halved; where the surface is not concave, it goes uphill.
func climb(f func(u, v float64) slopes, u, v, vLo, vHi float64) (float64, float64, error) {
	d := f(u, v)
	for range 200 {
		stepU, stepV := uphill(d)
		if (v >= vHi && stepV > 0) || (v <= vLo && stepV < 0) {
			stepU, stepV = d.u/max(math.Abs(d.uu), 1e-12), 0
		}
		if gain := d.u*stepU + d.v*stepV; gain < 1e-14*(1+math.Abs(d.value)) {
			return u, v, nil
		}
		moved := false
		for half := 1.0; half > 1e-9 && !moved; half /= 2 {
			nu := u + clamp(half*stepU, 2)
			nv := min(max(v+clamp(half*stepV, 2), vLo), vHi)
			if nd := f(nu, nv); nd.value > d.value {
				u, v, d, moved = nu, nv, nd, true
			}
		}
		if !moved {
			return u, v, nil // no step gains: at the top to working precision
		}
	}
	return 0, 0, fmt.Errorf("%w: maximum of a likelihood", ErrNotConverged)
}

// uphill is the Newton step where the surface is concave, else one along the slopes.
func uphill(d slopes) (u, v float64) {
	det := d.uu*d.vv - d.uv*d.uv
	if d.uu < 0 && det > 0 {
		return (d.uv*d.v - d.vv*d.u) / det, (d.uv*d.u - d.uu*d.v) / det
	}
	return d.u / max(math.Abs(d.uu), 1e-12), d.v / max(math.Abs(d.vv), 1e-12)
}

func clamp(x, limit float64) float64 { return min(max(x, -limit), limit) }

// A hyperpoint is one plausible pair of parameters with its posterior weight.
type hyperpoint struct{ u, v, weight float64 }

// plausible spreads points over the parameters in proportion to likelihood times prior, so
// that an estimate can average over what the groups leave open. prior is the log prior
// density in (u, v). For each v on a grid, u takes the three Gauss-Hermite points about its
// maximum. Weights sum to 1.
func plausible(f func(u, v float64) slopes, prior func(u, v float64) float64, u, v, vLo, vHi float64) []hyperpoint {
	const drop = 7 // leave out what is e^-7 times less likely than the best
	step := 1.0
	if d := f(u, v); d.uu < 0 && d.uu*d.vv > d.uv*d.uv {
		sd := 1 / math.Sqrt(d.uv*d.uv/d.uu-d.vv)
		step = min(step, sd)
	}
	var points []hyperpoint
	var logs []float64
	best := math.Inf(-1)
	walk := func(v, step float64) {
		at := u
		for ; v >= vLo && v <= vHi; v += step {
			var d slopes
			for range 20 {
				d = f(at, v)
				move := clamp(d.u/max(math.Abs(d.uu), 1e-12), 1)
				at += move
				if math.Abs(move)*math.Sqrt(math.Abs(d.uu)) < 0.01 { // in standard deviations of u
					break
				}
			}
			sd := 1 / math.Sqrt(max(math.Abs(d.uu), 0.25)) // at most 2: flatter than that says nothing
			l := d.value + math.Log(sd) + prior(at, v)
			if l < best-drop {
				return
			}
			best = max(best, l)
			for _, h := range [3][2]float64{{-math.Sqrt(3), 1.0 / 6}, {0, 2.0 / 3}, {math.Sqrt(3), 1.0 / 6}} {
				points = append(points, hyperpoint{u: at + h[0]*sd, v: v, weight: h[1]})
				logs = append(logs, l)
			}
		}
	}
	walk(v, step)
	walk(v-step, -step)
	total := 0.0
	for i := range points {
		points[i].weight *= math.Exp(logs[i] - best)
		total += points[i].weight
	}
	return heaviest(points, 0.999*total)
}

// heaviest keeps the heaviest points until they weigh enough, and scales them to sum to 1.
func heaviest(points []hyperpoint, enough float64) []hyperpoint {
	sort.SliceStable(points, func(i, j int) bool { return points[i].weight > points[j].weight })
	total, keep := 0.0, 0
	for keep < len(points) && total < enough {
		total += points[keep].weight
		keep++
	}
	points = points[:keep]
	for i := range points {
		points[i].weight /= total
	}
	return points
}

// mixtureQuantile is the point at which an increasing distribution function on the whole
// line reaches tail (at most 1/2), by Newton's method on its logarithm from two spreads
// below centre, kept within what is known to be too low and too high. Steps are bounded, and
// the bound doubles when it is met. A ten-millionth of a spread is near enough; below -690,
// where exp is next to nothing, the search ends.
func mixtureQuantile(f func(u float64) (tail, slope float64), tail, centre, spread float64) (float64, error) {
	lo, hi := math.Inf(-1), math.Inf(1)
	u, reach := centre-2*spread, 3*spread
	for range 200 {
		at, slope := f(u)
		gap := math.Log(max(at, leastP)) - math.Log(tail)
		if gap < 0 {
			lo = u
		} else {
			hi = u
		}
		step := -gap * at / max(slope, leastP)
		if at <= leastP {
			step = reach
		}
		if math.Abs(step) >= reach {
			step = clamp(step, reach)
			reach *= 2
		}
		next := u + step
		switch {
		case math.Abs(step) <= 1e-7*spread || next < -690:
			return next, nil
		case next <= lo || next >= hi:
			next = (lo + hi) / 2 // both are finite: the step has crossed one to pass the other
		}
		u = next
	}
	return 0, fmt.Errorf("%w: quantile of a mixture", ErrNotConverged)
}
