package batches

import "math"

// Standard deviations of the normal priors on a component's course, on the log-odds scale: per year of the slope, and
// of the two waves of the season. They keep a component with a handful of cases from being given a wild course; one
// with many cases hardly feels them.
const (
	slopeScale  = 0.5
	seasonScale = 0.2
)

// Terms of a course: level, slope per year from the middle, and the yearly wave.
const terms = 4

type vector [terms]float64

// A course is how the share of one component in one class moves slowly through the weeks:
// logit p(week) = level + slope x year + a sin(2 pi year) + b cos(2 pi year). A history of less than a year has no season.
type course struct {
	at    vector
	p     []float64 // fitted share per week
	cover [terms]vector
}

// axis gives the terms of each week.
func axis(weeks int) []vector {
	x := make([]vector, weeks)
	mid := float64(weeks-1) / 2
	for w := range x {
		year := (float64(w) - mid) / (365.25 / 7)
		x[w] = vector{1, year}
		if weeks >= Baseline {
			x[w][2], x[w][3] = math.Sin(2*math.Pi*year), math.Cos(2*math.Pi*year)
		}
	}
	return x
}

var penalty = vector{1e-6, 1 / (slopeScale * slopeScale), 1 / (seasonScale * seasonScale), 1 / (seasonScale * seasonScale)}

// newCourse finds the penalised maximum likelihood by Newton's method. cases and visits are per week, with at least
// one case. cover is the inverse of the penalised information there: times a change of the score, it gives the
// change of the estimate, one Newton step that is as good as the maximum in large samples.
//
// Ridge penalty: le Cessie and van Houwelingen (1992), Applied Statistics 41, 191-201. One-step estimator: van der
// Vaart (1998), Asymptotic Statistics, section 5.7.
func newCourse(x []vector, cases, visits []int32) course {
	var c, n float64
	for w := range visits {
		c += float64(cases[w])
		n += float64(visits[w])
	}
	k := course{p: make([]float64, len(visits))}
	k.at[0] = math.Log((c + 0.5) / (n - c + 0.5))
	k.trace(x)
	for range 50 {
		score, info := k.slopeOf(x, cases, visits)
		k.cover = inverse(info)
		moved := 0.0
		for i := range terms {
			step := 0.0
			for j := range terms {
				step += k.cover[i][j] * score[j]
			}
			step = math.Max(-1, math.Min(1, step)) // no wild first steps
			k.at[i] += step
			moved += math.Abs(step)
		}
		k.trace(x)
		if moved < 1e-10 {
			break
		}
	}
	return k
}

func (k *course) trace(x []vector) {
	for w := range k.p {
		k.p[w] = 1 / (1 + math.Exp(-k.at.dot(x[w])))
	}
}

// slopeOf gives the penalised score and information.
func (k *course) slopeOf(x []vector, cases, visits []int32) (score vector, info [terms]vector) {
	for i := range terms {
		score[i] = -penalty[i] * k.at[i]
		info[i][i] = penalty[i]
	}
	for w := range visits {
		v := float64(visits[w])
		r, s := float64(cases[w])-v*k.p[w], v*k.p[w]*(1-k.p[w])
		for i := range terms {
			score[i] += r * x[w][i]
			for j := range terms {
				info[i][j] += s * x[w][i] * x[w][j]
			}
		}
	}
	return score, info
}

func (v vector) dot(o vector) float64 {
	return v[0]*o[0] + v[1]*o[1] + v[2]*o[2] + v[3]*o[3]
}

// inverse of a positive definite matrix, by Gauss and Jordan; the penalty keeps the pivots above 0.
func inverse(m [terms]vector) [terms]vector {
	var out [terms]vector
	for i := range terms {
		out[i][i] = 1
	}
	for i := range terms {
		pivot := m[i][i]
		for j := range terms {
			m[i][j] /= pivot
			out[i][j] /= pivot
		}
		for r := range terms {
			if f := m[r][i]; r != i && f != 0 {
				for j := range terms {
					m[r][j] -= f * m[i][j]
					out[r][j] -= f * out[i][j]
				}
			}
		}
	}
	return out
}
