package stock

import (
	"context"
	"database/sql"
	_ "embed"
	"slices"
	"time"

	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
)

//go:embed usage_faults.sql
var usageFaultsSQL string

//go:embed usage_lines.sql
var usageLinesSQL string

//go:embed first_seen.sql
var firstSeenSQL string

// Bases of a demand, in the table.
const (
	BasisLines  = "lines"  // part lines of that part number
	BasisFaults = "faults" // visits with the component, one piece each
)

const (
	mostWeeks   = 208 // of the past that a forecast looks at
	leastGroups = 3   // models with a history that a prior is fitted on
	priorWeeks  = 26  // at most so many weeks of its own demand a prior is worth
)

// A demand is what was asked of one part, by day up to the as-of day, whole weeks.
type demand struct {
	basis  string
	days   []int
	models []string // of the log, that it fits
	unseen int      // models it fits that the log never saw
	every  bool     // it fits every model
}

func (d demand) recent(days int) (pieces int) {
	for _, n := range d.days[max(0, len(d.days)-days):] {
		pieces += n
	}
	return pieces
}

type modelDay struct {
	Model  string    `sql:"model"`
	Day    time.Time `sql:"day"`
	Pieces int       `sql:"pieces"`
}

type partDay struct {
	Part   string    `sql:"part_no"`
	Day    time.Time `sql:"day"`
	Pieces int       `sql:"pieces"`
}

type seenModel struct {
	Model  string    `sql:"model"`
	Class  string    `sql:"class"`
	Maker  string    `sql:"maker"`
	Family string    `sql:"family"`
	First  time.Time `sql:"first_day"`
}

// A past holds what the log says about use, for all parts of the shelf. Days are counted back from the as-of day: 0 is
// that day.
type past struct {
	asOf   time.Time
	span   int // days of the log
	models map[string]seenModel
	order  []string
	faults map[string]map[string]map[int]int // pieces by component, model and day
	lines  map[string]map[int]int            // pieces by part number and day
}

func loadPast(ctx context.Context, log *tally.Log, items []Item) (*past, error) {
	day := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	p := &past{asOf: day(log.AsOf), models: map[string]seenModel{}, faults: map[string]map[string]map[int]int{}, lines: map[string]map[int]int{}}
	p.span = p.back(day(log.From)) + 1
	models, err := tally.Query[seenModel](ctx, log, firstSeenSQL)
	if err != nil {
		return nil, err
	}
	for _, m := range models {
		p.models[m.Model] = m
		p.order = append(p.order, m.Model)
	}
	wanted := map[string]bool{}
	for _, i := range items {
		wanted[i.Part] = true
		if p.faults[i.Component] != nil {
			continue
		}
		byModel := map[string]map[int]int{}
		p.faults[i.Component] = byModel
		rows, err := tally.Query[modelDay](ctx, log, usageFaultsSQL, sql.Named("component", i.Component))
		if err != nil {
			return nil, err
		}
		for _, r := range rows {
			if byModel[r.Model] == nil {
				byModel[r.Model] = map[int]int{}
			}
			byModel[r.Model][p.back(r.Day)] += r.Pieces
		}
	}
	rows, err := tally.Query[partDay](ctx, log, usageLinesSQL)
	if err != nil {
		return nil, err
	}
	for _, r := range rows {
		if !wanted[r.Part] {
			continue
		}
		if p.lines[r.Part] == nil {
			p.lines[r.Part] = map[int]int{}
		}
		p.lines[r.Part][p.back(r.Day)] += r.Pieces
	}
	return p, nil
}

// back is how many days before the as-of day a day is.
func (p *past) back(t time.Time) int { return int(p.asOf.Sub(t).Hours() / 24) }

