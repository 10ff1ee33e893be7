package evidence

import (
	"cmp"
	"slices"
	"strings"

	"faultgrain/schemas"
)

// A Bench is what the tables know about one model, for the person who has it open.
type Bench struct {
	Model, Maker, Family, Class string

	Visits   int             // diagnosed visits
	Unread   int             // visits whose fault text no entry could read
	Shares   []schemas.Share // with at least one fault, most faults first
	Pairs    []schemas.Pair  // of this model, counted on visits, seen together, strongest first
	Times    []schemas.Time  // single components first, most jobs first
	Moving   []schemas.Trend // last month of each series that rises or falls
	Batches  []schemas.Batch // alarms and links that name this model
	Prices   []schemas.Price // most lines first
	Stock    []schemas.StockLine
	Findings []schemas.Finding // strongest first
}

// Benches returns one Bench per model with data, most visits first, then by name.
func (t *Tables) Benches() []Bench {
	of := map[string]*Bench{}
	at := func(model string) *Bench {
		if model == "" || model == schemas.Any {
			return &Bench{} // belongs to no model
		}
		if of[model] == nil {
			of[model] = &Bench{Model: model}
		}
		return of[model]
	}
	for _, r := range t.Shares {
		b := at(r.Model)
		b.Maker, b.Family, b.Class = r.Maker, r.Family, r.Class
		b.Visits, b.Unread = max(b.Visits, r.Visits), max(b.Unread, r.Unread)
		if r.Faults > 0 {
			b.Shares = append(b.Shares, r)
		}
	}
	for _, r := range t.Times {
		if b := at(r.Model); r.Jobs > 0 {
			b.Times = append(b.Times, r)
		}
	}
	for _, r := range t.Prices {
		b := at(r.Model)
		b.Prices = append(b.Prices, r)
	}
	// What only speaks of a model that has visits, jobs or prices.
	known := func(model string) *Bench {
		if b := of[model]; b != nil {
			return b
		}
		return &Bench{}
	}
	for _, r := range t.Pairs {
		if r.Unit == "visit" && r.Both > 0 {
			b := known(r.Scope)
			b.Pairs = append(b.Pairs, r)
		}
	}
	for _, r := range LastMonths(t.Trends) {
		if r.Direction == "rising" || r.Direction == "falling" {
			b := known(r.Model)
			b.Moving = append(b.Moving, r)
		}
	}
	for _, r := range t.Batches {
		for _, m := range List(r.Models) {
			b := known(m)
			b.Batches = append(b.Batches, r)
		}
	}
	for _, r := range t.Stock {
		for _, m := range List(r.Fits) {
			b := known(m)
			b.Stock = append(b.Stock, r)
		}
	}
	for _, f := range t.Findings {
		for _, m := range Models(f) {
			b := known(m)
			b.Findings = append(b.Findings, f)
		}
	}
	var list []Bench
	for _, b := range of {
		b.sort()
		list = append(list, *b)
	}
	slices.SortFunc(list, func(a, b Bench) int {
		return cmp.Or(cmp.Compare(b.Visits, a.Visits), cmp.Compare(a.Model, b.Model))
	})
	return list
}

// Battery tells whether a finding or an alarm says that the model's cells may be bad, and not only that more are needed
// or what they cost: the caution about lithium cells then comes first.
func (b Bench) Battery() bool {
	bad := []string{schemas.KindShare, schemas.KindTrend, schemas.KindBatch, schemas.KindReturn}
	return slices.ContainsFunc(b.Findings, func(f schemas.Finding) bool { return IsBattery(f) && slices.Contains(bad, f.Kind) }) ||
		slices.ContainsFunc(b.Batches, func(r schemas.Batch) bool { return r.Component == "battery" })
}

// IsBattery tells whether a finding is about batteries.
func IsBattery(f schemas.Finding) bool {
	return f.Subject.Component == "battery" || f.Subject.ComponentB == "battery"
}

func (b *Bench) sort() {
	slices.SortStableFunc(b.Shares, func(x, y schemas.Share) int {
		return cmp.Or(cmp.Compare(y.Faults, x.Faults), cmp.Compare(x.Component, y.Component))
	})
	slices.SortStableFunc(b.Pairs, func(x, y schemas.Pair) int {
		return cmp.Or(cmp.Compare(y.OddsLow.V, x.OddsLow.V), cmp.Compare(y.Both, x.Both))
	})
	slices.SortStableFunc(b.Times, func(x, y schemas.Time) int {
		pair := func(r schemas.Time) int { return min(len(r.ComponentB), 1) }
		return cmp.Or(cmp.Compare(pair(x), pair(y)), cmp.Compare(y.Jobs, x.Jobs))
	})
	slices.SortStableFunc(b.Prices, func(x, y schemas.Price) int { return cmp.Compare(y.Lines, x.Lines) })
}

// Models are the models a finding names.
func Models(f schemas.Finding) []string {
	list := f.Subject.Models
	if m := f.Subject.Model; m != "" && !slices.Contains(list, m) {
		list = append([]string{m}, list...)
	}
	return list
}

// List splits a cell that holds several names; an empty cell holds none.
func List(cell string) []string {
	var names []string
	for name := range strings.SplitSeq(cell, ";") {
		if name = strings.TrimSpace(name); name != "" {
			names = append(names, name)
		}
	}
	return names
}

// LastMonths keeps the last month of each series of class, model and component, in the order in which
// the series begin.
func LastMonths(rows []schemas.Trend) []schemas.Trend {
	at := map[[3]string]int{}
	var last []schemas.Trend
	for _, r := range rows {
		key := [3]string{r.Class, r.Model, r.Component}
		i, ok := at[key]
		switch {
		case !ok:
			at[key] = len(last)
			last = append(last, r)
		case r.Month >= last[i].Month:
			last[i] = r
		}
	}
	return last
}
