package batches

import (
	"math"
	"math/rand/v2"
)

// A bench is one goroutine's working memory.
type bench struct {
	draws   *drawer
	streams [round]rand.PCG // of the replicates made side by side
	axis    []vector
	tray    tray               // per week, cases of the model at hand
	total   []int32            // per week, of the series
	seen    [][MaxWindow]int32 // [sheet][weeks back]
	inside  []int32            // [sheet] all of seen
	own     []vector           // [sheet] score of its models' counts; the weeks' terms summed over cases
	all     vector             // score of all counts
	models  scattered          // of the models' weekly counts
	moved   vector             // of the course, against the fitted one
	spread  spread
	usual   spread  // over all series; none in replicates
	wander  float64 // variance between models of their own slopes per year, over all series; none in replicates
}

func (s *scanner) newBench() *bench {
	most := 0
	for i := range s.series {
		most = max(most, len(s.series[i].sheets))
	}
	return &bench{draws: newDrawer(s.urns), axis: s.axis, tray: newTray(s.grid.Weeks), total: make([]int32, s.grid.Weeks), seen: make([][MaxWindow]int32, most), inside: make([]int32, most), own: make([]vector, most)}
}

// start makes ready for a series, with its course as fitted to what was seen.
func (b *bench) start(sr *series) {
	clear(b.total)
	clear(b.seen[:len(sr.sheets)])
	clear(b.inside[:len(sr.sheets)])
	clear(b.own[:len(sr.sheets)])
	b.models, b.moved, b.all = scattered{}, vector{}, vector{}
}

// read takes in the history itself.
func (b *bench) read(s *scanner, sr *series) {
	b.start(sr)
	for j, m := range sr.models {
		for w, c := range s.grid.Cases[sr.component][m] {
			if c != 0 {
				b.tray.put(w, c)
			}
		}
		b.add(sr, j)
	}
}

// add takes the tray, which holds the cases of model j, into the totals.
func (b *bench) add(sr *series, j int) {
	base := len(b.total) - MaxWindow
	k := &sr.scatter.models[j]
	var sum, own, cross float64
	var score vector
	share := sr.scatter.share
	b.tray.each(func(w int, c int32) {
		b.total[w] += c
		v := float64(c)
		score.add(v, b.axis[w])
		if w >= base {
			for _, n := range sr.under[j] {
				b.seen[n][len(b.total)-1-w] += c
				b.inside[n] += c
			}
			return
		}
		sum += v
		own += v * v
		cross += v * float64(k.visits[w]) * share[w]
	})
	if k.sum > 0 {
		f := sum / k.sum
		b.models.residual += own - 2*f*cross*k.scale + f*f*k.square
		b.models.chance += f * k.chance
		b.models.square += f * f * k.square
	}
	b.all.add(1, score)
	for _, n := range sr.under[j] {
		b.own[n].add(1, score)
	}
}

// settle fits course and spread to the counts, one Newton step from the course of the class.
func (b *bench) settle(sr *series) {
	b.moved = step(&sr.cover, b.all, sr.score)
	common, own, one := b.measure(sr)
	b.spread.own = own.drawn(b.usual.own)
	common.spread -= b.spread.own * one
	b.spread.common = common.drawn(b.usual.common)
}

func (b *bench) measure(sr *series) (common, own estimate, one float64) {
	return sr.scatter.measure(b.total, b.models, func(w int) float64 {
		return b.moved.dot(b.axis[w]) * (1 - sr.course.p[w])
	})
}

// step is how far a course moves.
func step(cover *[terms]vector, seen, fitted vector) vector {
	seen.add(-1, fitted)
	return vector{cover[0].dot(seen), cover[1].dot(seen), cover[2].dot(seen), cover[3].dot(seen)}
}

// strongest gives the largest score of a sheet's windows and its window less one, if it is above atLeast; else 0.
func (b *bench) strongest(sr *series, n int, atLeast float64) (score float64, window int) {
	k, seen := &sr.sheets[n], &b.seen[n]
	if b.inside[n] < minCases {
		return 0, 0
	}
	near := sr.fences[n].clears(seen, atLeast)
	moved := b.course(n, k)
	if !near && sr.fences[n].holds(moved) {
		return 0, 0
	}
	extra := b.spread.of(k)
	var o int32
	for h := range MaxWindow {
		if o += seen[h]; o < minCases {
			continue
		}
		c, e := float64(o), k.expect(h, moved)
		// A log-likelihood ratio is at most the chi-square of its table: Gibbs and Su (2002), Int. Stat. Rev. 70, 419-435.
		if d := c - e; d <= 0 || e >= k.cases || d*d*k.trials*k.cases <= atLeast*(k.trials-k.cases)*e*(k.cases-e) {
			continue
		}
		llr := bernoulli(c, k.trials*e/k.cases, k.cases, k.trials)
		if v := llr * damped(c, e, 1/(extra/float64(h+1)+k.doubt[h]+strays*b.wander*k.apart*k.tilt[h][1]*k.tilt[h][1])); v > atLeast {
			score, window, atLeast = v, h, v
		}
	}
	return score, window
}

// course is how far the course of the rest of the class has moved from the fitted one.
func (b *bench) course(n int, k *sheet) vector {
	now := b.all
	if !k.whole {
		now.add(-1, b.own[n])
	}
	return step(&k.cover, now, k.score)
}

// expect is how many cases a sheet expects in the last h+1 weeks, when the course has moved.
func (k *sheet) expect(h int, moved vector) float64 {
	move := moved.dot(k.tilt[h])
	if move > -0.5 && move < 0.5 {
		return k.expected[h] * (1 + move*(1+move/2*(1+move/3))) // the exponential, to a few parts in a thousand
	}
	return k.expected[h] * math.Exp(move)
}