// demands lists what was asked of each item. Where the log has no part numbers to tell parts apart, the visits of a
// model count for the first part of the file that fits it; doubled lists the others.
func (p *past) demands(items []Item) (list []demand, doubled []string) {
	type use struct{ component, model string }
	taken := map[use]bool{}
	for _, item := range items {
		d := demand{basis: BasisLines, every: len(item.Fits) == 0}
		for _, m := range item.Fits {
			if _, ok := p.models[m]; ok {
				d.models = append(d.models, m)
			} else {
				d.unseen++
			}
		}
		fits := d.models
		if d.every {
			fits = p.order
		}
		// The part can't have been asked for before its models came in.
		start := -1
		for _, m := range fits {
			start = max(start, p.back(p.models[m].First))
		}
		counts := []map[int]int{p.lines[item.Part]}
		if counts[0] == nil {
			d.basis, counts = BasisFaults, nil
			lost := false
			for _, m := range fits {
				if u := (use{item.Component, m}); !taken[u] {
					taken[u] = true
					counts = append(counts, p.faults[item.Component][m])
				} else {
					lost = true
				}
			}
			if lost {
				doubled = append(doubled, item.Part)
			}
		}
		for _, c := range counts {
			for back := range c {
				start = max(start, back)
			}
		}
		weeks := min((start+7)/7, p.span/7, mostWeeks)
		d.days = make([]int, max(weeks, 0)*7)
		for _, c := range counts {
			for back, pieces := range c {
				if back >= 0 && back < len(d.days) {
					d.days[len(d.days)-1-back] += pieces
				}
			}
		}
		list = append(list, d)
	}
	return list, doubled
}

// prior is what a part's weekly rate is thought to be before its own demand is seen, from the same component on other
// models up to so many days before the as-of day: those of the family, or else of the class, by empirical Bayes.
func (p *past) prior(item Item, d demand, daysBack int) (stat.GammaPrior, error) {
	own := map[string]bool{}
	for _, m := range item.Fits {
		own[m] = true
	}
	families, classes := map[[2]string]bool{}, map[string]bool{}
	for _, m := range d.models {
		families[[2]string{p.models[m].Maker, p.models[m].Family}] = true
		classes[p.models[m].Class] = true
	}
	if len(d.models) == 0 { // only models that are new: the makers and families their names start with
		for _, m := range p.models {
			for _, f := range item.Fits {
				if m.Family != "" && startsWith(f, m.Maker, m.Family) {
					families[[2]string{m.Maker, m.Family}] = true
					classes[m.Class] = true
				}
			}
		}
	}
	var counts []int
	var weeks []float64
	for _, near := range []func(seenModel) bool{
		func(m seenModel) bool { return families[[2]string{m.Maker, m.Family}] },
		func(m seenModel) bool { return classes[m.Class] },
	} {
		counts, weeks = nil, nil
		for _, name := range p.order {
			m := p.models[name]
			if exposure := p.back(m.First) + 1 - daysBack; !own[name] && near(m) && exposure >= 7 {
				n := 0
				for back, pieces := range p.faults[item.Component][name] {
					if back >= daysBack {
						n += pieces
					}
				}
				counts, weeks = append(counts, n), append(weeks, float64(exposure)/7)
			}
		}
		if len(counts) >= leastGroups {
			break
		}
	}
	if len(counts) == 0 || !slices.ContainsFunc(counts, func(n int) bool { return n > 0 }) {
		return stat.GammaPrior{Shape: 0.5, Rate: 1}, nil
	}
	fitted, err := stat.FitGammaPoisson(counts, weeks)
	if err != nil {
		return stat.GammaPrior{}, err
	}
	now, err := fitted.Update(0, 0)
	if err != nil {
		return stat.GammaPrior{}, err
	}
	// As many models, as many times the rate; and the present counts for more than what other models did.
	models := float64(max(len(d.models)+d.unseen, 1))
	fade := min(1, priorWeeks/now.Rate)
	return stat.GammaPrior{Shape: now.Shape * models * fade, Rate: now.Rate * fade}, nil
}

// startsWith: is the model, as people write it, of that maker and family?
func startsWith(model, maker, family string) bool {
	model = plain(model) + " "
	for _, start := range []string{maker + " " + family, family} {
		start = plain(start) + " "
		if len(model) >= len(start) && model[:len(start)] == start {
			return true
		}
	}
	return false
}
