// Package pairs says which components fail together.
//
// In: a tally.Log. Out: rows of tables/pairs.csv and findings. A unit is a diagnosed visit, or a device
// window: all diagnosed visits of one device opened less than 30 days after the first of them. Scopes are each model,
// and "*": all models, stratified by model. Causes (liquid, drop) are no components and make no pair.
//
// A visit exists only because something failed. Among visits chosen that way independent components look
// as if they avoid each other, for whoever has one fault needs no second to be in the log. So odds ratios
// lean low, a pair that fails together shows in spite of it, and only positive association is a finding.
//
// The family of tests that q corrects is fixed by the margins alone, before looking at how often a pair was
// seen together: all pairs of components both seen in the scope; where that makes more than 10,000 rows for a unit, those
// expected together most often, pairs with both components on 3 units or more going first.
//
// It refuses to say which component brought the other down.
package pairs

import (
	"cmp"
	"context"
	_ "embed"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"time"

	"golang.org/x/sync/errgroup"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

//go:embed units.sql
var unitsSQL string

//go:embed components.sql
var componentsSQL string

//go:embed both.sql
var bothSQL string

//go:embed windows.sql
var windowsSQL string

// Units of counting.
const (
	UnitVisit  = "visit"
	UnitDevice = "device-30d"
)

const (
	conf    = 0.95
	maxRows = 10_000 // per unit
	window  = 30 * 24 * time.Hour
)

// Compute returns rows ordered by scope, unit and components; "*" comes first.
func Compute(ctx context.Context, log *tally.Log) ([]schemas.Pair, error) {
	visits, devices, err := count(ctx, log)
	if err != nil {
		return nil, err
	}
	return FromCounts(visits, devices)
}

// FromCounts computes the rows from counts alone: those of a log, of several shops added up, or simulated.
func FromCounts(visits, devices Counts) ([]schemas.Pair, error) {
	var rows []schemas.Pair
	for _, u := range []struct {
		unit   string
		counts Counts
	}{{UnitVisit, visits}, {UnitDevice, devices}} {
		more, err := u.counts.rows(u.unit, maxRows)
		if err != nil {
			return nil, err
		}
		rows = append(rows, more...)
	}
	slices.SortFunc(rows, func(a, b schemas.Pair) int {
		return cmp.Or(
			first(a.Scope == schemas.Any, b.Scope == schemas.Any), cmp.Compare(a.Scope, b.Scope),
			cmp.Compare(b.Unit, a.Unit), cmp.Compare(a.ComponentA, b.ComponentA), cmp.Compare(a.ComponentB, b.ComponentB),
		)
	})
	return rows, correct(rows)
}

// first orders what holds before what does not.
func first(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	}
	return 1
}

// correct fills q over the whole table.
func correct(rows []schemas.Pair) error {
	return findings.Correct(rows, func(r *schemas.Pair) (schemas.Float, *schemas.Float) { return r.P, &r.Q })
}

// A One is a component on a model.
type One struct{ Model, Component string }

// A Two is a pair of components on a model, A < B.
type Two struct{ Model, A, B string }

// Counts of one unit of counting.
type Counts struct {
	N    map[string]int // units by model
	One  map[One]int    // units that show the component
	Both map[Two]int    // units that show both
}

// NewCounts is ready to count.
func NewCounts() Counts {
	return Counts{N: map[string]int{}, One: map[One]int{}, Both: map[Two]int{}}
}

// Add counts one unit of a model that shows components, which must be sorted and without repeats.
func (c Counts) Add(model string, components []string) {
	c.N[model]++
	for i, a := range components {
		c.One[One{model, a}]++
		for _, b := range components[i+1:] {
			c.Both[Two{model, a, b}]++
		}
	}
}

