package batches

import "math"

// slopeScale is the standard deviation of the normal prior on a component's logistic slope per year. It keeps a
// component with a handful of cases from being given a wild slope; one with many cases hardly feels it.
const slopeScale = 1.0

// A drift is the slow course of one component in one class: logit p(week) = level + slope x (years from the middle).
type drift struct {
	level, slope float64
	p            []float64 // fitted share per week
	spread       float64   // squared coefficient of variation of the weeks before the windows, beyond chance
}

// fit finds the penalised maximum likelihood by Newton's method, starting from where the drift stands, and then the
// spread. cases and visits are per week. steps bounds the work; one step from the truth is as good as the maximum
// in large samples, which replicates use. It returns false where there is nothing to fit.
//
// Ridge penalty: le Cessie and van Houwelingen (1992), Applied Statistics 41, 191-201.
// One-step estimator: van der Vaart (1998), Asymptotic Statistics, section 5.7.
func (d *drift) fit(cases []int32, visits []int32, steps int) bool {
	var c, n float64
	for w := range visits {
		c += float64(cases[w])
		n += float64(visits[w])
	}
	if c == 0 || n == 0 {
		return false
	}
	if c >= n {
		c = n - 0.5
	}
	weeks := len(visits)
	mid := float64(weeks-1) / 2
	for step := 0; step < steps; step++ {
		var u0, u1, i00, i01, i11 float64
		for w := range visits {
			v := float64(visits[w])
			if v == 0 {
				continue
			}
			t := (float64(w) - mid) / 52
			p := d.p[w]
			r := float64(cases[w]) - v*p
			i := v * p * (1 - p)
			u0 += r
			u1 += r * t
			i00 += i
			i01 += i * t
			i11 += i * t * t
		}
		u1 -= d.slope / (slopeScale * slopeScale)
		i11 += 1 / (slopeScale * slopeScale)
		det := i00*i11 - i01*i01
		if !(det > 1e-12) {
			break
		}
		a, b := (i11*u0-i01*u1)/det, (i00*u1-i01*u0)/det
		a, b = math.Max(-1, math.Min(1, a)), math.Max(-1, math.Min(1, b)) // no wild first steps
		d.level += a
		d.slope += b
		d.course()
		if math.Abs(a)+math.Abs(b) < 1e-9 {
			break
		}
	}
	d.measureSpread(cases, visits)
	return true
}

// start sets a flat course at the overall share.
func (d *drift) start(cases, visits []int32) {
	var c, n float64
	for w := range visits {
		c += float64(cases[w])
		n += float64(visits[w])
	}
	p := (c + 0.5) / (n + 1)
	d.level, d.slope = math.Log(p/(1-p)), 0
	d.course()
}

func (d *drift) course() {
	mid := float64(len(d.p)-1) / 2
	for w := range d.p {
		d.p[w] = 1 / (1 + math.Exp(-(d.level + d.slope*(float64(w)-mid)/52)))
	}
}

// measureSpread estimates by moments how much weeks differ beyond chance: Var = mu(1-p) + spread x mu^2. The weeks
// of the windows are left out, so that what is looked for doesn't hide itself.
//
// Moment estimator of extra-binomial variation: Williams (1982), Applied Statistics 31, 144-148.
func (d *drift) measureSpread(cases, visits []int32) {
	var over, square float64
	for w := 0; w < len(visits)-MaxWindow; w++ {
		mu := float64(visits[w]) * d.p[w]
		r := float64(cases[w]) - mu
		over += r*r - mu*(1-d.p[w])
		square += mu * mu
	}
	d.spread = 0
	if over > 0 && square > 0 {
		d.spread = over / square
	}
}
