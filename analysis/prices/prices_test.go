package prices

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/tally"
	"faultgrain/analysis/tally/tallytest"
	"faultgrain/schemas"
)

func at(day int) time.Time { return time.Date(2025, 1, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, day) }

func job(model string, day int, component string, cost, charge, minutes float64, currency string) tallytest.Visit {
	return tallytest.Visit{Model: model, Class: "phone", Opened: at(day), Ready: at(day), Outcome: schemas.Repaired, Currency: currency,
		Charge: schemas.Known(charge), Minutes: schemas.Known(minutes), Faults: []string{component},
		Parts: []tallytest.Part{{Component: component, UnitCost: schemas.Known(cost), Quantity: schemas.Known(1), Currency: currency}}}
}

func compute(t *testing.T, visits []tallytest.Visit, opt Options) []schemas.Price {
	t.Helper()
	rows, err := Compute(t.Context(), tallytest.Open(t, visits, tally.Options{}), opt)
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

func row(t *testing.T, rows []schemas.Price, model, currency string) schemas.Price {
	t.Helper()
	for _, r := range rows {
		if r.Model == model && r.Currency == currency {
			return r
		}
	}
	t.Fatalf("no row for %s in %s", model, currency)
	return schemas.Price{}
}

func near(t *testing.T, what string, got schemas.Float, want float64) {
	t.Helper()
	if !got.OK || math.Abs(got.V-want) > 1e-9*math.Max(1, math.Abs(want)) {
		t.Errorf("%s = %v, want %v", what, got, want)
	}
}

// MAD-1 of the reference values (R; the rule of Iglewicz and Hoaglin 1993, from memory): of 1, 1, 2, 2, 4, 6, 9 the
// modified z of 9 is 4.7215. The first six have the same median and deviation, so it is also 9's z against the others.
func TestRobustZOnLogCost(t *testing.T) {
	var visits []tallytest.Visit
	for i, v := range []float64{1, 1, 2, 2, 4, 6, 9} {
		visits = append(visits, job(fmt.Sprintf("Model %d", i+1), i, "earpiece", math.Exp(v/4), 50, 30, "EUR"))
	}
	r := row(t, compute(t, visits, Options{}), "Model 7", "EUR")
	near(t, "z", r.Z, 4.7215)
	near(t, "usual cost", r.CostUsual, math.Exp(0.5))
}

// A small part that usually costs about 3 and is quoted at about 20 for one model stands out: common practice, no source.
func TestASmallPartAtSevenTimesTheUsualStandsOut(t *testing.T) {
	var visits []tallytest.Visit
	for i := range 40 {
		visits = append(visits, job(fmt.Sprintf("Model %d", i%8+1), i, "earpiece", 2.6+0.1*float64(i%9), 45, 25, "EUR"))
	}
	for i := range 6 {
		visits = append(visits, job("Dear 1", 50+i, "earpiece", 19+float64(i%3), 45, 25, "EUR"))
	}
	rows := compute(t, visits, Options{})
	found := Findings(rows, nil, findings.Frame{})
	if len(found) != 1 || found[0].Subject.Model != "Dear 1" || found[0].Grade != schemas.Firm {
		t.Fatalf("found %+v, want one firm finding about Dear 1", found)
	}
	if !strings.Contains(found[0].Headline, "usually costs 2.95") || !strings.Contains(found[0].Headline, "EUR") {
		t.Errorf("headline: %s", found[0].Headline)
	}
}

// By hand: parts 10, 30 minutes at 40 an hour = 20, a tenth comes back at 30 each: 3. Of a charge of 60 stay 27; of 40
// stay 7. Floor at a target of 40%: 33 / 0.6 = 55.
func TestMarginAndFloorByHand(t *testing.T) {
	rate, target := 40.0, 0.4
	visits := []tallytest.Visit{
		job("Lark 7", 1, "battery", 10, 60, 30, "EUR"), job("Lark 7", 2, "battery", 10, 60, 30, "EUR"), job("Lark 7", 3, "battery", 10, 40, 30, "EUR"),
	}
	both := job("Lark 7", 4, "battery", 10, 500, 30, "EUR") // two faults: no price of either
	both.Faults = append(both.Faults, "display")
	r := row(t, compute(t, append(visits, both), Options{LabourRate: &rate, TargetMargin: &target, Back: map[string]float64{"battery": 0.1}}), "Lark 7", "EUR")
	near(t, "margin", r.MarginMedian, 27)
	near(t, "floor", r.PriceFloor, 55)
	near(t, "charge", r.ChargeMedian, 60)
	near(t, "below", r.BelowTarget, 1)
	if r.MarginJobs != 3 || r.Lines != 4 {
		t.Errorf("%d jobs and %d lines, want 3 and 4", r.MarginJobs, r.Lines)
	}
	r = row(t, compute(t, visits, Options{TargetMargin: &target}), "Lark 7", "EUR")
	if r.MarginMedian.OK || r.PriceFloor.OK || r.BelowTarget.OK {
		t.Errorf("without a labour rate there is no margin, but the row says %+v", r)
	}
}

func TestCurrenciesAreNeverMixed(t *testing.T) {
	rate := 40.0
	mixed := job("Lark 7", 3, "battery", 10, 60, 30, "EUR")
	mixed.Parts[0].Currency = "DKK"
	mixed.Parts[0].UnitCost = schemas.Known(75)
	rows := compute(t, []tallytest.Visit{job("Lark 7", 1, "battery", 10, 60, 30, "EUR"), mixed}, Options{LabourRate: &rate})
	eur, dkk := row(t, rows, "Lark 7", "EUR"), row(t, rows, "Lark 7", "DKK")
	near(t, "cost in EUR", eur.CostMedian, 10)
	near(t, "cost in DKK", dkk.CostMedian, 75)
	near(t, "margin", eur.MarginMedian, 30) // of the job whose part was paid in EUR, alone
	if dkk.MarginMedian.OK || eur.CostUsual.OK {
		t.Errorf("amounts of two currencies met: %+v %+v", eur, dkk)
	}
}

func TestJumps(t *testing.T) {
	quotes := func(costs ...float64) series {
		var s series
		for i, c := range costs {
			day := time.Date(2025, time.Month(i+1), 10, 0, 0, 0, 0, time.UTC)
			s = append(s, quote{cost: c, lines: 3, month: dayOf(day.AddDate(0, 0, -9)), first: dayOf(day), last: dayOf(day)})
		}
		return s
	}
	for _, tc := range []struct {
		name   string
		s      series
		on     string
		before float64
	}{
		{"tripled", quotes(6.5, 6.7, 6.6, 19.8, 20, 19.6), "2025-04-10", 6.6},
		{"wobbles", quotes(6.5, 6.7, 6.6, 6.9, 6.4, 6.6), "", 0},
		{"one dear month", quotes(6.5, 6.7, 6.6, 19.8, 6.5, 6.6, 6.4), "", 0},
		{"fell", quotes(10, 10, 10, 5, 5), "2025-04-10", 10},
		{"twice, the later is told", quotes(5, 5, 5, 10, 10, 10, 30, 30), "2025-07-10", 10},
		{"a single month", quotes(6.5), "", 0},
	} {
		j, ok := tc.s.lastJump()
		on := ""
		if ok {
			on = j.on.time().Format(time.DateOnly)
		}
		if on != tc.on || ok && j.before != tc.before {
			t.Errorf("%s: jump on %q from %v, want %q from %v", tc.name, on, j.before, tc.on, tc.before)
		}
	}
}

// Hyndman and Fan (1996), type 7; the values are R's quantile(c(1, 2, 2, 5, 9), c(.25, .5, .9)), by hand from its formula.
func TestQuantilesCountLines(t *testing.T) {
	s := series{{cost: 5, lines: 1}, {cost: 2, lines: 2}, {cost: 9, lines: 1}, {cost: 1, lines: 1}}
	for p, want := range map[float64]float64{0.25: 2, 0.5: 2, 0.9: 7.4, 0: 1, 1: 9} {
		if got := s.byCost().quantile(p); math.Abs(got-want) > 1e-12 {
			t.Errorf("quantile %v = %v, want %v", p, got, want)
		}
	}
}
