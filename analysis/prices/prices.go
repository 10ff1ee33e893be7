// Package prices says what parts cost, where a cost is out of line or has jumped, and what a job leaves.
//
// In: a tally.Log, the shop's rates and the share of repairs that come back. Out: rows of tables/prices.csv and findings.
//
// One row per model, component and currency: amounts of two currencies are never added, compared or averaged. A cost is
// what the shop wrote on part lines; lines without one, or free, say nothing. A margin is the charge less parts, bench
// minutes at the labour rate and the expected cost of returns, of repaired jobs with that fault alone whose parts all
// have a cost in the currency of the charge.
//
// It refuses to guess a rate or a target that shop.toml does not give: what hangs on it stays empty.
package prices

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"math"
	"time"

	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

//go:embed costs.sql
var costsSQL string

//go:embed jobs.sql
var jobsSQL string

//go:embed margins.sql
var marginsSQL string

//go:embed expected_return.sql
var expectedReturnSQL string

// recentDays is how far back a cost counts as today's.
const recentDays = 365

// minOthers is the least number of other models that make a usual spread.
const minOthers = 3

// Options of Compute.
type Options struct {
	LabourRate   *float64           // money per bench hour; nil: no margins
	TargetMargin *float64           // share of the charge; nil: no floors
	Back         map[string]float64 // by component: share of repairs that come back within the warranty days
}

type costRow struct {
	Model     string  `sql:"model"`
	Component string  `sql:"component"`
	Currency  string  `sql:"currency"`
	Cost      float64 `sql:"unit_cost"`
	Lines     int     `sql:"lines"`
	First     int     `sql:"first_day"`
	Last      int     `sql:"last_day"`
}

type classRow struct {
	Model string `sql:"model"`
	Class string `sql:"class"`
}

type jobRow struct {
	Component string        `sql:"component"`
	Model     string        `sql:"model"`
	Currency  string        `sql:"currency"`
	Charge    schemas.Float `sql:"charge"`
	Minutes   schemas.Float `sql:"minutes"`
	Money     schemas.Float `sql:"money"`
}

type marginRow struct {
	Component string        `sql:"component"`
	Model     string        `sql:"model"`
	Currency  string        `sql:"currency"`
	Margin    schemas.Float `sql:"margin"`
	Jobs      int           `sql:"jobs"`
	Below     int           `sql:"below"`
}

// A line is a row of the table with what findings need besides.
type line struct {
	class  string
	quotes series
	recent float64 // median cost of the last recentDays, or of all when there are none
	row    schemas.Price
}

// Compute returns the rows ordered by model, component and currency.
func Compute(ctx context.Context, log *tally.Log, opt Options) ([]schemas.Price, error) {
	var lines []*line
	if err := tally.Each(ctx, log, func(c *costRow) { lines = enter(lines, c) }, costsSQL); err != nil {
		return nil, err
	}
	classes, err := tally.Query[classRow](ctx, log, "SELECT model, class FROM model")
	if err != nil {
		return nil, err
	}
	describe(lines, classes, log.AsOf)
	if err := usual(lines); err != nil {
		return nil, err
	}
	if err := margins(ctx, log, lines, opt); err != nil {
		return nil, err
	}
	rows := make([]schemas.Price, len(lines))
	for i, l := range lines {
		rows[i] = l.row
	}
	return rows, nil
}

// enter adds a cost to the last line, or to a new one: costs come ordered by model, component and currency.
func enter(lines []*line, c *costRow) []*line {
	var l *line
	if n := len(lines); n > 0 && lines[n-1].row.Model == c.Model && lines[n-1].row.Component == c.Component && lines[n-1].row.Currency == c.Currency {
		l = lines[n-1]
	} else {
		l = &line{row: schemas.Price{Model: c.Model, Component: c.Component, Currency: c.Currency}}
		lines = append(lines, l)
	}
	l.quotes = append(l.quotes, quote{cost: c.Cost, lines: int32(c.Lines), month: day(c.First).month(), first: day(c.First), last: day(c.Last)})
	return lines
}

