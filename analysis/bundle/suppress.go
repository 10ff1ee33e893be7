package bundle

import (
	"cmp"
	"maps"
	"slices"

	"faultgrain/schemas"
)

// A Frozen is what was shared before: its tallies are told again as they were.
type Frozen = Bundle

// visitsPerSpan times the threshold is how many diagnosed visits close a span of a model.
const visitsPerSpan = 4

// tell makes the tallies. before may be nil.
func (c *counts) tell(threshold int, before *Frozen) *Bundle {
	if before == nil {
		before = &Frozen{}
	}
	p := newTeller(c, threshold, before)
	for _, model := range sortedKeys(c.visits, before.Visits, Visits.key, cmp.Compare[string]) {
		p.model(model)
	}
	p.parts()
	return p.out
}

// sortedKeys are the keys counted or told before, in order.
func sortedKeys[K comparable, R any](counted map[K][]int, before []R, key func(R) K, order func(a, b K) int) []K {
	all := map[K]bool{}
	for k := range counted {
		all[k] = true
	}
	for _, r := range before {
		all[key(r)] = true
	}
	return slices.SortedFunc(maps.Keys(all), order)
}

type teller struct {
	*counts
	least  int
	before *Frozen
	out    *Bundle

	faultsOf map[string][]string  // components by model, in order
	pairsOf  map[string][]pairKey // by model, in order

	visitsTold map[string][]Visits // told before
	faultsTold map[faultKey][]Faults
	pairsTold  map[pairKey][]Pair
	partsTold  map[partKey][]Parts
}

func newTeller(c *counts, threshold int, before *Frozen) *teller {
	p := &teller{counts: c, least: threshold, before: before, out: &Bundle{}, faultsOf: map[string][]string{}, pairsOf: map[string][]pairKey{},
		visitsTold: grouped(before.Visits, Visits.key), faultsTold: grouped(before.Faults, Faults.key),
		pairsTold: grouped(before.Pairs, Pair.key), partsTold: grouped(before.Parts, Parts.key)}
	for _, f := range before.Faults {
		if _, known := c.cause[f.Component]; !known {
			c.cause[f.Component] = f.Cause
		}
	}
	for _, k := range sortedKeys(c.faults, before.Faults, Faults.key, faultKey.compare) {
		p.faultsOf[k.model] = append(p.faultsOf[k.model], k.component)
	}
	for _, k := range sortedKeys(c.both, before.Pairs, Pair.key, pairKey.compare) {
		p.pairsOf[k.model] = append(p.pairsOf[k.model], k)
	}
	return p
}

func grouped[K comparable, R any](rows []R, key func(R) K) map[K][]R {
	m := map[K][]R{}
	for _, r := range rows {
		m[key(r)] = append(m[key(r)], r)
	}
	return m
}

// model tells the spans of one model, then its components and pairs.
func (p *teller) model(model string) {
	spans := p.visitSpans(model)
	p.out.Visits = append(p.out.Visits, spans...)
	if len(spans) == 0 {
		return
	}
	told := map[string][]row{}
	for _, component := range p.faultsOf[model] {
		rows := p.faultSpans(faultKey{model, component}, spans)
		for _, r := range rows {
			p.out.Faults = append(p.out.Faults, r.Faults)
		}
		if !p.cause[component] {
			told[component] = rows
		}
	}
	p.out.Pairs = append(p.out.Pairs, p.forest(model, spans, told)...)
}

// visitSpans puts a model's months together until they hold enough visits.
func (p *teller) visitSpans(model string) []Visits {
	var list []Visits
	start := p.first
	for _, v := range p.visitsTold[model] {
		list, start = append(list, v), v.To+1
	}
	n := 0
	for m := start; m <= p.last; m++ {
		n += p.within(p.visits[model], Span{m, m})
		if n < visitsPerSpan*p.least {
			continue
		}
		v := p.models[model]
		v.Span, v.Visits = Span{start, m}, n
		list = append(list, v)
		start, n = m+1, 0
	}
	return list
}

// A row is a tally of a component with the first and last of the model's spans that it is made of.
type row struct {
	Faults
	first, last int
}

// faultSpans puts the model's spans together until they hold enough faults.
func (p *teller) faultSpans(k faultKey, spans []Visits) []row {
	var list []row
	start := 0
	for _, f := range p.faultsTold[k] {
		first := slices.IndexFunc(spans, func(v Visits) bool { return v.From == f.From })
		last := slices.IndexFunc(spans, func(v Visits) bool { return v.To == f.To })
		list, start = append(list, row{Faults: f, first: first, last: last}), last+1
	}
	faults, visits, impossible := 0, 0, false
	for i := start; i < len(spans); i++ {
		n := p.within(p.faults[k], spans[i].Span)
		impossible = impossible || n > spans[i].Visits // corrected since its visits were told
		faults, visits = faults+n, visits+spans[i].Visits
		if faults < p.least {
			continue
		}
		f := Faults{Model: k.model, Component: k.component, Cause: p.cause[k.component], Span: Span{spans[start].From, spans[i].To}, Visits: visits}
		if !impossible && visits-faults >= p.least && (i == start || faults <= spans[i].Visits-p.least+1) {
			f.Faults, f.Told = faults, true
		}
		list = append(list, row{Faults: f, first: start, last: i})
		start, faults, visits, impossible = i+1, 0, 0, false
	}
	return list
}

func (p *teller) parts() {
	for _, k := range sortedKeys(p.counts.parts, p.before.Parts, Parts.key, partKey.compare) {
		start := p.first
		for _, r := range p.partsTold[k] {
			p.out.Parts = append(p.out.Parts, r)
			start = r.To + 1
		}
		n := 0
		for m := start; m <= p.last; m++ {
			if n += p.within(p.counts.parts[k], Span{m, m}); n < p.least {
				continue
			}
			r := Parts{Component: k.component, Grade: k.grade, Currency: k.currency, Span: Span{start, m}, Lines: n}
			if k.band >= 0 {
				r.CostFrom = schemas.Known(bandEdges[k.band])
				if k.band+1 < len(bandEdges) {
					r.CostBelow = schemas.Known(bandEdges[k.band+1])
				}
			}
			p.out.Parts = append(p.out.Parts, r)
			start, n = m+1, 0
		}
	}
}
