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
// is how many trials the prior is worth. A prior from FitBetaBinomial also remembers which
// other priors the groups leave possible; one made by hand is taken as certain.
type BetaPrior struct {
	Alpha, Beta float64
	Source      PriorSource
	Groups      int // groups with trials that it was fitted on
	possible    []weightedBeta
}

type weightedBeta struct{ alpha, beta, weight float64 }

// Mean is the prior mean share.
func (p BetaPrior) Mean() float64 { return p.Alpha / (p.Alpha + p.Beta) }

// Posterior returns the shrunk share of a group with x of n, with equal-tailed limits.
// n = 0 is allowed: it returns the prior itself.
//
// Limits that took the fitted prior as certain would be too narrow when there are few
// groups, or groups that hardly differ. So the posterior is averaged over the priors the
// groups leave possible, weighted by likelihood and the hyperprior of FitBetaBinomial.
//
// Kass and Steffey (1989), J. Am. Stat. Assoc. 84, 717-726; Gelman et al., Bayesian Data
// Analysis, section 5.3.
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
	hits, misses := float64(x), float64(n-x)
	if len(p.possible) == 0 {
		return betaEstimate(p.Alpha+hits, p.Beta+misses, conf)
	}
	var mean float64
	for _, w := range p.possible {
		mean += w.weight * (w.alpha + hits) / (w.alpha + w.beta + hits + misses)
	}
	centre := math.Log(mean / (1 - mean))
	// Tails and slope of the mixture on the logit scale, from below and from above.
	below := func(u float64) (tail, slope float64) {
		x, y := expit(u)
		for _, w := range p.possible {
			lower, _, front := closedBetaTails(w.alpha+hits, w.beta+misses, x, y)
			tail += w.weight * lower
			slope += w.weight * front
		}
		return tail, slope
	}
	above := func(u float64) (tail, slope float64) {
		x, y := expit(-u)
		for _, w := range p.possible {
			_, upper, front := closedBetaTails(w.alpha+hits, w.beta+misses, x, y)
			tail += w.weight * upper
			slope += w.weight * front
		}
		return tail, slope
	}
	spread := 1 / math.Sqrt(min(hits, misses)+min(p.Alpha, p.Beta))
	lo, err := mixtureQuantile(below, (1-conf)/2, centre, spread)
	if err != nil {
		return Estimate{}, err
	}
	hi, err := mixtureQuantile(above, (1-conf)/2, -centre, spread)
	if err != nil {
		return Estimate{}, err
	}
	least, _ := expit(lo)
	_, most := expit(hi)
	return Estimate{mean, min(least, mean), max(most, mean)}, nil
}

// betaEstimate is the mean and the equal-tailed interval of Beta(a, b), stretched to hold
// the mean where nearly all of the distribution lies at one end.
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
	mean := a / (a + b)
	return Estimate{mean, min(lo, mean), max(1-miss, mean)}, nil
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
		return BetaPrior{Alpha: 2 * mean, Beta: 2 * (1 - mean), Source: PriorWeak, Groups: g.count}, nil
	}
	start := g.moments()
	floor, ceiling := math.Log(leastStrength), math.Log(g.trials)
	u, v, err := climb(g.slopes, math.Log(start.mean/(1-start.mean)), math.Log(start.strength), floor, ceiling)
	source := PriorML
	switch {
	case err != nil:
		u, v, source = math.Log(start.mean/(1-start.mean)), math.Log(start.strength), PriorMoments
	case v >= ceiling:
		u, source = math.Log(g.events/(g.trials-g.events)), PriorPooled
	}
	p := BetaPrior{Source: source, Groups: g.count}
	p.Alpha, p.Beta = betaShapes(u, v)
	typical := g.typical()
	hyperprior := func(u, v float64) float64 {
		m, c := expit(u)
		return math.Log(m) + math.Log(c) + uniformShrinkage(v, typical) // uniform in the mean
	}
	for _, h := range plausible(g.slopes, hyperprior, u, v, floor, ceiling+10) {
		a, b := betaShapes(h.u, h.v)
		p.possible = append(p.possible, weightedBeta{a, b, h.weight})
	}
	return p, nil
}

// leastStrength keeps a prior from being worth less than a hundredth of a trial.
const leastStrength = 0.01

// betaShapes turns the logit of the mean and the log of the strength into shapes.
func betaShapes(u, v float64) (alpha, beta float64) {
	p, q := expit(u)
	return p * math.Exp(v), q * math.Exp(v)
}

// uniformShrinkage is the log density, in v, of a strength exp(v) such that a group of
// typical size keeps a share of its own evidence, typical/(typical+strength), that is
// uniform over 0 to 1: neither pooling nor keeping apart is favoured beforehand.
//
// Daniels (1999), Canadian J. Statistics 27, 567-578; for counts Christiansen and Morris
// (1997), J. Am. Stat. Assoc. 92, 618-632.
func uniformShrinkage(v, typical float64) float64 {
	return v - 2*math.Log(typical+math.Exp(v))
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

// typical is the median number of trials of a group.
func (g betaGroups) typical() float64 {
	var all []float64
	for i, n := range g.n {
		for range int(g.times[i]) {
			all = append(all, n)
		}
	}
	return median(all)
}

// slopes is the log likelihood in u, the logit of the mean, and v, the log of the strength.
func (g betaGroups) slopes(u, v float64) slopes {
	m, c := expit(u)
	s := math.Exp(v)
	a, b := m*s, c*s
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
	vm := m * c
	gm, gs := s*(dA-dB), m*dA+c*dB-dS
	hm, hs := s*s*(a2+b2), m*m*a2+c*c*b2-s2
	hx := dA - dB + s*(m*a2-c*b2)
	return slopes{
		value: ll,
		u:     vm * gm, v: s * gs,
		uu: vm*vm*hm + vm*(c-m)*gm, uv: vm * s * hx, vv: s*s*hs + s*gs,
	}
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
	return betaPoint{mean, min(max(strength, leastStrength), g.trials)}
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
