package returns

import (
	"math"
	"strconv"
	"testing"
	"time"

	"faultgrain/analysis/tally"
	"faultgrain/analysis/tally/tallytest"
	"faultgrain/schemas"
)

func at(day int) time.Time { return time.Date(2025, 1, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, day) }

func repair(device string, day int, component, grade string) tallytest.Visit {
	return tallytest.Visit{Model: "Lark 7", Class: "phone", Device: device, Opened: at(day), Ready: at(day), Outcome: schemas.Repaired,
		Faults: []string{component}, Parts: []tallytest.Part{{Component: component, Grade: grade, Supplier: "Partco", Lot: "L" + grade}}}
}

// The remission times of Freireich et al. (1963), KM-1 of the reference values: shares with standard errors confirmed,
// log-log limits and the log-rank statistic from memory, all of them R's survival to the digits here.
var (
	sixMP    = []int{6, 6, 6, 7, 10, 13, 16, 22, 23}
	censored = []int{6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35}
	placebo  = []int{1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23}
)

// freireich tells the trial as repairs: weeks are days, a relapse is a return for the same component; the as-of day is
// chosen so that devices which never came back were followed exactly as long as the patients.
func freireich() []tallytest.Visit {
	const end = 100
	var list []tallytest.Visit
	n := 0
	add := func(grade string, days int, back bool) {
		n++
		d := "device " + strconv.Itoa(n)
		start := end - days
		if back {
			start = 10
		}
		list = append(list, repair(d, start, "battery", grade))
		if back {
			again := repair(d, start+days, "battery", "")
			again.Parts = nil // fitted nothing: no repair of its own
			list = append(list, again)
		}
	}
	for _, d := range sixMP {
		add("original", d, true)
	}
	for _, d := range censored {
		add("original", d, false)
	}
	for _, d := range placebo {
		add("pulled", d, true)
	}
	// A visit on the last day makes the as-of day.
	return append(list, tallytest.Visit{Model: "Lark 7", Class: "phone", Opened: at(end), Faults: []string{"hinge"}})
}

func row(t *testing.T, rows []schemas.Return, by, value string) schemas.Return {
	t.Helper()
	for _, r := range rows {
		if r.By == by && r.Value == value {
			return r
		}
	}
	t.Fatalf("no row for %s %s", by, value)
	return schemas.Return{}
}

func near(t *testing.T, what string, got schemas.Float, want, tol float64) {
	t.Helper()
	if !got.OK || math.Abs(got.V-want) > tol {
		t.Errorf("%s = %v, want %v", what, got, want)
	}
}

func TestCurvesAndTestAreThoseOfThePublishedTrial(t *testing.T) {
	res, err := Compute(t.Context(), tallytest.Open(t, freireich(), tally.Options{}), 90)
	if err != nil {
		t.Fatal(err)
	}
	r := row(t, res.Rows, ByGrade, "original")
	if r.Repairs != 21 || r.Returns != 9 {
		t.Errorf("%d repairs, %d returns; the trial has 21 and 9", r.Repairs, r.Returns)
	}
	near(t, "back by day 30", r.Back30, 1-0.4481792717, 1e-9)
	near(t, "its lower limit", r.Back30Low, 1-0.6801426285, 1e-9)
	near(t, "its upper limit", r.Back30High, 1-0.1880520060, 1e-9)
	near(t, "log-rank p", r.P, 4.168809109e-05, 1e-13)
	if r.Back90.OK {
		t.Error("a share by day 90 is given though nobody was followed that long")
	}
	for _, p := range res.Curves {
		if p.By == ByGrade && p.Value == "original" && p.Day == 13 {
			near(t, "curve at 13", p.Back, 1-0.6901960784, 1e-9)
			if p.AtRisk != 12 {
				t.Errorf("%d at risk on day 13, the trial has 12", p.AtRisk)
			}
		}
	}
	if other := row(t, res.Rows, ByGrade, "pulled"); !(other.Ratio.V > 1 && r.Ratio.V < 1) || math.Abs(other.Ratio.V*r.Ratio.V-1) > 1e-9 {
		t.Errorf("hazard ratios %v and %v are not each other's inverse", other.Ratio, r.Ratio)
	}
}

