// Package shares says what fails on which model, and how that compares with the rest of its class.
//
// In: a tally.Log and, where the shop has one, its fleet. Out: rows of tables/shares.csv and findings.
//
// The denominator of a share is the model's diagnosed visits: those with a component or a cause read, or
// the outcome no-fault. Causes (liquid, drop) have rows, but they are no components: no p, no q, no finding.
//
// The family of tests that q corrects is fixed before any fault is looked at: every model with a minimum of
// diagnosed visits, with every component seen anywhere in its class, also where the model shows none. The
// minimum is 1 unless that makes more than 10,000 rows; then it is the least that does not. Models below it
// have rows for what was seen on them, without p and q.
//
// It refuses to say why a share is high.
package shares

import (
	"cmp"
	"context"
	_ "embed"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"time"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"

	"golang.org/x/sync/errgroup"
)

//go:embed models.sql
var modelsSQL string

//go:embed faults.sql
var faultsSQL string

//go:embed fleet_faults.sql
var fleetFaultsSQL string

const (
	conf    = 0.95
	maxRows = 10_000 // rows that are tested
)

// A ModelCount counts the visits of one model.
type ModelCount struct {
	Class     string `sql:"class"`
	Maker     string `sql:"maker"`
	Family    string `sql:"family"`
	Model     string `sql:"model"`
	Diagnosed int    `sql:"diagnosed"`
	Unread    int    `sql:"unread"`
}

// A FaultCount counts the visits of a model that show a component.
type FaultCount struct {
	Model     string `sql:"model"`
	Component string `sql:"component"`
	Cause     bool   `sql:"is_cause"`
	Faults    int    `sql:"faults"`
}

// Compute returns one row per model and component, ordered by class, maker, family, model and component.
// fleet may be nil: the rate columns then stay empty.
func Compute(ctx context.Context, log *tally.Log, fleet *Fleet) ([]schemas.Share, error) {
	models, err := tally.Query[ModelCount](ctx, log, modelsSQL)
	if err != nil {
		return nil, err
	}
	faults, err := tally.Query[FaultCount](ctx, log, faultsSQL)
	if err != nil {
		return nil, err
	}
	rows, err := FromCounts(models, faults)
	if err != nil {
		return nil, err
	}
	if fleet != nil {
		if err := addRates(ctx, log, fleet, rows); err != nil {
			return nil, err
		}
	}
	return rows, nil
}

// FromCounts computes the rows from counts alone: those of a log, of several shops added up, or simulated.
// Every model of faults must be in models; rows come in the order of models.
func FromCounts(models []ModelCount, faults []FaultCount) ([]schemas.Share, error) {
	return newCube(models, faults, maxRows).rows()
}

type cell struct{ model, component string }
type group struct{ class, component string }

// A cube holds the counts of all models and components.
type cube struct {
	models      []ModelCount
	faults      map[cell]int
	cause       map[string]bool
	classVisits map[string]int
	classFaults map[group]int
	components  map[string][]string // by class: seen in it, sorted
	minVisits   int                 // a model with fewer diagnosed visits is not tested
}

func newCube(models []ModelCount, faults []FaultCount, maxRows int) *cube {
	c := &cube{
		models: models, faults: map[cell]int{}, cause: map[string]bool{},
		classVisits: map[string]int{}, classFaults: map[group]int{}, components: map[string][]string{},
	}
	classOf := map[string]string{}
	for _, m := range models {
		classOf[m.Model] = m.Class
		c.classVisits[m.Class] += m.Diagnosed
	}
	for _, f := range faults {
		g := group{classOf[f.Model], f.Component}
		if c.classFaults[g] == 0 {
			c.components[g.class] = append(c.components[g.class], f.Component)
		}
		c.faults[cell{f.Model, f.Component}] = f.Faults
		c.classFaults[g] += f.Faults
		c.cause[f.Component] = f.Cause
	}
	for _, list := range c.components {
		slices.Sort(list)
	}
	c.minVisits = c.leastVisits(maxRows)
	return c
}

// leastVisits is the least number of diagnosed visits, 1 or more, at which the tested rows are few enough.
func (c *cube) leastVisits(maxRows int) int {
	byVisits := slices.Clone(c.models)
	slices.SortFunc(byVisits, func(a, b ModelCount) int { return cmp.Compare(b.Diagnosed, a.Diagnosed) })
	rows := 0
	for _, m := range byVisits {
		if rows += len(c.components[m.Class]); rows > maxRows {
			return m.Diagnosed + 1
		}
	}
	return 1
}

// An incidence is what a row's figures depend on: models of a class that show a component as often, among as many visits, share
// them.
type incidence struct {
	group
	faults, visits int
	test           bool
}

func (c *cube) rows() ([]schemas.Share, error) {
	var rows []schemas.Share
	var counts []incidence    // each once
	at := map[incidence]int{} // where it stands in counts
	var of []int              // by row: its count
	for _, m := range c.models {
		test := m.Diagnosed >= c.minVisits
		for _, component := range c.components[m.Class] {
			x := c.faults[cell{m.Model, component}]
			if m.Diagnosed == 0 || !test && x == 0 {
				continue
			}
			k := incidence{group{m.Class, component}, x, m.Diagnosed, test && !c.cause[component]}
			i, ok := at[k]
			if !ok {
				i = len(counts)
				at[k] = i
				counts = append(counts, k)
			}
			of = append(of, i)
			rows = append(rows, schemas.Share{Class: m.Class, Maker: m.Maker, Family: m.Family, Model: m.Model, Component: component, Unread: m.Unread})
		}
	}
	figures, err := c.figures(counts)
	if err != nil {
		return nil, err
	}
	for i := range rows {
		r, f := &rows[i], figures[of[i]]
		f.Class, f.Maker, f.Family, f.Model, f.Component, f.Unread = r.Class, r.Maker, r.Family, r.Model, r.Component, r.Unread
		f.UnreadLow, f.UnreadHigh = ratio(f.Faults, f.Visits+f.Unread), ratio(f.Faults+f.Unread, f.Visits+f.Unread)
		*r = f
	}
	if err := findings.Correct(rows, func(r *schemas.Share) (schemas.Float, *schemas.Float) { return r.P, &r.Q }); err != nil {
		return nil, fmt.Errorf("shares: %w", err)
	}
	return rows, nil
}

