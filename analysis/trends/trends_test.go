package trends

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/analysis/tally/tallytest"
	"faultgrain/schemas"
)

// month makes n visits of a model in a month of 2025 (1 is January, 13 January 2026), x with the component.
func month(m int, class, model string, n, x int, component string) []tallytest.Visit {
	var list []tallytest.Visit
	for i := range n {
		v := tallytest.Visit{Class: class, Model: model, Opened: time.Date(2025, time.Month(m), 1+i%28, 9, 0, 0, 0, time.UTC), Faults: []string{"housing"}}
		if i < x {
			v.Faults = []string{component}
		}
		list = append(list, v)
	}
	return list
}

func rowsOf(rows []schemas.Trend, class, model, component string) (out []schemas.Trend) {
	for _, r := range rows {
		if r.Class == class && r.Model == model && r.Component == component {
			out = append(out, r)
		}
	}
	return out
}

func compute(t *testing.T, visits []tallytest.Visit, opt tally.Options) ([]schemas.Trend, *tally.Log) {
	t.Helper()
	log := tallytest.Open(t, visits, opt)
	rows, err := Compute(t.Context(), log)
	if err != nil {
		t.Fatal(err)
	}
	return rows, log
}

func TestRowsForAllClassesAndModels(t *testing.T) {
	visits := append(month(1, "phone", "Corvo 3", 20, 5, "hinge"), month(3, "tablet", "Corvo T", 10, 1, "hinge")...)
	rows, _ := compute(t, visits, tally.Options{AsOf: time.Date(2025, 3, 31, 0, 0, 0, 0, time.UTC)})
	all := rowsOf(rows, schemas.Any, schemas.Any, "hinge")
	if len(all) != 3 || all[0].Month != "2025-01" || all[2].Month != "2025-03" {
		t.Fatalf("months %+v, want January to March", all)
	}
	if all[0].Faults != 5 || all[0].Visits != 20 || all[1].Visits != 0 || all[1].Share.OK || all[2].Faults != 1 {
		t.Errorf("rows %+v, want 5 of 20, nothing, 1 of 10", all)
	}
	if tablets := rowsOf(rows, "tablet", schemas.Any, "hinge"); len(tablets) != 1 || tablets[0].Month != "2025-03" {
		t.Errorf("a class starts with its first visit: %+v", tablets)
	}
	if model := rowsOf(rows, "phone", "Corvo 3", "hinge"); len(model) != 3 {
		t.Errorf("a model goes on to the as-of month: %+v", model)
	}
	// Wilson limits of 1 in 10: 0.0179 to 0.4042 (R: prop.test(1, 10, correct = FALSE); from memory).
	if r := all[2]; math.Abs(r.Low.V-0.0179) > 5e-5 || math.Abs(r.High.V-0.4042) > 5e-5 {
		t.Errorf("limits %v to %v", r.Low, r.High)
	}
	for _, r := range rows {
		if r.SlopeP.OK || r.Direction != Steady {
			t.Errorf("three months hold no slope: %+v", r)
		}
	}
}

func TestSlopeIsOverTheLastTwelveCompleteMonths(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	var visits []tallytest.Visit
	for m := 1; m <= 17; m++ {
		n := 80 + rng.IntN(20)
		x := 40 // four early months that would make any slope fall
		if m > 4 {
			x = 2 + 2*(m-4)
		}
		if m == 17 {
			n, x = 30, 0 // still running
		}
		visits = append(visits, month(m, "phone", "Corvo 3", n, x, "hinge")...)
	}
	rows, log := compute(t, visits, tally.Options{AsOf: time.Date(2026, 5, 20, 0, 0, 0, 0, time.UTC)})
	series := rowsOf(rows, "phone", "Corvo 3", "hinge")
	last := series[len(series)-1]
	if last.Month != "2026-05" || last.Direction != Rising {
		t.Errorf("last row %+v, want May, rising", last)
	}
	var x, n []int
	var score []float64
	for i, r := range series[len(series)-13 : len(series)-1] {
		x, n, score = append(x, r.Faults), append(n, r.Visits), append(score, float64(i))
	}
	chance, err := stat.CochranArmitage(x, n, score)
	if err != nil {
		t.Fatal(err)
	}
	if last.SlopeP.V < chance.P*(1-1e-9) {
		t.Errorf("slope_p %v, want no less than Cochran-Armitage's %v over May 2025 to April 2026", last.SlopeP, chance.P)
	}
	list := Findings(rows, findings.NewFrame(log, nil))
	if len(list) != 1 {
		t.Fatalf("%d findings, want the hinge, told of the model alone, which is all there is: %+v", len(list), list)
	}
	f := list[0]
	if f.Grade != schemas.Firm || f.Subject.Model != "Corvo 3" || !strings.HasPrefix(f.Headline, "Hinge on Corvo 3 is rising: ") ||
		!strings.Contains(f.Headline, " in November 2025 to April 2026: ") {
		t.Errorf("finding %+v", f)
	}
	if v := f.Numbers["fold"].V; v < 1.8 || v > 2.8 {
		t.Errorf("from 54 of 537 to 126 of 538 is %v times, want about 2.3", v)
	}
}

