// Package trends says what is getting worse, month by month.
//
// In: a tally.Log. Out: rows of tables/trends.csv and findings. A series is a component over all models
// ("*", "*"), over a class (class, "*") or over one model; months are the shop's, from the scope's first to the
// as-of month, the last 36 of them for classes and models.
// The slope is tested over the last 12 complete months: Cochran-Armitage with the scatter of months allowed
// for, so that a series that jumps about is not taken for one that moves. A month that is still running is
// listed, and left out of the slope and of the centre line.
//
// The family of tests that q corrects is fixed by totals alone: every series with 5 visits that show the
// component and 5 that do not within those 12 months. Causes (liquid, drop) have rows and no test. Of classes and
// of models the series with the most faults are kept, up to 20,000 and 40,000 rows.
//
// It refuses to extrapolate.
package trends

import (
	"cmp"
	"context"
	_ "embed"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

//go:embed visits.sql
var visitsSQL string

//go:embed faults.sql
var faultsSQL string

const (
	conf        = 0.95
	span        = 12     // months of the slope
	leastOfEach = 5      // visits with and without the component in those months
	lately      = 36     // months listed for classes and models
	classRows   = 20_000 // at most
	modelRows   = 40_000 // at most
)

// Directions.
const (
	Rising  = "rising"
	Falling = "falling"
	Steady  = "steady"
)

type visitCount struct {
	Class     string    `sql:"class"`
	Model     string    `sql:"model"`
	Month     time.Time `sql:"month"`
	Diagnosed int       `sql:"diagnosed"`
}

type faultCount struct {
	Class     string    `sql:"class"`
	Model     string    `sql:"model"`
	Month     time.Time `sql:"month"`
	Component string    `sql:"component"`
	Cause     bool      `sql:"is_cause"`
	Faults    int       `sql:"faults"`
}

// Compute returns rows ordered by class and model ("*" first), component and month.
func Compute(ctx context.Context, log *tally.Log) ([]schemas.Trend, error) {
	visits, err := tally.Query[visitCount](ctx, log, visitsSQL)
	if err != nil {
		return nil, err
	}
	faults, err := tally.Query[faultCount](ctx, log, faultsSQL)
	if err != nil {
		return nil, err
	}
	_, partial := log.Partial()
	list, err := seriesOf(visits, faults, number(log.AsOf), partial)
	if err != nil {
		return nil, err
	}
	var rows []schemas.Trend
	for _, s := range list {
		more, err := s.rows()
		if err != nil {
			return nil, fmt.Errorf("trend of %s in %s %s: %w", s.component, s.class, s.model, err)
		}
		rows = append(rows, more...)
	}
	return rows, nil
}

// number counts months since year 0, for arithmetic.
func number(t time.Time) int { return t.Year()*12 + int(t.Month()) - 1 }

func monthName(n int) string { return fmt.Sprintf("%04d-%02d", n/12, n%12+1) }

type scope struct{ class, model string }

// A series is one component in one scope, month by month.
type series struct {
	scope
	component string
	cause     bool
	first     int   // number of the first month
	x, n      []int // from first to the as-of month
	total     int   // faults
	complete  int   // months that are over
	slopeP, q schemas.Float
	direction string
}

func seriesOf(visits []visitCount, faults []faultCount, last int, partial bool) ([]*series, error) {
	n := map[scope]map[int]int{}
	first := map[scope]int{}
	for _, v := range visits {
		m := number(v.Month)
		for _, s := range scopesOf(v.Class, v.Model) {
			if n[s] == nil {
				n[s], first[s] = map[int]int{}, m
			}
			n[s][m] += v.Diagnosed
			first[s] = min(first[s], m)
		}
	}
	type id struct {
		scope
		component string
	}
	byID := map[id]*series{}
	for _, f := range faults {
		for _, s := range scopesOf(f.Class, f.Model) {
			k := id{s, f.Component}
			if byID[k] == nil {
				byID[k] = newSeries(s, f, first[s], last, n[s], partial)
			}
			byID[k].x[number(f.Month)-first[s]] += f.Faults
			byID[k].total += f.Faults
		}
	}
	var list []*series
	for _, s := range byID {
		list = append(list, s)
	}
	list = keep(list)
	return list, testAll(list)
}

func scopesOf(class, model string) [3]scope {
	return [3]scope{{schemas.Any, schemas.Any}, {class, schemas.Any}, {class, model}}
}

func newSeries(s scope, f faultCount, first, last int, visits map[int]int, partial bool) *series {
	months := last - first + 1
	r := &series{scope: s, component: f.Component, cause: f.Cause, first: first, x: make([]int, months), n: make([]int, months), complete: months, direction: Steady}
	for i := range r.n {
		r.n[i] = visits[first+i]
	}
	if partial {
		r.complete--
	}
	return r
}

// keep drops the rarest series of classes and of models where there are too many, and sorts.
func keep(list []*series) []*series {
	slices.SortFunc(list, func(a, b *series) int { return cmp.Or(cmp.Compare(b.total, a.total), compare(a, b)) })
	var kept []*series
	classes, models := 0, 0
	for _, s := range list {
		rows, most := &models, modelRows
		switch {
		case s.class == schemas.Any:
			kept = append(kept, s)
			continue
		case s.model == schemas.Any:
			rows, most = &classes, classRows
		}
		if *rows += s.listed(); *rows <= most {
			kept = append(kept, s)
		}
	}
	slices.SortFunc(kept, compare)
	return kept
}

// listed is how many months of the series have a row.
func (s *series) listed() int {
	if s.class == schemas.Any {
		return len(s.x)
	}
	return min(lately, len(s.x))
}

func compare(a, b *series) int {
	return cmp.Or(anyFirst(a.class, b.class), anyFirst(a.model, b.model), cmp.Compare(a.component, b.component))
}

func anyFirst(a, b string) int {
	switch {
	case a == b:
		return 0
	case a == schemas.Any:
		return -1
	case b == schemas.Any:
		return 1
	}
	return cmp.Compare(a, b)
}

// lastYear cuts the last 12 complete months out of the series.
func (s *series) lastYear() (x, n []int, score []float64) {
	from := max(0, s.complete-span)
	x, n = s.x[from:s.complete], s.n[from:s.complete]
	for i := range x {
		score = append(score, float64(span-len(x)+i))
	}
	return x, n, score
}

func sum(list []int) (total int) {
	for _, v := range list {
		total += v
	}
	return total
}

// testAll tests the slopes of all series together and corrects for how many there are.
func testAll(list []*series) error {
	var tested []*series
	var counts []stat.CountSeries
	for _, s := range list {
		x, n, score := s.lastYear()
		if with := sum(x); s.cause || with < leastOfEach || sum(n)-with < leastOfEach {
			continue
		}
		tested = append(tested, s)
		counts = append(counts, stat.CountSeries{X: x, N: n, Score: score})
	}
	if len(counts) == 0 {
		return nil
	}
	results, _, err := stat.TrendsTogether(counts)
	if err != nil {
		return fmt.Errorf("trends: %w", err)
	}
	var p []float64
	var at []int
	for i, r := range results {
		switch {
		case r.Err == nil:
			p, at = append(p, r.P), append(at, i)
		case !errors.Is(r.Err, stat.ErrTooFew) && !errors.Is(r.Err, stat.ErrNoInformation):
			return fmt.Errorf("trend of %s in %s %s: %w", tested[i].component, tested[i].class, tested[i].model, r.Err)
		}
	}
	if len(p) == 0 {
		return nil
	}
	q, err := stat.BenjaminiHochberg(p)
	if err != nil {
		return fmt.Errorf("trends: %w", err)
	}
	for i, j := range at {
		s := tested[j]
		s.slopeP, s.q = schemas.Known(p[i]), schemas.Known(q[i])
		switch {
		case q[i] >= 0.05:
		case results[j].Statistic > 0:
			s.direction = Rising
		default:
			s.direction = Falling
		}
	}
	return nil
}

func (s *series) rows() ([]schemas.Trend, error) {
	chart, err := stat.LaneyP(s.x[:s.complete], s.n[:s.complete])
	charted := err == nil
	if err != nil && !errors.Is(err, stat.ErrTooFew) && !errors.Is(err, stat.ErrNoData) && !errors.Is(err, stat.ErrNoInformation) {
		return nil, err
	}
	rows := make([]schemas.Trend, len(s.x))
	for i := range rows {
		r := schemas.Trend{
			Month: monthName(s.first + i), Class: s.class, Model: s.model, Component: s.component, Faults: s.x[i], Visits: s.n[i],
			SlopeP: s.slopeP, Q: s.q, Direction: s.direction,
		}
		if r.Visits > 0 {
			w, err := stat.Wilson(r.Faults, r.Visits, conf)
			if err != nil {
				return nil, err
			}
			r.Share, r.Low, r.High = schemas.Known(float64(r.Faults)/float64(r.Visits)), schemas.Known(w.Lo), schemas.Known(w.Hi)
		}
		if charted {
			r.Centre = schemas.Known(chart.Centre)
			if r.Visits > 0 {
				half := 3 * chart.SigmaZ * math.Sqrt(chart.Centre*(1-chart.Centre)/float64(r.Visits))
				r.LowerLimit, r.UpperLimit = schemas.Known(max(0, chart.Centre-half)), schemas.Known(min(1, chart.Centre+half))
			}
		}
		rows[i] = r
	}
	return rows[len(rows)-s.listed():], nil
}
