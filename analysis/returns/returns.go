// Package returns says which parts come back: by grade, supplier and lot of what was fitted.
//
// In: a tally.Log and the shop's warranty days. Out: rows of tables/returns.csv, the curves behind them, and findings.
//
// A repair is a visit of a known device on which a part of the component was fitted and that was not left unrepaired.
// It came back when the same device is in again with the same component bad; another component is no return. What
// counts is the part fitted at the repair, whatever is fitted when it comes back. Follow-up starts when the job was
// ready (else collected, else opened) and ends with the return or, for devices that never came back, on the as-of day;
// they are not thrown away, they are followed as long as can be. Devices without a serial can't be followed; they are
// left out and counted.
//
// It refuses to say why a part came back, and whose fault that is.
package returns

import (
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"runtime"
	"time"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"

	"golang.org/x/sync/errgroup"
)

//go:embed fitted.sql
var fittedSQL string

//go:embed words.sql
var wordsSQL string

//go:embed unknown.sql
var unknownSQL string

const (
	conf    = 0.95
	horizon = 180 // days a repair is followed at most
)

// Attributes that repairs are told apart by, in the order of the table.
const (
	ByGrade    = "grade"
	BySupplier = "supplier"
	ByLot      = "lot"
)

// minRepairs is the least number of repairs on both sides that makes a comparison; below it a row has counts and a
// curve, but no p.
const minRepairs = 5

// Result is all that returns knows.
type Result struct {
	Rows   []schemas.Return
	Curves []schemas.ReturnPoint

	Back map[string]float64 // by component: share of all followed repairs back within the warranty days

	Fitted        int // visits on which a part was fitted
	WithoutDevice int // of these, without a serial: left out
}

type fitted struct {
	Fate   int64 `sql:"fate"`
	Origin int64 `sql:"origin"`
}

type word struct {
	Kind   string        `sql:"kind"`
	Word   string        `sql:"word"`
	Number int           `sql:"number"`
	Lines  schemas.Float `sql:"lines"`
}

type followable struct {
	Fitted        int `sql:"fitted"`
	WithoutDevice int `sql:"without_device"`
}

// Compute returns one row per component and value of grade, supplier and lot, ordered by component, attribute and
// value. warranty is in days.
func Compute(ctx context.Context, log *tally.Log, warranty int) (Result, error) {
	asOf := log.AsOf.Format(time.DateOnly)
	words, err := tally.Query[word](ctx, log, wordsSQL)
	if err != nil {
		return Result{}, err
	}
	gathered := newLedger(words)
	err = tally.Each(ctx, log, gathered.add, fittedSQL, sql.Named("as_of", asOf), sql.Named("horizon", horizon),
		sql.Named("models", gathered.models), sql.Named("suppliers", gathered.suppliers), sql.Named("grades", gathered.grades))
	if err != nil {
		return Result{}, err
	}
	known, err := tally.Query[followable](ctx, log, unknownSQL)
	if err != nil {
		return Result{}, err
	}
	res := Result{Fitted: known[0].Fitted, WithoutDevice: known[0].WithoutDevice, Back: map[string]float64{}}
	asked := gathered.attributes()
	work, ctx := errgroup.WithContext(ctx)
	work.SetLimit(runtime.GOMAXPROCS(0))
	for _, of := range asked {
		work.Go(func() error { return of.describe(ctx, warranty) })
	}
	if err := work.Wait(); err != nil {
		return Result{}, err
	}
	for _, of := range asked {
		res.Rows, res.Curves = append(res.Rows, of.rows...), append(res.Curves, of.curves...)
		if of.by == ByGrade {
			res.Back[of.component] = of.back
		}
	}
	if err := findings.Correct(res.Rows, func(r *schemas.Return) (schemas.Float, *schemas.Float) { return r.P, &r.Q }); err != nil {
		return Result{}, err
	}
	return res, nil
}

// describe makes the row of one value among all repairs of the component.
func describe(of *attribute, g group, warranty int) (schemas.Return, []schemas.ReturnPoint, error) {
	row := schemas.Return{Component: of.component, By: of.by, Value: g.value}
	row.Repairs, row.Returns = g.count(warranty)
	curve, err := stat.KaplanMeier(byDay(g), conf, stat.LogLog)
	if err != nil {
		return row, nil, err
	}
	for _, at := range []struct {
		day            float64
		back, low, hig *schemas.Float
	}{
		{30, &row.Back30, &row.Back30Low, &row.Back30High},
		{90, &row.Back90, &row.Back90Low, &row.Back90High},
		{180, &row.Back180, &row.Back180Low, &row.Back180Hi},
	} {
		e, err := curve.At(at.day)
		if errors.Is(err, stat.ErrNoData) { // nobody was followed that long
			continue
		}
		if err != nil {
			return row, nil, err
		}
		*at.back, *at.low, *at.hig = schemas.Known(1-e.Value), schemas.Known(1-e.Hi), schemas.Known(1-e.Lo)
	}
	if err := compare(&row, of, g); err != nil {
		return row, nil, err
	}
	return row, points(row, curve), nil
}

// compare tests the value against the other known values of the attribute, within models.
func compare(row *schemas.Return, of *attribute, g group) error {
	if of.repairs-row.Repairs < minRepairs || row.Repairs < minRepairs {
		return nil
	}
	test, ratio, err := stat.OneAgainstRest(g.strata(of.models), conf)
	if errors.Is(err, stat.ErrNoInformation) {
		return nil
	}
	if err != nil {
		return err
	}
	row.P = schemas.Known(test.P)
	row.Ratio, row.RatioLow, row.RatioHigh = known(ratio.Value), schemas.Known(ratio.Lo), known(ratio.Hi)
	return nil
}

func known(l stat.Limit) schemas.Float {
	if !l.Bounded {
		return schemas.Float{}
	}
	return schemas.Known(l.Value)
}

// points lists a curve's steps, for drawing, with the numbers at risk; it starts at day 0.
func points(row schemas.Return, curve stat.Survival) []schemas.ReturnPoint {
	point := func(day float64, atRisk int, back, low, high float64) schemas.ReturnPoint {
		return schemas.ReturnPoint{Component: row.Component, By: row.By, Value: row.Value, Day: int(day), AtRisk: atRisk,
			Back: schemas.Known(back), Low: schemas.Known(low), High: schemas.Known(high)}
	}
	list := []schemas.ReturnPoint{point(0, curve.Total, 0, 0, 0)}
	for _, s := range curve.Steps {
		p := point(s.Time, s.AtRisk, 1-s.Share, 1-s.Hi, 1-s.Lo)
		if !s.Limited {
			p.Low, p.High = schemas.Float{}, schemas.Float{}
		}
		list = append(list, p)
	}
	return list
}