func count(ctx context.Context, log *tally.Log) (visits, devices Counts, err error) {
	visits, devices = NewCounts(), NewCounts()
	units, err := tally.Query[struct {
		Model  string `sql:"model"`
		N      int    `sql:"n"`
		Single int    `sql:"single"`
	}](ctx, log, unitsSQL)
	if err != nil {
		return visits, devices, err
	}
	for _, u := range units {
		visits.N[u.Model], devices.N[u.Model] = u.N, u.Single
	}
	ones, err := tally.Query[struct {
		Model     string `sql:"model"`
		Component string `sql:"component"`
		N         int    `sql:"n"`
		Single    int    `sql:"single"`
	}](ctx, log, componentsSQL)
	if err != nil {
		return visits, devices, err
	}
	for _, o := range ones {
		k := One{o.Model, o.Component}
		visits.One[k], devices.One[k] = o.N, o.Single
	}
	boths, err := tally.Query[struct {
		Model  string `sql:"model"`
		A      string `sql:"a"`
		B      string `sql:"b"`
		N      int    `sql:"n"`
		Single int    `sql:"single"`
	}](ctx, log, bothSQL)
	if err != nil {
		return visits, devices, err
	}
	for _, b := range boths {
		k := Two{b.Model, b.A, b.B}
		visits.Both[k], devices.Both[k] = b.N, b.Single
	}
	repeats, err := tally.Query[repeat](ctx, log, windowsSQL)
	if err != nil {
		return visits, devices, err
	}
	devices.addWindows(repeats)
	return visits, devices, nil
}

// A repeat is one component of one visit of a device that was in twice within the window.
type repeat struct {
	Device    int64     `sql:"device"`
	Visit     int       `sql:"visit"`
	Model     string    `sql:"model"`
	Opened    time.Time `sql:"opened"`
	Component string    `sql:"component"`
}

// addWindows joins the visits of each device into windows and counts those. A window starts with the first
// visit that no earlier window holds, and counts under the model of that visit.
// list is ordered by device and time.
func (c Counts) addWindows(list []repeat) {
	for i := 0; i < len(list); {
		first := list[i]
		var seen []string
		for ; i < len(list) && list[i].Device == first.Device && list[i].Opened.Before(first.Opened.Add(window)); i++ {
			if list[i].Component != "" {
				seen = append(seen, list[i].Component)
			}
		}
		slices.Sort(seen)
		c.Add(first.Model, slices.Compact(seen))
	}
}

// A candidate is a pair in a scope with its margins.
type candidate struct {
	scope, a, b  string
	least        int      // the smaller of the two components' counts
	expected     float64  // units with both under independence within each model
	models       []string // of all models: those that show both components, if not on one unit; the others say nothing about them
	rest         int      // units of the others
	restA, restB int      // of these, units that show a or b
}

// rows computes at most limit rows.
func (c Counts) rows(unit string, limit int) ([]schemas.Pair, error) {
	models, seen := c.seen()
	pooled := map[Two]*candidate{}
	var list []candidate
	totals := map[string]int{}
	units := 0
	for _, m := range models {
		units += c.N[m]
		for i, a := range seen[m] {
			na := c.One[One{m, a}]
			totals[a] += na
			for _, b := range seen[m][i+1:] {
				nb := c.One[One{m, b}]
				e := float64(na) * float64(nb) / float64(c.N[m])
				list = append(list, candidate{scope: m, a: a, b: b, least: min(na, nb), expected: e})
				p := pooled[Two{"", a, b}]
				if p == nil {
					p = &candidate{scope: schemas.Any, a: a, b: b}
					pooled[Two{"", a, b}] = p
				}
				p.expected += e
				p.models = append(p.models, m)
				p.rest, p.restA, p.restB = p.rest-c.N[m], p.restA-na, p.restB-nb
			}
		}
	}
	for _, p := range pooled {
		p.least = min(totals[p.a], totals[p.b])
		p.rest, p.restA, p.restB = p.rest+units, p.restA+totals[p.a], p.restB+totals[p.b]
		list = append(list, *p)
	}
	slices.SortFunc(list, func(x, y candidate) int {
		return cmp.Or(
			first(x.least >= 3, y.least >= 3), cmp.Compare(y.expected, x.expected),
			cmp.Compare(x.scope, y.scope), cmp.Compare(x.a, y.a), cmp.Compare(x.b, y.b),
		)
	})
	list = list[:min(limit, len(list))]
	rows := make([]schemas.Pair, len(list))
	var group errgroup.Group
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		group.Go(func() error {
			for i := w; i < len(list); i += workers {
				k := list[i]
				row, err := c.row(k)
				if err != nil {
					return fmt.Errorf("pair %s and %s, scope %s: %w", k.a, k.b, k.scope, err)
				}
				row.Unit = unit
				rows[i] = row
			}
			return nil
		})
	}
	return rows, group.Wait()
}

// seen lists the models, sorted, and the components seen on each, sorted.
func (c Counts) seen() ([]string, map[string][]string) {
	var models []string
	for m, n := range c.N {
		if n > 0 {
			models = append(models, m)
		}
	}
	slices.Sort(models)
	seen := map[string][]string{}
	for k, n := range c.One {
		if n > 0 {
			seen[k.Model] = append(seen[k.Model], k.Component)
		}
	}
	for _, list := range seen {
		slices.Sort(list)
	}
	return models, seen
}