// damped is how much of a Poisson deviance is left when the expected number is uncertain, because weeks differ beyond
// chance and the course is an estimate: that of a negative binomial count of the given shape, over it. Unlike a division by the variance it allows for the longer tail, too.
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
// the spread is taken for less than it is. The value comes from calibration: with no allowance one month in ten raised an
// alarm where the weeks of each model of a large shop were scattered by half.
func (s spread) of(k *sheet) float64 { return allowance * (s.common + s.own*k.alike) }

const allowance = 1.5

// strays is the same for the slopes of models: twice, for the largest of many scores is found in the model that strays most.
// With no allowance for such drift one month in five raised an alarm in a large shop.
const strays = 2

// A scatter holds what spread is measured from: the weeks before the windows, and each model's cases in them, so that
// what is looked for doesn't hide itself.
type scatter struct {
	models []modelled  // of the series
	mean   []float64   // [week] cases expected of the class
	all    expectation // of mean
	share  []float64   // [week] fitted share of the class
}

// A modelled expectation is scale x visits x share, week by week.
type modelled struct {
	expectation
	visits []int32
	scale  float64
}

// An expectation is the sum of weekly means before the windows, the sum of their squares and the variance by chance.
type expectation struct{ sum, square, chance float64 }

func (k *expectation) add(mean, share float64) {
	k.sum += mean
	k.square += mean * mean
	k.chance += mean * (1 - share)
}

// scattered are sums over weekly counts, or models and weekly counts: squared residuals, variance by chance, squared means.
type scattered struct{ residual, chance, square float64 }

func (s *scanner) newScatter(sr *series) scatter {
	base := s.grid.Weeks - MaxWindow
	c := scatter{share: sr.course.p[:base], mean: make([]float64, base)}
	for j, m := range sr.models {
		k := modelled{visits: s.urns[m].visits}
		sum := 0.0
		for w, v := range k.visits {
			sum += float64(v) * sr.course.p[w]
		}
		k.scale = float64(sr.cases[j]) / sum
		for w, p := range c.share {
			mean := k.scale * float64(k.visits[w]) * p
			c.mean[w] += mean
			k.add(mean, p)
		}
		c.models = append(c.models, k)
	}
	for w, p := range c.share {
		c.all.add(c.mean[w], p)
	}
	return c
}

// measure estimates the spread by moments: the variance of a weekly count is mean (1-p) + spread x mean^2. move is
// the change of the logarithm of a week's mean. one is the part of a model's own spread that is left in the class.
//
// Moment estimator of extra-binomial variation: Williams (1982), Applied Statistics 31, 144-148.
func (c *scatter) measure(total []int32, models scattered, move func(w int) float64) (common, own estimate, one float64) {
	seen := 0.0
	for w := range c.mean {
		seen += float64(total[w])
	}
	if models.square == 0 || seen == 0 {
		return common, own, 1
	}
	f := seen / c.all.sum
	var class scattered
	for w, mean := range c.mean {
		u := move(w)
		mean *= f * (1 + u*(1+u/2))
		r := float64(total[w]) - mean
		class.residual += r * r
		class.chance += mean * (1 - c.share[w])
		class.square += mean * mean
	}
	common = class.estimate()
	if one = models.square / class.square; one < 0.99 { // 1 when the class is one model
		own = models.estimate()
		own.spread = (own.spread - common.spread) / (1 - one)
	}
	return common, own, one
}

// An estimate of spread with its variance where there is no spread; of nothing the variance is 0.
type estimate struct{ spread, variance float64 }

func (s scattered) estimate() estimate {
	return estimate{(s.residual - s.chance) / s.square, (s.chance + 2*s.square) / (s.square * s.square)}
}

// drawn pulls an estimate towards a usual one, the more the less it stands out from it: where a shop is small, chance
// scatters the estimate itself.
func (e estimate) drawn(usual float64) float64 {
	if e.variance == 0 {
		return 0
	}
	d := e.spread - usual
	return max(0, usual+d*d*d/(d*d+e.variance))
}

// wander measures how much the slopes of models differ from that of their class before the windows, beyond chance and
// beyond scattered weeks: own is the spread of a model's weeks. A slope's score S has variance I + own M + wander I^2 with
// the information I, so that the mean of S^2 - I - own M over the mean of I^2 estimates wander by moments.
type wander struct{ excess, square float64 }

func (u *wander) add(k *modelled, counts []int32, share []float64, axis []vector, own float64) {
	if k.sum == 0 {
		return
	}
	seen, mid, weight := 0.0, 0.0, 0.0
	for w, p := range share {
		seen += float64(counts[w])
		mean := k.scale * float64(k.visits[w]) * p
		mid += mean * (1 - p) * axis[w][1]
		weight += mean * (1 - p)
	}
	mid /= weight
	f := seen / k.sum
	var score, info, scatter float64
	for w, p := range share {
		mean, x := f*k.scale*float64(k.visits[w])*p, axis[w][1]-mid
		score += (float64(counts[w]) - mean) * x
		info += mean * (1 - p) * x * x
		scatter += mean * mean * x * x
	}
	u.excess += score*score - info - own*scatter
	u.square += info * info
}

func (u wander) variance() float64 {
	if u.square == 0 {
		return 0
	}
	return max(0, u.excess/u.square)
}

// A usual spread is the mean of those of all series, each counting by how surely it is known.
type usual struct{ sum, weight float64 }

func (u *usual) add(e estimate) {
	if e.variance > 0 {
		u.sum += e.spread / e.variance
		u.weight += 1 / e.variance
	}
}

func (u usual) spread() float64 {
	if u.weight == 0 {
		return 0
	}
	return max(0, u.sum/u.weight)
}