func TestWhatIsAReturn(t *testing.T) {
	last := tallytest.Visit{Model: "Lark 7", Class: "phone", Opened: at(400), Faults: []string{"hinge"}}
	for _, tc := range []struct {
		name             string
		visits           []tallytest.Visit
		value            string
		repairs, returns int
	}{
		{"same component", []tallytest.Visit{repair("d", 0, "display", "original"), repair("d", 50, "display", "original")}, "original", 2, 1},
		{"another component is no return", []tallytest.Visit{repair("d", 0, "display", "original"), repair("d", 50, "battery", "pulled")}, "original", 1, 0},
		{"another device is no return", []tallytest.Visit{repair("d", 0, "display", "original"), repair("e", 50, "display", "pulled")}, "original", 1, 0},
		{"after the warranty days", []tallytest.Visit{repair("d", 0, "display", "original"), repair("d", 91, "display", "pulled")}, "original", 1, 0},
		{"the first repair's grade is what came back", []tallytest.Visit{repair("d", 0, "display", "refurbished"), repair("d", 10, "display", "original")}, "refurbished", 1, 1},
		{"and not the second's", []tallytest.Visit{repair("d", 0, "display", "refurbished"), repair("d", 10, "display", "original")}, "original", 1, 0},
	} {
		res, err := Compute(t.Context(), tallytest.Open(t, append(tc.visits, last), tally.Options{}), 90)
		if err != nil {
			t.Fatal(err)
		}
		got := schemas.Return{}
		for _, r := range res.Rows {
			if r.Component == "display" && r.By == ByGrade && r.Value == tc.value {
				got = r
			}
		}
		if got.Repairs != tc.repairs || got.Returns != tc.returns {
			t.Errorf("%s: %d of %d came back, want %d of %d", tc.name, got.Returns, got.Repairs, tc.returns, tc.repairs)
		}
	}
}

func TestDevicesWithoutSerialAreCountedAndLeftOut(t *testing.T) {
	res, err := Compute(t.Context(), tallytest.Open(t, []tallytest.Visit{
		repair("", 0, "display", "original"), repair("", 5, "display", "original"), repair("d", 9, "display", "original"),
	}, tally.Options{}), 90)
	if err != nil {
		t.Fatal(err)
	}
	if res.Fitted != 3 || res.WithoutDevice != 2 {
		t.Errorf("fitted %d, without a serial %d; want 3 and 2", res.Fitted, res.WithoutDevice)
	}
	if r := row(t, res.Rows, ByGrade, "original"); r.Repairs != 1 {
		t.Errorf("%d repairs followed, want 1", r.Repairs)
	}
}

// One visit that fitted a component twice is one repair; a value counts only where both lines tell the same.
func TestTwoPartsOfOneRepair(t *testing.T) {
	twice := repair("d", 0, "display", "original")
	twice.Parts = append(twice.Parts, tallytest.Part{Component: "display", Grade: "pulled", Supplier: "Partco", Lot: "Loriginal"})
	res, err := Compute(t.Context(), tallytest.Open(t, []tallytest.Visit{twice, repair("e", 3, "display", "original"), repair("e", 400, "display", "original")},
		tally.Options{}), 90)
	if err != nil {
		t.Fatal(err)
	}
	if r := row(t, res.Rows, ByGrade, "original"); r.Repairs != 2 {
		t.Errorf("%d repairs with the grade, want the two that fitted no other", r.Repairs)
	}
	if r := row(t, res.Rows, ByLot, "Loriginal"); r.Repairs != 3 {
		t.Errorf("%d repairs with the lot, want 3: two lines of one visit are one", r.Repairs)
	}
	for _, r := range res.Rows {
		if r.Value == "pulled" {
			t.Errorf("a row of a grade that no repair had alone: %+v", r)
		}
	}
	if res.Fitted != 3 {
		t.Errorf("%d visits fitted a part, want 3", res.Fitted)
	}
}
