package stat

import (
	"fmt"
	"math"
)

// A GammaPrior is the distribution of rates among groups, Gamma(Shape, Rate): mean
// Shape/Rate, worth Shape events seen over an exposure of Rate. It is also the state of a
// gamma-Poisson forecast, which Update and Discount carry forward.
type GammaPrior struct {
	Shape, Rate float64
	Source      PriorSource
	Groups      int // groups with exposure that it was fitted on
	possible    []weightedGamma
}

type weightedGamma struct{ shape, rate, weight float64 }

// Mean is the prior mean rate, per unit of exposure.
func (p GammaPrior) Mean() float64 { return p.Shape / p.Rate }

// Posterior returns the shrunk rate of a group with count events over exposure (>= 0), with
// equal-tailed limits, averaged over the priors the groups leave possible as in
// BetaPrior.Posterior. Exposure 0 returns the prior itself.
func (p GammaPrior) Posterior(count int, exposure, conf float64) (Estimate, error) {
	if err := checkConf(conf); err != nil {
		return Estimate{}, err
	}
	after, err := p.Update(count, exposure) // checks, and has the averaged mean
	if err != nil {
		return Estimate{}, err
	}
	if len(p.possible) == 0 {
		return gammaEstimate(after.Shape, after.Rate, conf)
	}
	events, mean := float64(count), after.Mean()
	below := func(u float64) (tail, slope float64) {
		for _, w := range p.possible {
			lower, _, s := closedGammaTails(w.shape+events, (w.rate+exposure)*math.Exp(u))
			tail += w.weight * lower
			slope += w.weight * s
		}
		return tail, slope
	}
	above := func(u float64) (tail, slope float64) {
		for _, w := range p.possible {
			_, upper, s := closedGammaTails(w.shape+events, (w.rate+exposure)*math.Exp(-u))
			tail += w.weight * upper
			slope += w.weight * s
		}
		return tail, slope
	}
	spread := 1 / math.Sqrt(after.Shape)
	lo, err := mixtureQuantile(below, (1-conf)/2, math.Log(mean), spread)
	if err != nil {
		return Estimate{}, err
	}
	hi, err := mixtureQuantile(above, (1-conf)/2, -math.Log(mean), spread)
	if err != nil {
		return Estimate{}, err
	}
	most := math.Exp(-hi)
	if math.IsInf(most, 0) {
		return Estimate{}, fmt.Errorf("%w: the groups leave the rate without an upper limit", ErrTooFew)
	}
	return Estimate{mean, min(math.Exp(lo), mean), max(most, mean)}, nil
}

// Update returns the prior after count events over exposure: what is now known of the rate.
// Where the prior averages over several, the result is the gamma with their mean and variance.
func (p GammaPrior) Update(count int, exposure float64) (GammaPrior, error) {
	switch {
	case !(p.Shape > 0 && p.Rate > 0):
		return GammaPrior{}, outOfRange("prior Gamma(%v, %v): want positive numbers", p.Shape, p.Rate)
	case count < 0 || !(exposure >= 0) || math.IsInf(exposure, 0) || (exposure == 0 && count > 0):
		return GammaPrior{}, outOfRange("%d events in exposure %v", count, exposure)
	}
	x := float64(count)
	if len(p.possible) == 0 {
		return GammaPrior{Shape: p.Shape + x, Rate: p.Rate + exposure, Source: p.Source, Groups: p.Groups}, nil
	}
	var mean, within, between float64
	for _, w := range p.possible {
		m := (w.shape + x) / (w.rate + exposure)
		mean += w.weight * m
		within += w.weight * m / (w.rate + exposure)
	}
	for _, w := range p.possible {
		d := (w.shape+x)/(w.rate+exposure) - mean
		between += w.weight * d * d
	}
	variance := within + between
	return GammaPrior{Shape: mean * mean / variance, Rate: mean / variance, Source: p.Source, Groups: p.Groups}, nil
}

// Discount keeps the mean and lets a part of what is known fade: keep is in (0, 1], 1 keeps
// all. Used once per period before Update, it forgets old demand exponentially.
//
// Power discounting: Smith (1979), J. R. Stat. Soc. B 41, 375-387.
func (p GammaPrior) Discount(keep float64) (GammaPrior, error) {
	if !(keep > 0 && keep <= 1) {
		return GammaPrior{}, outOfRange("discount %v: want above 0, at most 1", keep)
	}
	now, err := p.Update(0, 0)
	if err != nil {
		return GammaPrior{}, err
	}
	return GammaPrior{Shape: now.Shape * keep, Rate: now.Rate * keep, Source: p.Source, Groups: p.Groups}, nil
}

// Predictive is the distribution of the count over a further exposure (> 0): negative
// binomial, because the rate is not known exactly.
func (p GammaPrior) Predictive(exposure float64) (NegativeBinomial, error) {
	if err := checkExposure(exposure); err != nil {
		return NegativeBinomial{}, err
	}
	now, err := p.Update(0, 0)
	if err != nil {
		return NegativeBinomial{}, err
	}
	return NegativeBinomial{Size: now.Shape, Mean: now.Shape / now.Rate * exposure}, nil
}

