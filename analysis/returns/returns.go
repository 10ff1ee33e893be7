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
	"cmp"
	"context"
	"database/sql"
	_ "embed"
	"errors"
	"slices"
	"time"

	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

//go:embed fitted.sql
var fittedSQL string

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
	Component string `sql:"component"`
	Model     string `sql:"model"`
	Grade     string `sql:"grade"`
	Supplier  string `sql:"supplier"`
	Lot       string `sql:"lot"`
	Days      int    `sql:"days"`
	Back      int    `sql:"back"`
	Repairs   int    `sql:"repairs"`
}

func (f fitted) value(by string) string {
	switch by {
	case ByGrade:
		return f.Grade
	case BySupplier:
		return f.Supplier
	}
	return f.Lot
}

type followable struct {
	Fitted        int `sql:"fitted"`
	WithoutDevice int `sql:"without_device"`
}

// Compute returns one row per component and value of grade, supplier and lot, ordered by component, attribute and
// value. warranty is in days.
func Compute(ctx context.Context, log *tally.Log, warranty int) (Result, error) {
	asOf := log.AsOf.Format(time.DateOnly)
	list, err := tally.Query[fitted](ctx, log, fittedSQL, sql.Named("as_of", asOf), sql.Named("horizon", horizon))
	if err != nil {
		return Result{}, err
	}
	known, err := tally.Query[followable](ctx, log, unknownSQL)
	if err != nil {
		return Result{}, err
	}
	res := Result{Fitted: known[0].Fitted, WithoutDevice: known[0].WithoutDevice, Back: map[string]float64{}}
	for _, of := range split(list, func(f fitted) string { return f.Component }) {
		if res.Back[of[0].Component], err = backWithin(of, warranty); err != nil {
			return Result{}, err
		}
	}
	for _, by := range []string{ByGrade, BySupplier, ByLot} {
		for _, of := range split(list, func(f fitted) string { return f.Component }) {
			for _, g := range split(of, func(f fitted) string { return f.value(by) }) {
				value := g[0].value(by)
				if value == "" || by == ByGrade && value == schemas.GradeUnknown {
					continue
				}
				row, points, err := describe(g, of, by, value, warranty)
				if err != nil {
					return Result{}, err
				}
				res.Rows = append(res.Rows, row)
				res.Curves = append(res.Curves, points...)
			}
		}
	}
	if err := correct(res.Rows); err != nil {
		return Result{}, err
	}
	place := map[string]int{ByGrade: 0, BySupplier: 1, ByLot: 2}
	slices.SortFunc(res.Rows, func(a, b schemas.Return) int {
		return cmp.Or(cmp.Compare(a.Component, b.Component), cmp.Compare(place[a.By], place[b.By]), cmp.Compare(a.Value, b.Value))
	})
	slices.SortStableFunc(res.Curves, func(a, b schemas.ReturnPoint) int {
		return cmp.Or(cmp.Compare(a.Component, b.Component), cmp.Compare(place[a.By], place[b.By]), cmp.Compare(a.Value, b.Value), cmp.Compare(a.Day, b.Day))
	})
	return res, nil
}

// split groups a list by key, keys in ascending order, the order within a group kept.
func split(list []fitted, key func(fitted) string) [][]fitted {
	groups := map[string][]fitted{}
	var keys []string
	for _, f := range list {
		k := key(f)
		if _, ok := groups[k]; !ok {
			keys = append(keys, k)
		}
		groups[k] = append(groups[k], f)
	}
	slices.Sort(keys)
	out := make([][]fitted, len(keys))
	for i, k := range keys {
		out[i] = groups[k]
	}
	return out
}

func lifetimes(list []fitted) []stat.Lifetime {
	out := make([]stat.Lifetime, len(list))
	for i, f := range list {
		out[i] = stat.Lifetime{Time: float64(f.Days), Events: f.Repairs * f.Back, Censored: f.Repairs * (1 - f.Back)}
	}
	return out
}

func count(list []fitted, within int) (repairs, back int) {
	for _, f := range list {
		repairs += f.Repairs
		if f.Back == 1 && f.Days <= within {
			back += f.Repairs
		}
	}
	return repairs, back
}

// backWithin is the share back by a day, or by the end of follow-up where that is sooner.
func backWithin(list []fitted, days int) (float64, error) {
	curve, err := stat.KaplanMeier(lifetimes(list), conf, stat.LogLog)
	if err != nil {
		return 0, err
	}
	e, err := curve.At(min(float64(days), curve.Last))
	return 1 - e.Value, err
}

// describe makes the row of one value among all repairs of the component.
func describe(g, all []fitted, by, value string, warranty int) (schemas.Return, []schemas.ReturnPoint, error) {
	row := schemas.Return{Component: g[0].Component, By: by, Value: value}
	row.Repairs, row.Returns = count(g, warranty)
	curve, err := stat.KaplanMeier(lifetimes(g), conf, stat.LogLog)
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
	if err := compare(&row, g, all, by); err != nil {
		return row, nil, err
	}
	return row, points(row, curve), nil
}

// compare tests the value against the other known values of the attribute, within models.
func compare(row *schemas.Return, g, all []fitted, by string) error {
	var others []fitted
	for _, f := range all {
		if v := f.value(by); v != "" && v != row.Value && !(by == ByGrade && v == schemas.GradeUnknown) {
			others = append(others, f)
		}
	}
	if n, _ := count(others, horizon); n < minRepairs || row.Repairs < minRepairs {
		return nil
	}
	rest := map[string][]fitted{}
	for _, f := range others {
		rest[f.Model] = append(rest[f.Model], f)
	}
	var strata [][][]stat.Lifetime
	for _, own := range split(g, func(f fitted) string { return f.Model }) {
		if other := rest[own[0].Model]; other != nil {
			strata = append(strata, [][]stat.Lifetime{lifetimes(own), lifetimes(other)})
		}
	}
	if len(strata) == 0 {
		return nil
	}
	test, err := stat.LogRankStratified(strata)
	if errors.Is(err, stat.ErrNoInformation) {
		return nil
	}
	if err != nil {
		return err
	}
	row.P = schemas.Known(test.P)
	ratio, err := stat.HazardRatio(strata, conf)
	if errors.Is(err, stat.ErrNoInformation) {
		return nil
	}
	if err != nil {
		return err
	}
	row.Ratio, row.RatioLow, row.RatioHigh = known(ratio.Value), schemas.Known(ratio.Lo), known(ratio.Hi)
	return nil
}

func known(l stat.Limit) schemas.Float {
	if !l.Bounded {
		return schemas.Float{}
	}
	return schemas.Known(l.Value)
}

func correct(rows []schemas.Return) error {
	var p []float64
	var at []int
	for i, r := range rows {
		if r.P.OK {
			p, at = append(p, r.P.V), append(at, i)
		}
	}
	if len(p) == 0 {
		return nil
	}
	q, err := stat.BenjaminiHochberg(p)
	if err != nil {
		return err
	}
	for i, row := range at {
		rows[row].Q = schemas.Known(q[i])
	}
	return nil
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