// describe fills in what a line's own quotes say.
func describe(lines []*line, classes []classRow, asOf time.Time) {
	classOf := map[string]string{}
	for _, c := range classes {
		classOf[c.Model] = c.Class
	}
	// Days in tables are wall clock labelled UTC.
	start := dayOf(time.Date(asOf.Year(), asOf.Month(), asOf.Day()-recentDays, 0, 0, 0, 0, time.UTC))
	for _, l := range lines {
		l.class = classOf[l.row.Model]
		recent := l.quotes.since(start)
		if len(recent) == 0 {
			recent = l.quotes
		}
		l.recent = recent.median()
		l.row.Lines = l.quotes.lines()
		l.row.CostLatest = schemas.Known(l.quotes.latest())
		q := l.quotes.quartiles()
		l.row.CostQ1, l.row.CostMedian, l.row.CostQ3 = schemas.Known(q[0]), schemas.Known(q[1]), schemas.Known(q[2])
		if j, ok := l.quotes.lastJump(); ok {
			l.row.CostBefore, l.row.JumpOn = schemas.Known(j.before), j.on.time().Format(time.DateOnly)
		}
		l.quotes = nil
	}
}

// usual compares each model's recent median cost with those of the component's other models in the class, on the log
// scale, since a price is out of line by a factor and not by an amount.
func usual(lines []*line) error {
	type key struct{ class, component, currency string }
	groups := map[key][]*line{}
	for _, l := range lines {
		k := key{l.class, l.row.Component, l.row.Currency}
		groups[k] = append(groups[k], l)
	}
	for _, g := range groups {
		if len(g) < 2 {
			continue
		}
		logs := make([]float64, len(g))
		for i, l := range g {
			logs[i] = math.Log(l.recent)
		}
		scales, err := stat.FitRobustOthers(logs)
		if err != nil {
			return err
		}
		for i, l := range g {
			l.row.CostUsual = schemas.Known(math.Exp(scales[i].Median))
			if len(g) <= minOthers {
				continue
			}
			z, err := scales[i].Score(logs[i])
			if errors.Is(err, stat.ErrNoInformation) {
				continue
			}
			if err != nil {
				return err
			}
			l.row.Z = schemas.Known(z)
		}
	}
	return nil
}

// margins fills in what jobs charge and, with a labour rate, leave.
func margins(ctx context.Context, log *tally.Log, lines []*line, opt Options) error {
	type key struct{ component, model, currency string }
	at := map[key]*line{}
	for _, l := range lines {
		at[key{l.row.Component, l.row.Model, l.row.Currency}] = l
	}
	jobs, err := tally.Query[jobRow](ctx, log, jobsSQL)
	if err != nil {
		return err
	}
	lent := tally.Lent{Create: expectedReturnSQL, Table: "expected_return"}
	for _, j := range jobs {
		if l := at[key{j.Component, j.Model, j.Currency}]; l != nil {
			l.fill(j, opt)
		}
		if cost := opt.expectedReturn(j); cost.OK {
			lent.Rows = append(lent.Rows, []any{j.Component, j.Model, told(j.Currency), cost.V})
		}
	}
	if len(lent.Rows) == 0 {
		return nil
	}
	left, err := tally.QueryWith[marginRow](ctx, log, lent, marginsSQL, sql.Named("rate", *opt.LabourRate), sql.Named("target", nullable(opt.TargetMargin)))
	if err != nil {
		return err
	}
	for _, m := range left {
		if l := at[key{m.Component, m.Model, m.Currency}]; l != nil {
			l.leaves(m, opt)
		}
	}
	return nil
}

// expectedReturn is what returns of such a job are expected to cost: the share that comes back times the model's median
// parts and minutes once more. It is unknown without a labour rate.
func (opt Options) expectedReturn(j jobRow) schemas.Float {
	if opt.LabourRate == nil || !j.Money.OK || !j.Minutes.OK {
		return schemas.Float{}
	}
	return schemas.Known(opt.Back[j.Component] * (j.Money.V + j.Minutes.V/60**opt.LabourRate))
}

// fill takes over what the jobs say. The floor rests on what the part costs now, not on what it cost.
func (l *line) fill(j jobRow, opt Options) {
	l.row.ChargeMedian, l.row.MinutesMedian = j.Charge, j.Minutes
	if opt.LabourRate != nil && opt.TargetMargin != nil && j.Minutes.OK {
		once := l.recent + j.Minutes.V/60**opt.LabourRate
		l.row.PriceFloor = schemas.Known(once * (1 + opt.Back[l.row.Component]) / (1 - *opt.TargetMargin))
	}
}

// leaves takes over the margins.
func (l *line) leaves(m marginRow, opt Options) {
	l.row.MarginMedian = m.Margin
	if opt.TargetMargin != nil && m.Jobs > 0 {
		l.row.MarginJobs, l.row.BelowTarget = m.Jobs, schemas.Known(float64(m.Below))
	}
}

func told(currency string) any {
	if currency == "" {
		return nil
	}
	return currency
}

func nullable(v *float64) any {
	if v == nil {
		return nil
	}
	return *v
}
