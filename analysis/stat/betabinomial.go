package stat

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// PriorSource says how a fitted prior came about.
type PriorSource string

const (
	PriorML      PriorSource = "maximum likelihood"
	PriorPooled  PriorSource = "pooled"  // no spread beyond chance: as strong as the data it came from
	PriorMoments PriorSource = "moments" // the likelihood search failed
	PriorWeak    PriorSource = "weak"    // too few groups or no events to fit on
)

// A BetaPrior is the distribution of shares among groups, Beta(Alpha, Beta). Alpha+Beta
// is how many trials the prior is worth.
type BetaPrior struct {
	Alpha, Beta float64
	Source      PriorSource
	Groups      int // groups with trials that it was fitted on
}

// Mean is the prior mean share.
func (p BetaPrior) Mean() float64 { return p.Alpha / (p.Alpha + p.Beta) }

// Posterior returns the shrunk share of a group with x of n, with equal-tailed limits.
// n = 0 is allowed: it returns the prior itself.
func (p BetaPrior) Posterior(x, n int, conf float64) (Estimate, error) {
	if err := checkConf(conf); err != nil {
		return Estimate{}, err
	}
	if x < 0 || x > n {
		return Estimate{}, outOfRange("%d of %d: want 0 <= x <= n", x, n)
	}
	if !(p.Alpha > 0 && p.Beta > 0) {
		return Estimate{}, outOfRange("prior Beta(%v, %v): want positive shapes", p.Alpha, p.Beta)
	}
	return betaEstimate(p.Alpha+float64(x), p.Beta+float64(n-x), conf)
}

// betaEstimate is the mean and the equal-tailed interval of Beta(a, b).
func betaEstimate(a, b, conf float64) (Estimate, error) {
	tail := (1 - conf) / 2
	lo, err := betaQuantile(tail, a, b)
	if err != nil {
		return Estimate{}, err
	}
	miss, err := betaQuantile(tail, b, a)
	if err != nil {
		return Estimate{}, err
	}
	return Estimate{a / (a + b), lo, 1 - miss}, nil
}

// leastGroups is how many groups a spread between groups can be told from.
const leastGroups = 3

// FitBetaBinomial fits the distribution of shares over groups, x[i] of n[i] each, by
// maximum likelihood of the beta-binomial. Groups without trials are passed over.
//
// The prior is never worth more trials than there are in the data: where the shares differ
// no more than chance makes them, it is the pooled one (PriorPooled). If the search fails,
// moments are used (PriorMoments). With fewer than 3 groups, or no event or nothing but
// events, it is a weak one worth 2 trials with mean (events+1/2)/(trials+1) (PriorWeak).
// No trials at all is ErrNoData.
//
// Skellam (1948), J. R. Stat. Soc. B 10, 257-261; moments after Kleinman (1973), J. Am.
// Stat. Assoc. 68, 46-54.
func FitBetaBinomial(x, n []int) (BetaPrior, error) {
	g, err := newGroups(x, n)
	if err != nil {
		return BetaPrior{}, err
	}
	if g.count < leastGroups || g.events == 0 || g.events == g.trials {
		mean := (g.events + 0.5) / (g.trials + 1)
		return BetaPrior{2 * mean, 2 * (1 - mean), PriorWeak, g.count}, nil
	}
	at, err := g.maximise()
	source := PriorML
	switch {
	case err != nil:
		at, source = g.moments(), PriorMoments
	case at.strength >= g.trials:
		at, source = betaPoint{g.events / g.trials, g.trials}, PriorPooled
	}
	return BetaPrior{at.mean * at.strength, (1 - at.mean) * at.strength, source, g.count}, nil
}

// betaGroups are the distinct (x, n) with how often each occurs, as equal ones cost the same.
type betaGroups struct {
	x, n, times    []float64
	events, trials float64
	count          int
}

func newGroups(x, n []int) (betaGroups, error) {
	if err := checkLengths(len(x), len(n)); err != nil {
		return betaGroups{}, err
	}
	var g betaGroups
	seen := make(map[[2]int]int)
	for i := range x {
		if x[i] < 0 || x[i] > n[i] {
			return betaGroups{}, outOfRange("group %d: %d of %d: want 0 <= x <= n", i+1, x[i], n[i])
		}
		if n[i] == 0 {
			continue
		}
		g.count++
		g.events += float64(x[i])
		g.trials += float64(n[i])
		key := [2]int{x[i], n[i]}
		at, ok := seen[key]
		if !ok {
			at = len(g.x)
			seen[key] = at
			g.x, g.n, g.times = append(g.x, float64(x[i])), append(g.n, float64(n[i])), append(g.times, 0)
		}
		g.times[at]++
	}
	if g.count == 0 {
		return betaGroups{}, fmt.Errorf("%w: no group has a trial", ErrNoData)
	}
	return g, nil
}

// A betaPoint is a beta distribution by its mean and by how many trials it is worth.
type betaPoint struct{ mean, strength float64 }

// betaSlopes are the log likelihood and its derivatives in logit(mean) and log(strength).
type betaSlopes struct {
	value               float64
	mean, strength      float64
	mean2, mix, strong2 float64
}

