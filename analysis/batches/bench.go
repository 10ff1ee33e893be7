package batches

import "math"

// A bench is one goroutine's working memory.
type bench struct {
	draws  *drawer
	axis   []vector
	counts []int32            // per week, of the model at hand
	total  []int32            // per week, of the series
	seen   [][MaxWindow]int32 // [sheet][weeks back]
	square float64            // of the models' weekly counts around what they expect, but for a constant
	moved  vector             // of the course, against the fitted one
	spread spread
}

func (s *scanner) newBench() *bench {
	most := 0
	for i := range s.series {
		most = max(most, len(s.series[i].sheets))
	}
	return &bench{draws: newDrawer(s.urns), axis: s.axis, counts: make([]int32, s.grid.Weeks), total: make([]int32, s.grid.Weeks), seen: make([][MaxWindow]int32, most)}
}

// start makes ready for a series, with its course as fitted to what was seen.
func (b *bench) start(sr *series) {
	clear(b.total)
	clear(b.seen[:len(sr.sheets)])
	b.square, b.moved = 0, vector{}
}

// add takes the counts of model j into the totals.
func (b *bench) add(sr *series, j int) {
	base := len(b.counts) - MaxWindow
	mean := sr.scatter.mean[j]
	for w, c := range b.counts[:base] {
		if c != 0 {
			b.total[w] += c
			b.square += float64(c) * (float64(c) - 2*mean[w])
		}
	}
	for i, c := range b.counts[base:] {
		if c != 0 {
			b.total[base+i] += c
			for _, n := range sr.under[j] {
				b.seen[n][MaxWindow-1-i] += c
			}
		}
	}
}

// settle fits course and spread to a replicate: one Newton step from the course it was drawn from.
func (b *bench) settle(sr *series) {
	var score vector
	for w, y := range b.total {
		score.add(float64(y-sr.total[w]), b.axis[w]) // the fitted course has score 0 at what was seen
	}
	for i := range terms {
		b.moved[i] = sr.course.cover[i].dot(score)
	}
	b.spread = sr.scatter.measure(b.total, b.square, func(w int) float64 {
		return b.moved.dot(b.axis[w]) * (1 - sr.course.p[w])
	})
}

// strongest gives the largest score of a sheet's windows and its window less one, if it is above atLeast; else 0.
func (b *bench) strongest(sr *series, n int, atLeast float64) (score float64, window int) {
	k, seen := &sr.sheets[n], &b.seen[n]
	extra := b.spread.of(k)
	var o int32
	for h := range MaxWindow {
		if o += seen[h]; o < minCases {
			continue
		}
		c, e := float64(o), k.expected[h]
		move := b.moved.dot(k.tilt[h])
		e *= 1 + move*(1+move/2*(1+move/3)) // the exponential, near 1
		// A log-likelihood ratio is at most the chi-square of its table: Gibbs and Su (2002), Int. Stat. Rev. 70, 419-435.
		if d := c - e; d <= 0 || e >= k.cases || d*d*k.trials*k.cases <= atLeast*(k.trials-k.cases)*e*(k.cases-e) {
			continue
		}
		llr := bernoulli(c, k.trials*e/k.cases, k.cases, k.trials)
		if v := llr * damped(c, e, float64(h+1)/extra); v > atLeast {
			score, window, atLeast = v, h, v
		}
	}
	return score, window
}

// damped is how much of a Poisson deviance is left when weeks differ beyond chance: that of a negative binomial count
// of the given shape, over it. Unlike a division by the variance it allows for the longer tail, too.
func damped(c, e, shape float64) float64 {
	if math.IsInf(shape, 1) {
		return 1
	}
	own := c * math.Log(c/e)
	return (own - (c+shape)*math.Log((c+shape)/(e+shape))) / (own - (c - e))
}

// within is how many cases of a sheet fall into the last h+1 weeks.
func (b *bench) within(n, h int) int {
	sum := 0
	for _, c := range b.seen[n][:h+1] {
		sum += int(c)
	}
	return sum
}

// A spread says how much weeks differ beyond chance, as squared coefficients of variation: common to the whole class,
// and each model's own.
type spread struct{ common, own float64 }

// of is the spread of a node's weekly counts, with half as much again on top: the largest of many scores is found where
// the spread is taken for less than it is. The value comes from calibration: with no allowance one month in eleven
// raised an alarm where weeks were scattered most.
func (s spread) of(k *sheet) float64 { return allowance * (s.common + s.own*k.alike) }

const allowance = 1.5

// A scatter holds what spread is measured from, over the weeks before the windows, so that what is looked for
// doesn't hide itself.
type scatter struct {
	mean                 [][]float64 // [model of the series][week] cases expected of the model's own number
	all                  []float64   // [week] of all models
	share                []float64   // [week] fitted share of the class
	chance               float64     // variance of all models' weekly counts by chance, summed
	squares, classSquare float64     // of mean and of all, summed
}

func (s *scanner) newScatter(sr *series) scatter {
	base := s.grid.Weeks - MaxWindow
	c := scatter{mean: make([][]float64, len(sr.models)), all: make([]float64, base), share: sr.course.p[:base]}
	for j, m := range sr.models {
		visits, sum := s.urns[m].visits, 0.0
		for w, v := range visits {
			sum += float64(v) * sr.course.p[w]
		}
		mean := make([]float64, base)
		for w := range mean {
			mean[w] = float64(sr.cases[j]) * float64(visits[w]) * sr.course.p[w] / sum
			c.all[w] += mean[w]
			c.squares += mean[w] * mean[w]
			c.chance += mean[w] * (1 - sr.course.p[w])
		}
		c.mean[j] = mean
	}
	for _, v := range c.all {
		c.classSquare += v * v
	}
	return c
}

// measure estimates the spread by moments: the variance of a weekly count is mean (1-p) + spread x mean^2. move is
// the change of the logarithm of a week's mean.
//
// Moment estimator of extra-binomial variation: Williams (1982), Applied Statistics 31, 144-148.
func (c *scatter) measure(total []int32, square float64, move func(w int) float64) spread {
	if c.squares == 0 {
		return spread{}
	}
	models := (square + c.squares - c.chance) / c.squares
	over := 0.0
	for w, mean := range c.all {
		u := move(w)
		mean *= 1 + u*(1+u/2)
		r := float64(total[w]) - mean
		over += r*r - mean*(1-c.share[w])
	}
	class := over / c.classSquare
	one := c.squares / c.classSquare // 1 when the class is one model
	var out spread
	if one < 0.99 {
		out.own = math.Max(0, (models-class)/(1-one))
	}
	out.common = math.Max(0, class-out.own*one)
	return out
}
