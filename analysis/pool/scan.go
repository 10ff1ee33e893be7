package pool

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"maps"
	"slices"
	"strings"
	"time"

	"faultgrain/analysis/batches"
	"faultgrain/analysis/bundle"
	"faultgrain/schemas"
)

const weeksKept = batches.Baseline + batches.MaxWindow

// scan is the scan for alarms on the sums of what the shops tell, laid out by week: a model's visits of a span evenly over its days,
// faults in proportion to visits. Where a row is made of several spans, its last holds all but threshold-1 of the faults or
// more, by the rule that closed it; the others are laid before it. What is withheld after the last row counts as none in the
// weeks an alarm could be about, and as what the shops together make likely before them: so it makes alarms weaker, never
// stronger. Alarms that rest on one shop are left out; that shop's own report has them.
func (c *census) scan(ctx context.Context, opt Options) ([]schemas.PooledBatch, error) {
	cal, ok := c.calendar()
	if !ok {
		return nil, nil
	}
	g := &batches.Grid{Weeks: weeksKept}
	at := map[string]int{}
	for _, m := range slices.Sorted(maps.Keys(c.models)) {
		d := c.models[m]
		at[m] = len(g.Models)
		g.Models = append(g.Models, batches.Model{Name: m, Family: d.Family, Maker: d.Maker, Class: d.Class})
		g.Visits = append(g.Visits, make([]int32, weeksKept))
	}
	components := map[string]int{}
	for _, k := range c.keys {
		components[k.component] = 0
	}
	for i, name := range slices.Sorted(maps.Keys(components)) {
		components[name] = i
		g.Components = append(g.Components, name)
		g.Cases = append(g.Cases, make([][]int32, len(g.Models)))
	}
	told := make([]map[key][]int32, len(c.shops)) // by shop: faults told, by week
	for s := range c.shops {
		told[s] = c.layOut(s, cal, func(m string) []int32 { return g.Visits[at[m]] }, func(k key) []int32 {
			cases := &g.Cases[components[k.component]][at[k.model]]
			if *cases == nil {
				*cases = make([]int32, weeksKept)
			}
			return *cases
		})
	}
	if !slices.ContainsFunc(g.Visits, func(w []int32) bool { return w[0] > 0 }) {
		for g.Weeks > 1 && !slices.ContainsFunc(g.Visits, func(w []int32) bool { return w[weeksKept-g.Weeks] > 0 }) {
			g.Weeks--
		}
		trim(g)
	}
	alarms, err := batches.Scan(ctx, g, batches.ScanOptions{Seed: opt.Seed, Replicates: opt.Replicates})
	if errors.Is(err, batches.ErrShort) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("scan over shops: %w", err)
	}
	var rows []schemas.PooledBatch
	for _, a := range alarms {
		r := schemas.PooledBatch{Component: g.Components[a.Component], Node: a.Node, Level: a.Level, Observed: a.Observed, Visits: a.Visits,
			WindowStart: cal.last.AddDate(0, 0, 1-7*a.Window).Format(time.DateOnly), WindowEnd: cal.last.Format(time.DateOnly),
			Expected: schemas.Known(a.Expected), RelativeRisk: schemas.Known(float64(a.Observed) / a.Expected), P: schemas.Known(a.P)}
		var models []string
		for _, m := range a.Models {
			if a.Cases(g, m) > 0 {
				models = append(models, g.Models[m].Name)
			}
		}
		for s := range c.shops {
			if slices.ContainsFunc(models, func(m string) bool {
				weeks := told[s][key{m, r.Component}]
				return weeks != nil && sum(weeks[len(weeks)-a.Window:]) > 0
			}) {
				r.Shops++
			}
		}
		slices.Sort(models)
		if r.Models = strings.Join(models, ";"); r.Shops > 1 {
			rows = append(rows, r)
		}
	}
	return rows, nil
}

// trim drops the weeks before the first visit.
func trim(g *batches.Grid) {
	for m := range g.Visits {
		g.Visits[m] = g.Visits[m][weeksKept-g.Weeks:]
	}
	for _, models := range g.Cases {
		for m := range models {
			if models[m] != nil {
				models[m] = models[m][weeksKept-g.Weeks:]
			}
		}
	}
}

func sum(weeks []int32) (n int) {
	for _, w := range weeks {
		n += int(w)
	}
	return n
}

// A calendar lays days out in weeks that end on the last day of the last month that any shop tells of.
type calendar struct{ last time.Time }