func gammaEstimate(shape, rate, conf float64) (Estimate, error) {
	tail := (1 - conf) / 2
	lo, err := gammaQuantile(tail, shape)
	if err != nil {
		return Estimate{}, err
	}
	hi, err := gammaQuantile(1-tail, shape)
	if err != nil {
		return Estimate{}, err
	}
	mean := shape / rate
	return Estimate{mean, min(lo/rate, mean), max(hi/rate, mean)}, nil
}

// FitGammaPoisson fits the distribution of rates over groups, count[i] events in
// exposure[i] each, by maximum likelihood of the negative binomial. Groups without
// exposure are passed over.
//
// The prior is never worth more events than there are in the data: where the rates differ
// no more than chance makes them it is the pooled one (PriorPooled). If the search fails,
// moments are used (PriorMoments). With fewer than 3 groups, or no event, it is a weak one
// worth half an event with mean (events+1/2)/exposure (PriorWeak). No exposure is ErrNoData.
//
// Fisher (1941), Annals of Eugenics 11, 182-187; hyperprior as in FitBetaBinomial.
func FitGammaPoisson(count []int, exposure []float64) (GammaPrior, error) {
	g, err := newRates(count, exposure)
	if err != nil {
		return GammaPrior{}, err
	}
	if len(g.x) < leastGroups || g.events == 0 {
		const worth = 0.5
		return GammaPrior{Shape: worth, Rate: worth * g.exposure / (g.events + 0.5), Source: PriorWeak, Groups: len(g.x)}, nil
	}
	startU, startV := g.moments()
	floor, ceiling := math.Log(leastStrength), math.Log(g.events)
	startV = min(max(startV, floor), ceiling)
	u, v, err := climb(g.slopes, startU, startV, floor, ceiling)
	source := PriorML
	switch {
	case err != nil:
		u, v, source = startU, startV, PriorMoments
	case v >= ceiling:
		u, source = math.Log(g.events/g.exposure), PriorPooled
	}
	p := GammaPrior{Source: source, Groups: len(g.x), Shape: math.Exp(v), Rate: math.Exp(v - u)}
	typical := g.typical()
	hyperprior := func(_, v float64) float64 { return uniformShrinkage(v, typical) }
	for _, h := range plausible(g.slopes, hyperprior, u, v, floor, ceiling+10) {
		p.possible = append(p.possible, weightedGamma{math.Exp(h.v), math.Exp(h.v - h.u), h.weight})
	}
	return p, nil
}

type rateGroups struct {
	x, t             []float64
	events, exposure float64
}

func newRates(count []int, exposure []float64) (rateGroups, error) {
	if err := checkLengths(len(count), len(exposure)); err != nil {
		return rateGroups{}, err
	}
	var g rateGroups
	for i, x := range count {
		t := exposure[i]
		if x < 0 || !(t >= 0) || math.IsInf(t, 0) || (t == 0 && x > 0) {
			return rateGroups{}, outOfRange("group %d: %d events in exposure %v", i+1, x, t)
		}
		if t == 0 {
			continue
		}
		g.x, g.t = append(g.x, float64(x)), append(g.t, t)
		g.events += float64(x)
		g.exposure += t
	}
	if len(g.x) == 0 {
		return rateGroups{}, fmt.Errorf("%w: no group has exposure", ErrNoData)
	}
	return g, nil
}

// typical is the number of events that the mean rate makes in the median exposure.
func (g rateGroups) typical() float64 { return g.events / g.exposure * median(g.t) }

// slopes is the log likelihood in u, the log of the mean rate, and v, the log of the shape.
func (g rateGroups) slopes(u, v float64) slopes {
	m, k := math.Exp(u), math.Exp(v)
	var d slopes
	for i, x := range g.x {
		mean := m * g.t[i]
		all := k + mean
		d.value += logRising(k, x) - k*math.Log1p(mean/k) + x*math.Log(mean/all)
		d.u += k * (x - mean) / all
		first := digammaRise(k, x) - math.Log1p(mean/k) + (mean-x)/all
		d.v += k * first
		d.uu -= k * mean * (k + x) / (all * all)
		d.uv += k * (x - mean) * mean / (all * all)
		d.vv += k*k*(trigammaRise(k, x)+mean/(k*all)-(mean-x)/(all*all)) + k*first
	}
	return d
}

// moments matches the mean and the spread beyond Poisson: log mean and log shape.
func (g rateGroups) moments() (u, v float64) {
	mean := g.events / g.exposure
	var chi, squares float64
	for i, x := range g.x {
		d := x - mean*g.t[i]
		chi += d * d / g.t[i]
		squares += g.t[i] * g.t[i]
	}
	excess := (chi - float64(len(g.x)-1)*mean) / (g.exposure - squares/g.exposure) // variance of the rates
	if excess <= 0 {
		return math.Log(mean), math.Log(g.events)
	}
	return math.Log(mean), math.Log(mean * mean / excess)
}
