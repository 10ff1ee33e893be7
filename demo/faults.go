package demo

import (
	"math"
	"slices"
	"time"
)

// faults draws what is wrong with a device that walks in: the first fault by the class's weights, now
// and then an unrelated second one; empty when nothing is found.
func (c *counter) faults(m *Model, date time.Time) []string {
	weights := c.weights(m, date)
	if !c.opt.Null && m.Name() == PairModel {
		if pair, drawn := c.pair(weights); drawn {
			return pair
		}
		weights = without(weights, PairA, PairB)
	}
	first := pickWord(c.events, weights)
	if first == noFault {
		return nil
	}
	return c.withSecond([]string{first}, weights)
}

// withSecond adds an unrelated fault with chance secondFault.
func (c *counter) withSecond(faults []string, weights []weighted) []string {
	if c.events.Float64() < secondFault {
		faults = append(faults, pickWord(c.events, without(weights, append(faults, noFault, DemandComponent)...)))
	}
	return faults
}

// pair draws the cell of truth 1's two-by-two table; drawn is false when neither speaker failed.
func (c *counter) pair(weights []weighted) ([]string, bool) {
	a, b := seen(weights, PairA), seen(weights, PairB)
	both := jointShare(a, b, PairOdds)
	rest := without(weights, PairA, PairB)
	switch at := c.events.Float64(); {
	case at < both:
		return []string{PairA, PairB}, true
	case at < a:
		return c.withSecond([]string{PairA}, rest), true
	case at < a+b-both:
		return c.withSecond([]string{PairB}, rest), true
	default:
		return nil, false
	}
}

// jointShare solves odds = both x neither / (a only x b only) for the share of visits with both, given
// the share with each: the smaller root of (odds-1) x^2 - (1 + (odds-1)(a+b)) x + odds a b = 0
// (Plackett 1965, J. Am. Stat. Assoc. 60, 516-522).
func jointShare(a, b, odds float64) float64 {
	s := 1 + (odds-1)*(a+b)
	return (s - math.Sqrt(s*s-4*odds*(odds-1)*a*b)) / (2 * (odds - 1))
}

// seen is the share of visits that show a component, as a first or as an unrelated second fault.
func seen(weights []weighted, id string) float64 {
	var own, well float64
	for _, w := range weights {
		switch w.word {
		case id:
			own = w.weight
		case noFault:
			well = w.weight
		}
	}
	share := own
	for _, w := range weights {
		if w.word != id && w.word != noFault {
			share += secondFault * w.weight * own / (1 - w.weight - well)
		}
	}
	return share
}

// weights are the first faults of a model on a day, summing to 1, truths 2 and 6 included.
func (c *counter) weights(m *Model, date time.Time) []weighted {
	special, share := "", 0.0
	switch {
	case c.opt.Null:
	case m.Class == RisingClass:
		special, share = RisingComponent, rising(date)
	case m.Name() == ShareModel:
		special, share = ShareComponent, ShareRatio*ShareClass
	}
	list := c.classes[m.Class]
	weights := make([]weighted, len(list))
	scale := 1.0
	if special != "" {
		scale = (1 - share) / (1 - byID(list, special).weight)
	}
	for i, k := range list {
		weights[i] = weighted{k.id, k.weight * scale}
		if k.id == special {
			weights[i].weight = share
		}
	}
	return weights
}

// rising is truth 6: the share of RisingComponent on a day.
func rising(date time.Time) float64 {
	logit := func(p float64) float64 { return math.Log(p / (1 - p)) }
	from := LastDay.AddDate(0, -RisingMonths, 0)
	way := math.Max(0, float64(date.Sub(from))/float64(LastDay.Sub(from)))
	x := logit(RisingFrom) + way*(logit(RisingTo)-logit(RisingFrom))
	return 1 / (1 + math.Exp(-x))
}

func without(weights []weighted, words ...string) []weighted {
	return slices.DeleteFunc(slices.Clone(weights), func(w weighted) bool { return slices.Contains(words, w.word) })
}