func (c *census) calendar() (calendar, bool) {
	var last bundle.Month
	for _, s := range c.shops {
		for _, v := range s.Visits {
			last = max(last, v.To)
		}
	}
	return calendar{(last + 1).First().AddDate(0, 0, -1)}, last > 0
}

// weeks lays a number of visits out evenly over the days of a span; what lies before the weeks kept is left out. The parts
// kept and left out add up to the whole.
func (c calendar) weeks(s bundle.Span, n int, phase uint64) []int32 {
	out := make([]int32, weeksKept)
	first, after, last := dayNumber(s.From.First()), dayNumber((s.To + 1).First()), dayNumber(c.last)
	days := after - first
	p := int(phase % uint64(days))
	for d := max(0, last-7*weeksKept+1-first); d < days; d++ {
		out[weeksKept-1-(last-first-d)/7] += int32((n*(d+1)+p)/days - (n*d+p)/days)
	}
	return out
}

func dayNumber(t time.Time) int { return int(t.Unix() / 86400) }

// layOut adds a shop's visits and faults to the grid and returns its faults told.
func (c *census) layOut(shop int, cal calendar, visitsOf func(model string) []int32, casesOf func(key) []int32) map[key][]int32 {
	s := c.shops[shop]
	spans := map[string][]bundle.Visits{}
	byWeek := map[string][][]int32{} // by model and span
	for _, v := range s.Visits {
		weeks := cal.weeks(v.Span, v.Visits, phase(shop, v.Model, "", v.From))
		spans[v.Model], byWeek[v.Model] = append(spans[v.Model], v), append(byWeek[v.Model], weeks)
		into(visitsOf(v.Model), weeks)
	}
	told := map[key][]int32{}
	for _, f := range s.Faults {
		if f.Cause || !f.Told {
			continue
		}
		k := key{f.Model, f.Component}
		if told[k] == nil {
			told[k] = make([]int32, weeksKept)
		}
		var early []int // spans of the row before the last
		for i, v := range spans[f.Model] {
			if v.From < f.From || v.To > f.To {
				continue
			}
			if v.To < f.To {
				early = append(early, i)
				continue
			}
			room, taken := f.Visits-v.Visits, 0 // visits of the early spans, and of those done
			before := min(s.Manifest.Threshold-1, f.Faults, room)
			share(told[k], v, byWeek[f.Model][i], f.Faults-before, phase(shop, f.Model, f.Component, v.From))
			for _, e := range early {
				own := spans[f.Model][e]
				share(told[k], own, byWeek[f.Model][e], before*(taken+own.Visits)/room-before*taken/room, phase(shop, f.Model, f.Component, own.From))
				taken += own.Visits
			}
		}
	}
	for k, weeks := range told {
		into(casesOf(k), weeks)
	}
	for _, k := range c.keys {
		c.tailOf(shop, k, spans[k.model], byWeek[k.model], casesOf)
	}
	return told
}

// tailOf adds what is withheld after the last row, before the weeks an alarm could be about.
func (c *census) tailOf(shop int, k key, spans []bundle.Visits, byWeek [][]int32, casesOf func(key) []int32) {
	left := c.shops[shop].Manifest.Threshold - 1
	expected := 0.0
	for i, v := range spans {
		if v.From <= c.tail[shop][k] {
			continue
		}
		quiet := slices.Clone(byWeek[i])
		clear(quiet[weeksKept-batches.MaxWindow:])
		expected += c.share[k] * float64(sum(quiet))
		n := min(int(expected), left, sum(quiet))
		if n == 0 {
			continue
		}
		weeks := make([]int32, weeksKept)
		share(weeks, bundle.Visits{Visits: sum(quiet)}, quiet, n, phase(shop, k.model, k.component, v.From))
		into(casesOf(k), weeks)
		left, expected = left-n, expected-float64(n)
	}
}

// share lays n faults out over the weeks of a span in proportion to its visits, of which some may lie before the weeks kept.
func share(weeks []int32, v bundle.Visits, visits []int32, n int, phase uint64) {
	p := int(phase % uint64(v.Visits))
	before := v.Visits - sum(visits)
	for w, x := range visits {
		weeks[w] += int32((n*(before+int(x))+p)/v.Visits - (n*before+p)/v.Visits)
		before += int(x)
	}
}

// phase sets off where in a span whole counts fall: were it the same for all, sums over models would beat in time.
func phase(shop int, model, component string, from bundle.Month) uint64 {
	h := fnv.New64a()
	fmt.Fprintf(h, "%d\x00%s\x00%s\x00%d", shop, model, component, from)
	return h.Sum64()
}

func into(all, weeks []int32) {
	for w, n := range weeks {
		all[w] += n
	}
}