// figures computes what the counts say, in their order.
func (c *cube) figures(counts []incidence) ([]schemas.Share, error) {
	priors := map[group]stat.BetaPrior{}
	for _, k := range counts {
		if _, ok := priors[k.group]; ok {
			continue
		}
		prior, err := c.prior(k.group)
		if err != nil {
			return nil, fmt.Errorf("shares of %s in class %q: %w", k.component, k.class, err)
		}
		priors[k.group] = prior
	}
	figures := make([]schemas.Share, len(counts))
	var work errgroup.Group
	work.SetLimit(runtime.GOMAXPROCS(0))
	for from := 0; from < len(counts); from += 64 {
		work.Go(func() (err error) {
			for i := from; i < min(from+64, len(counts)); i++ {
				k := counts[i]
				if figures[i], err = c.row(k, priors[k.group]); err != nil {
					return fmt.Errorf("shares of %s, %d of %d in class %q: %w", k.component, k.faults, k.visits, k.class, err)
				}
			}
			return nil
		})
	}
	return figures, work.Wait()
}

// prior fits how the share of a component varies among the models of a class.
func (c *cube) prior(g group) (stat.BetaPrior, error) {
	var x, n []int
	for _, m := range c.models {
		if m.Class == g.class {
			x, n = append(x, c.faults[cell{m.Model, g.component}]), append(n, m.Diagnosed)
		}
	}
	return stat.FitBetaBinomial(x, n)
}

// row computes the figures of any model with such a count; the model and what is unread of it stay empty.
func (c *cube) row(k incidence, prior stat.BetaPrior) (schemas.Share, error) {
	x, n, known := k.faults, k.visits, schemas.Known
	r := schemas.Share{Faults: x, Visits: n, ClassFaults: c.classFaults[k.group] - x, ClassVisits: c.classVisits[k.class] - n}
	wilson, err := stat.Wilson(x, n, conf)
	if err != nil {
		return r, err
	}
	r.Share, r.ShareLow, r.ShareHigh = ratio(x, n), known(wilson.Lo), known(wilson.Hi)

	switch shrunk, err := prior.Posterior(x, n, conf); {
	case err == nil:
		r.Shrunk, r.ShrunkLow, r.ShrunkHigh = known(shrunk.Value), known(shrunk.Lo), known(shrunk.Hi)
	case !errors.Is(err, stat.ErrNotConverged):
		return r, err
	}

	if r.ClassVisits == 0 {
		return r, nil
	}
	r.ClassShare = ratio(r.ClassFaults, r.ClassVisits)
	switch score, err := stat.RiskRatioScore(x, n, r.ClassFaults, r.ClassVisits, conf); {
	case err == nil:
		r.Ratio, r.RatioLow, r.RatioHigh = limit(score.Value), known(score.Lo), limit(score.Hi)
	case !errors.Is(err, stat.ErrNoInformation):
		return r, err
	}
	if k.test {
		p, err := stat.FisherMidP(stat.Table2{A: x, B: n - x, C: r.ClassFaults, D: r.ClassVisits - r.ClassFaults})
		if err != nil {
			return r, err
		}
		r.P = known(p)
	}
	return r, nil
}

func ratio(a, b int) schemas.Float { return schemas.Known(float64(a) / float64(b)) }

func limit(l stat.Limit) schemas.Float {
	if !l.Bounded {
		return schemas.Float{}
	}
	return schemas.Known(l.Value)
}

// addRates fills the fleet columns: faults in the months the fleet tells, per 1,000 device-months.
func addRates(ctx context.Context, log *tally.Log, fleet *Fleet, rows []schemas.Share) error {
	type count struct {
		Model     string    `sql:"model"`
		Month     time.Time `sql:"month"`
		Component string    `sql:"component"`
		Faults    int       `sql:"faults"`
	}
	counts, err := tally.Query[count](ctx, log, fleetFaultsSQL)
	if err != nil {
		return err
	}
	seen := map[cell]int{}
	for _, c := range counts {
		if _, ok := fleet.units[fleetMonth{c.Model, c.Month.Format(monthLayout)}]; ok {
			seen[cell{c.Model, c.Component}] += c.Faults
		}
	}
	for i := range rows {
		r := &rows[i]
		units := fleet.total[r.Model]
		if units == 0 {
			continue
		}
		rate, err := stat.PoissonRate(seen[cell{r.Model, r.Component}], units/1000, conf)
		if err != nil {
			return fmt.Errorf("rate of %s on %s: %w", r.Component, r.Model, err)
		}
		r.Units = schemas.Known(units)
		r.Rate, r.RateLow, r.RateHigh = schemas.Known(rate.Value), schemas.Known(rate.Lo), schemas.Known(rate.Hi)
	}
	return nil
}
