package bundle

import (
	"cmp"
	"context"
	_ "embed"
	"slices"
	"time"

	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

//go:embed visits.sql
var visitsSQL string

//go:embed faults.sql
var faultsSQL string

//go:embed pairs.sql
var pairsSQL string

//go:embed parts.sql
var partsSQL string

type (
	faultKey struct{ model, component string }
	pairKey  struct{ model, a, b string }
	partKey  struct {
		component, grade, currency string
		band                       int // index of bandEdges; -1 where the cost is not told
	}
)

func (v Visits) key() string   { return v.Model }
func (f Faults) key() faultKey { return faultKey{f.Model, f.Component} }
func (p Pair) key() pairKey    { return pairKey{p.Model, p.A, p.B} }
func (p Parts) key() partKey   { return partKey{p.Component, p.Grade, p.Currency, band(p.CostFrom)} }

func (k faultKey) compare(o faultKey) int {
	return cmp.Or(cmp.Compare(k.model, o.model), cmp.Compare(k.component, o.component))
}

func (k pairKey) compare(o pairKey) int {
	return cmp.Or(cmp.Compare(k.model, o.model), cmp.Compare(k.a, o.a), cmp.Compare(k.b, o.b))
}

func (k partKey) compare(o partKey) int {
	return cmp.Or(cmp.Compare(k.component, o.component), cmp.Compare(k.grade, o.grade), cmp.Compare(k.currency, o.currency), cmp.Compare(k.band, o.band))
}

// bandEdges are the lower ends of the bands of a unit cost; the last is open.
var bandEdges = []float64{0, 2, 5, 10, 20, 50, 100, 200, 500, 1000}

// counts holds what a history counts by month, from its first month on.
type counts struct {
	first, last Month // last is the last month that is over
	models      map[string]Visits
	cause       map[string]bool
	visits      map[string][]int
	faults      map[faultKey][]int
	both        map[pairKey][]int
	parts       map[partKey][]int
}

func newCounts(first, last Month) *counts {
	return &counts{first: first, last: last, models: map[string]Visits{}, cause: map[string]bool{},
		visits: map[string][]int{}, faults: map[faultKey][]int{}, both: map[pairKey][]int{}, parts: map[partKey][]int{}}
}

// add counts n of a key in a month; months that are not over do not count.
func add[K comparable](c *counts, into map[K][]int, k K, m Month, n int) {
	if m < c.first || m > c.last {
		return
	}
	if into[k] == nil {
		into[k] = make([]int, c.last-c.first+1)
	}
	into[k][m-c.first] += n
}

// within adds up the months of a span.
func (c *counts) within(list []int, s Span) int {
	n := 0
	for m := max(s.From, c.first); m <= min(s.To, c.last); m++ {
		if list != nil {
			n += list[m-c.first]
		}
	}
	return n
}

func count(ctx context.Context, log *tally.Log) (*counts, error) {
	last := MonthOf(log.AsOf)
	if tally.Running(log.AsOf) {
		last--
	}
	c := newCounts(MonthOf(log.From), last)
	visits, err := tally.Query[struct {
		Model  string    `sql:"model"`
		Class  string    `sql:"class"`
		Maker  string    `sql:"maker"`
		Family string    `sql:"family"`
		Month  time.Time `sql:"month"`
		Visits int       `sql:"diagnosed"`
	}](ctx, log, visitsSQL)
	if err != nil {
		return nil, err
	}
	for _, v := range visits {
		c.models[v.Model] = Visits{Model: v.Model, Class: v.Class, Maker: v.Maker, Family: v.Family}
		add(c, c.visits, v.Model, MonthOf(v.Month), v.Visits)
	}
	faults, err := tally.Query[struct {
		Model     string    `sql:"model"`
		Component string    `sql:"component"`
		Cause     bool      `sql:"is_cause"`
		Month     time.Time `sql:"month"`
		Faults    int       `sql:"faults"`
	}](ctx, log, faultsSQL)
	if err != nil {
		return nil, err
	}
	for _, f := range faults {
		c.cause[f.Component] = f.Cause
		add(c, c.faults, faultKey{f.Model, f.Component}, MonthOf(f.Month), f.Faults)
	}
	pairs, err := tally.Query[struct {
		Model  string    `sql:"model"`
		A      string    `sql:"a"`
		B      string    `sql:"b"`
		Month  time.Time `sql:"month"`
		Visits int       `sql:"visits"`
	}](ctx, log, pairsSQL)
	if err != nil {
		return nil, err
	}
	for _, p := range pairs {
		add(c, c.both, pairKey{p.Model, p.A, p.B}, MonthOf(p.Month), p.Visits)
	}
	parts, err := tally.Query[struct {
		Component string        `sql:"component"`
		Grade     string        `sql:"grade"`
		Currency  string        `sql:"currency"`
		Cost      schemas.Float `sql:"unit_cost"`
		Month     time.Time     `sql:"month"`
		Lines     int           `sql:"lines"`
	}](ctx, log, partsSQL)
	if err != nil {
		return nil, err
	}
	for _, p := range parts {
		add(c, c.parts, partKey{p.Component, p.Grade, p.Currency, band(p.Cost)}, MonthOf(p.Month), p.Lines)
	}
	return c, nil
}

// band is where a cost lies in bandEdges; -1 when it is not told or below 0.
func band(cost schemas.Float) int {
	if !cost.OK || cost.V < 0 {
		return -1
	}
	at, exact := slices.BinarySearch(bandEdges, cost.V)
	if exact {
		return at
	}
	return at - 1
}
