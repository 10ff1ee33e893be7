// Package batches asks whether something has gone wrong for a group of devices.
//
// In: a tally.Log. Out: rows of tables/batches.csv and findings. Two views of the one question: alarms, a
// prospective scan over the device tree and the last 1 to 13 weeks (Scan), and links, which attribute goes
// with the component an alarm is about (lot, supplier, grade, made-week, start of the serial number).
//
// What the scan can't see: a model that is new has no level of its own to compare with, so a fault that it has
// had since its first visit is no alarm but a share; a fault that rose before the last 13 weeks is a trend; a
// batch that fails slowly over many months hides in the slow drift that is taken out; and devices that never
// come to this shop. It compares shares of visits, so devices that come in because of the fault dilute it: what
// is half of a model's visits already can at most double. Where the rest of the class hardly shows the component, its
// drift and season are not known and even a large excess may pass for them. It can't tell a bad batch from a school that brings a
// crate of tablets after the holidays. Two components that rise together are two alarms.
//
// It refuses to call anything a recall: an alarm is a reason to look.
package batches

import (
	"context"
	_ "embed"
	"errors"
	"strings"
	"time"

	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

//go:embed tree.sql
var treeSQL string

//go:embed weekly_visits.sql
var weeklyVisitsSQL string

//go:embed weekly_faults.sql
var weeklyFaultsSQL string

// Options of Compute.
type Options struct {
	Seed       uint64
	Replicates int             // simulated histories; 0 means 999
	Warranty   int             // days after ready during which the shop's own work is under warranty
	Shares     []schemas.Share // rows of tables/shares.csv: firm ones are asked for links, too

	OnShelf func(lot string) (pieces float64, ok bool) // nil where the shop's stock tells no lots
}

// betweenLooks is the number of days between two looks, for the recurrence interval: analyse is run once a month.
const betweenLooks = 30

// Compute returns one row per alarm and linked attribute, the strongest alarm first, then the links of components
// with a firm share. A history of less than half a year raises no alarm.
func Compute(ctx context.Context, log *tally.Log, opt Options) ([]schemas.Batch, error) {
	g, err := loadGrid(ctx, log, log.AsOf, min(Baseline+MaxWindow, wholeWeeks(log.From, log.AsOf)))
	if err != nil {
		return nil, err
	}
	alarms, err := Scan(ctx, g, ScanOptions{Seed: opt.Seed, Replicates: opt.Replicates})
	if err != nil && !errors.Is(err, ErrShort) {
		return nil, err
	}
	return addLinks(ctx, log, g, alarms, suspects(g, alarms, opt.Shares), opt)
}

// loadGrid counts so many weeks that end on a day.
func loadGrid(ctx context.Context, log *tally.Log, last time.Time, weeks int) (*Grid, error) {
	g := &Grid{Weeks: weeks}
	if weeks < 1 {
		return g, nil
	}
	models, err := tally.Query[Model](ctx, log, treeSQL)
	if err != nil {
		return nil, err
	}
	type visits struct {
		Model  string `sql:"model"`
		Back   int    `sql:"back"`
		Visits int    `sql:"visits"`
	}
	seen, err := tally.Query[visits](ctx, log, weeklyVisitsSQL, period(last, weeks)...)
	if err != nil {
		return nil, err
	}
	at := make(map[string]int, len(models))
	for i, m := range models {
		at[m.Name] = i
	}
	if g.Models = models; len(models) > manyModels {
		total := map[string]int{}
		for _, v := range seen {
			total[v.Model] += v.Visits
		}
		g.Models, at = together(models, total)
	}
	for range g.Models {
		g.Visits = append(g.Visits, make([]int32, weeks))
	}
	for _, v := range seen {
		g.Visits[at[v.Model]][weeks-1-v.Back] += int32(v.Visits)
	}
	type faults struct {
		Component string `sql:"component"`
		Model     string `sql:"model"`
		Back      int    `sql:"back"`
		Faults    int    `sql:"faults"`
	}
	found, err := tally.Query[faults](ctx, log, weeklyFaultsSQL, period(last, weeks)...)
	if err != nil {
		return nil, err
	}
	for _, f := range found {
		c := len(g.Components) - 1
		if c < 0 || g.Components[c] != f.Component { // rows come ordered by component
			c++
			g.Components = append(g.Components, f.Component)
			g.Cases = append(g.Cases, make([][]int32, len(g.Models)))
		}
		m := at[f.Model]
		if g.Cases[c][m] == nil {
			g.Cases[c][m] = make([]int32, weeks)
		}
		g.Cases[c][m][weeks-1-f.Back] += int32(f.Faults)
	}
	return g, nil
}

// wholeWeeks is how many weeks that end on last lie within the log; days are counted by the calendar.
func wholeWeeks(first, last time.Time) int { return (dayNumber(last) - dayNumber(first) + 1) / 7 }

func dayNumber(t time.Time) int {
	y, m, d := t.Date()
	return int(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// alarmRow is an alarm without links.
func alarmRow(ctx context.Context, log *tally.Log, g *Grid, a Alarm, opt Options) (schemas.Batch, error) {
	recurrence, err := stat.RecurrenceDays(a.P, betweenLooks)
	if err != nil {
		return schemas.Batch{}, err
	}
	component := g.Components[a.Component]
	names := g.named(a.Models, func(m int) bool { return a.Cases(g, m) > 0 })
	covered, err := coveredBy(ctx, log, suspect{models: names}, affectedSQL, append(period(log.AsOf, 0)[:1],
		named("component", component), named("window", a.Window), named("warranty", opt.Warranty))...)
	if err != nil {
		return schemas.Batch{}, err
	}
	return schemas.Batch{
		Component: component, Node: a.Node, Level: a.Level, Models: strings.Join(names, ";"),
		WindowStart: log.AsOf.AddDate(0, 0, 1-7*a.Window).Format(time.DateOnly), WindowEnd: log.AsOf.Format(time.DateOnly),
		Observed: a.Observed, Visits: a.Visits, Expected: schemas.Known(a.Expected), RelativeRisk: schemas.Known(float64(a.Observed) / a.Expected),
		LLR: schemas.Known(a.LLR), P: schemas.Known(a.P), RecurrenceDays: schemas.Known(recurrence), UnderWarranty: schemas.Known(float64(covered)),
	}, nil
}