func (g betaGroups) slopes(at betaPoint) betaSlopes {
	m, s := at.mean, at.strength
	a, b := m*s, (1-m)*s
	var ll, dA, dB, dS, a2, b2, s2 float64
	for i, x := range g.x {
		n, w := g.n[i], g.times[i]
		miss := n - x
		ll += w * (logRising(a, x) + logRising(b, miss) - logRising(s, n))
		dA += w * digammaRise(a, x)
		dB += w * digammaRise(b, miss)
		dS += w * digammaRise(s, n)
		a2 += w * trigammaRise(a, x)
		b2 += w * trigammaRise(b, miss)
		s2 += w * trigammaRise(s, n)
	}
	v := m * (1 - m)
	gm, gs := s*(dA-dB), m*dA+(1-m)*dB-dS
	hm, hs := s*s*(a2+b2), m*m*a2+(1-m)*(1-m)*b2-s2
	hx := dA - dB + s*(m*a2-(1-m)*b2)
	return betaSlopes{
		value: ll,
		mean:  v * gm, strength: s * gs,
		mean2: v*v*hm + v*(1-2*m)*gm, mix: v * s * hx, strong2: s*s*hs + s*gs,
	}
}

// maximise is Newton's method in logit(mean) and log(strength). A step that does not raise
// the likelihood is halved; where the surface is not concave it goes uphill instead.
// Strength stays between 0.01 and the number of trials.
func (g betaGroups) maximise() (betaPoint, error) {
	at := g.moments()
	d := g.slopes(at)
	for range 200 {
		stepMean, stepStrength := uphill(d)
		atBound := (at.strength >= g.trials && stepStrength > 0) || (at.strength <= 0.01 && stepStrength < 0)
		if atBound {
			stepStrength = 0
			stepMean = d.mean / max(math.Abs(d.mean2), 1e-12)
		}
		gain := d.mean*stepMean + d.strength*stepStrength
		if gain < 1e-13*(1+math.Abs(d.value)) {
			return at, nil
		}
		moved := false
		for half := 1.0; half > 1e-10; half /= 2 {
			next := betaPoint{
				mean:     logitStep(at.mean, clamp(half*stepMean, 2)),
				strength: min(max(at.strength*math.Exp(clamp(half*stepStrength, 2)), 0.01), g.trials),
			}
			if nd := g.slopes(next); nd.value > d.value {
				at, d, moved = next, nd, true
				break
			}
		}
		if !moved {
			return at, nil // no step gains: at the top to working precision
		}
	}
	return betaPoint{}, fmt.Errorf("%w: beta-binomial fit", ErrNotConverged)
}

// uphill is the Newton step where the surface is concave, else one along the slopes.
func uphill(d betaSlopes) (mean, strength float64) {
	det := d.mean2*d.strong2 - d.mix*d.mix
	if d.mean2 < 0 && det > 0 {
		return (d.mix*d.strength - d.strong2*d.mean) / det, (d.mix*d.mean - d.mean2*d.strength) / det
	}
	return d.mean / max(math.Abs(d.mean2), 1e-12), d.strength / max(math.Abs(d.strong2), 1e-12)
}

func clamp(v, limit float64) float64 { return min(max(v, -limit), limit) }

// logitStep moves a share by step on the logit scale.
func logitStep(p, step float64) float64 {
	x, _ := expit(math.Log(p/(1-p)) + step)
	return min(max(x, 1e-12), 1-1e-12)
}

// moments matches the weighted mean and variance of the shares, within the same bounds.
func (g betaGroups) moments() betaPoint {
	mean := g.events / g.trials
	var chi, squares float64
	for i, x := range g.x {
		d := x/g.n[i] - mean
		chi += g.times[i] * g.n[i] * d * d
		squares += g.times[i] * g.n[i] * g.n[i]
	}
	v := mean * (1 - mean)
	k := float64(g.count)
	spare := g.trials - squares/g.trials
	// Of the spread between groups, what chance does not explain, as a part of v.
	strength := g.trials
	if room := spare - (k - 1); room > 0 { // else every group is a single trial, which shows no spread
		if excess := (chi - (k-1)*v) / (v * room); excess > 1/(1+g.trials) {
			strength = 1/min(excess, 0.99) - 1
		}
	}
	return betaPoint{mean, min(max(strength, 0.01), g.trials)}
}

// logRising is log of a(a+1)...(a+k-1) for an integer k >= 0.
func logRising(a, k float64) float64 {
	if k <= 8 {
		product := 1.0
		for j := 0.0; j < k; j++ {
			product *= a + j
		}
		return math.Log(product)
	}
	hi, _ := math.Lgamma(a + k)
	lo, _ := math.Lgamma(a)
	return hi - lo
}

// digammaRise is digamma(a+k) - digamma(a) for an integer k >= 0.
func digammaRise(a, k float64) float64 {
	if k <= 24 {
		sum := 0.0
		for j := k - 1; j >= 0; j-- {
			sum += 1 / (a + j)
		}
		return sum
	}
	return mathext.Digamma(a+k) - mathext.Digamma(a)
}

// trigammaRise is trigamma(a+k) - trigamma(a) for an integer k >= 0; it is not above 0.
func trigammaRise(a, k float64) float64 {
	if k <= 24 {
		sum := 0.0
		for j := k - 1; j >= 0; j-- {
			sum -= 1 / ((a + j) * (a + j))
		}
		return sum
	}
	return mathext.Zeta(2, a+k) - mathext.Zeta(2, a)
}