// table is the 2x2 table of a pair on one model: rows with and without a, columns with and without b.
func (c Counts) table(model, a, b string) stat.Table2 {
	both := c.Both[Two{model, a, b}]
	onlyA, onlyB := c.One[One{model, a}]-both, c.One[One{model, b}]-both
	return stat.Table2{A: both, B: onlyA, C: onlyB, D: c.N[model] - both - onlyA - onlyB}
}

func (c Counts) row(k candidate) (schemas.Pair, error) {
	if k.scope == schemas.Any {
		var strata []stat.Table2
		for _, m := range k.models {
			strata = append(strata, c.table(m, k.a, k.b))
		}
		return pooledRow(k, strata)
	}
	return modelRow(k, c.table(k.scope, k.a, k.b))
}

// margins fills what both kinds of row share.
func margins(k candidate, t stat.Table2) (schemas.Pair, error) {
	r := schemas.Pair{
		Scope: k.scope, ComponentA: k.a, ComponentB: k.b, N: t.A + t.B + t.C + t.D,
		Both: t.A, AOnly: t.B, BOnly: t.C, Neither: t.D, Expected: schemas.Known(k.expected),
	}
	givenA, err := stat.Wilson(t.A, t.A+t.B, conf)
	if err != nil {
		return r, err
	}
	givenB, err := stat.Wilson(t.A, t.A+t.C, conf)
	if err != nil {
		return r, err
	}
	known := schemas.Known
	r.BGivenA, r.BGivenALow, r.BGivenAHigh = known(float64(t.A)/float64(t.A+t.B)), known(givenA.Lo), known(givenA.Hi)
	r.AGivenB, r.AGivenBLow, r.AGivenBHigh = known(float64(t.A)/float64(t.A+t.C)), known(givenB.Lo), known(givenB.Hi)
	return r, nil
}

func modelRow(k candidate, t stat.Table2) (schemas.Pair, error) {
	r, err := margins(k, t)
	if err != nil {
		return r, err
	}
	odds, err := stat.OddsRatioExact(t, conf)
	if err := setOdds(&r, odds, err); err != nil {
		return r, err
	}
	p, err := stat.FisherMidP(t)
	if err != nil {
		return r, err
	}
	r.P = schemas.Known(p)
	return r, nil
}

func pooledRow(k candidate, strata []stat.Table2) (schemas.Pair, error) {
	sum := stat.Table2{B: k.restA, C: k.restB, D: k.rest - k.restA - k.restB}
	for _, t := range strata {
		sum.A, sum.B, sum.C, sum.D = sum.A+t.A, sum.B+t.B, sum.C+t.C, sum.D+t.D
	}
	r, err := margins(k, sum)
	if err != nil {
		return r, err
	}
	odds, err := stat.MantelHaenszelOdds(strata, conf)
	if err := setOdds(&r, odds, err); err != nil {
		return r, err
	}
	switch test, err := stat.CMH(strata, k.expected < leastExpected); {
	case err == nil:
		r.P = schemas.Known(test.P)
	case !errors.Is(err, stat.ErrNoInformation):
		return r, err
	}
	switch h, err := stat.BreslowDayTarone(strata); {
	case err == nil:
		r.HomogeneityP = schemas.Known(h.TaroneP)
	case !errors.Is(err, stat.ErrNoInformation) && !errors.Is(err, stat.ErrNotConverged):
		return r, err
	}
	return r, nil
}

// leastExpected: below as many expected units with both, the chi-square of the Cochran-Mantel-Haenszel test
// is taken with its continuity correction (Mantel and Fleiss 1980, Am. J. Epidemiol. 112, 129-134).
const leastExpected = 5

// setOdds leaves the cells empty where the tables say nothing about the odds.
func setOdds(r *schemas.Pair, odds stat.Ratio, err error) error {
	if errors.Is(err, stat.ErrNoInformation) {
		return nil
	}
	if err != nil {
		return err
	}
	if odds.Value.Bounded {
		r.OddsRatio = schemas.Known(odds.Value.Value)
	}
	r.OddsLow = schemas.Known(odds.Lo)
	if odds.Hi.Bounded {
		r.OddsHigh = schemas.Known(odds.Hi.Value)
	}
	return nil
}