func TestFallingIsTold(t *testing.T) {
	var visits []tallytest.Visit
	for m := 1; m <= 12; m++ {
		visits = append(visits, month(m, "phone", "Corvo 3", 100, 40-3*m, "hinge")...)
		visits = append(visits, month(m, "tablet", "Corvo T", 100, 20+m%2, "hinge")...)
	}
	rows, log := compute(t, visits, tally.Options{})
	if r := rowsOf(rows, "phone", "Corvo 3", "hinge")[0]; r.Direction != Falling {
		t.Errorf("direction %s, want falling", r.Direction)
	}
	if r := rowsOf(rows, "tablet", "Corvo T", "hinge")[0]; r.Direction != Steady {
		t.Errorf("direction %s, want steady", r.Direction)
	}
	list := Findings(rows, findings.NewFrame(log, nil))
	if len(list) != 2 { // the hinge falls, so the housing rises: every visit has one of the two
		t.Fatalf("%d findings, want two: %+v", len(list), list)
	}
	for _, f := range list {
		if f.Subject.Model != "Corvo 3" {
			t.Errorf("%s, want it told of the model", f.Headline)
		}
	}
}

func TestManySeriesWithoutTrendStaySteady(t *testing.T) {
	// 40 series a shop, months that differ by more than chance, no trend: a false rising or falling one turns up
	// in 5% of shops at most. Of 60 shops more than 7 has chance 0.01.
	rng := rand.New(rand.NewPCG(2, 3))
	wrong := 0
	for range 60 {
		var list []*series
		for range 40 {
			s := &series{first: 0, complete: 12, direction: Steady}
			base := 0.05 + 0.2*rng.Float64()
			for range 12 {
				p := base * math.Exp(0.3*rng.NormFloat64())
				n, x := 30+rng.IntN(40), 0
				for range n {
					if rng.Float64() < p {
						x++
					}
				}
				s.x, s.n, s.total = append(s.x, x), append(s.n, n), s.total+x
			}
			list = append(list, s)
		}
		if err := testAll(list); err != nil {
			t.Fatal(err)
		}
		for _, s := range list {
			if s.direction != Steady {
				wrong++
				break
			}
		}
	}
	if wrong > 7 {
		t.Errorf("%d of 60 shops show a trend where there is none", wrong)
	}
}

func TestCausesHaveNoTest(t *testing.T) {
	var visits []tallytest.Visit
	for m := 1; m <= 12; m++ {
		visits = append(visits, month(m, "phone", "Corvo 3", 100, 40-3*m, "liquid")...)
	}
	rows, _ := compute(t, visits, tally.Options{})
	if r := rowsOf(rows, "phone", "Corvo 3", "liquid"); len(r) != 12 || r[0].SlopeP.OK || r[0].Direction != Steady {
		t.Errorf("cause rows %+v, want 12 without a test", r)
	}
}

func TestKeepBoundsTheTable(t *testing.T) {
	var list []*series
	for i := range 2_500 {
		list = append(list, &series{scope: scope{"phone", "m"}, component: string(rune('a' + i)), total: i, x: make([]int, 90)})
	}
	list = append(list, &series{scope: scope{schemas.Any, schemas.Any}, component: "rare", x: make([]int, 90)})
	kept := keep(list)
	if len(kept) != 40_000/36+1 || kept[0].component != "rare" {
		t.Errorf("%d series kept, first %s; want 1,111 of models and every one of all models", len(kept), kept[0].component)
	}
	rows, err := (&series{scope: scope{"phone", "m"}, first: 24_300, complete: 40, x: make([]int, 40), n: make([]int, 40)}).rows()
	if err != nil || len(rows) != 36 || rows[35].Month != monthName(24_339) {
		t.Errorf("%d rows, %v; want the last 36 months", len(rows), err)
	}
}
