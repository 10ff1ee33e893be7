package pairs

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/tally"
	"faultgrain/analysis/tally/tallytest"
	"faultgrain/schemas"
)

func at(day int) time.Time { return time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, day) }

func find(t *testing.T, rows []schemas.Pair, scope, unit, a, b string) schemas.Pair {
	t.Helper()
	for _, r := range rows {
		if r.Scope == scope && r.Unit == unit && r.ComponentA == a && r.ComponentB == b {
			return r
		}
	}
	t.Fatalf("no row for %s, %s, %s, %s", scope, unit, a, b)
	return schemas.Pair{}
}

func near(t *testing.T, what string, got schemas.Float, want, tol float64) {
	t.Helper()
	if !got.OK || math.Abs(got.V-want) > tol {
		t.Errorf("%s = %v, want %v", what, got, want)
	}
}

// repeat makes the visits of a 2x2 table on one model.
func tableVisits(model string, both, aOnly, bOnly, neither int, a, b string) []tallytest.Visit {
	var list []tallytest.Visit
	add := func(n int, faults ...string) {
		for range n {
			list = append(list, tallytest.Visit{Model: model, Opened: at(len(list) % 300), Faults: faults})
		}
	}
	add(both, a, b)
	add(aOnly, a)
	add(bOnly, b)
	add(neither, "housing", "liquid")
	return list
}

func TestVisitRows(t *testing.T) {
	// The exposure example of SciPy's documentation of scipy.stats.contingency.odds_ratio (published.md OR-2, confirmed).
	log := tallytest.Open(t, tableVisits("Corvo 3", 7, 15, 58, 472, "battery", "display"), tally.Options{})
	rows, err := Compute(t.Context(), log)
	if err != nil {
		t.Fatal(err)
	}
	r := find(t, rows, "Corvo 3", UnitVisit, "battery", "display")
	if r.N != 552 || r.Both != 7 || r.AOnly != 15 || r.BOnly != 58 || r.Neither != 472 {
		t.Errorf("table %+v, want 7, 15, 58, 472", r)
	}
	near(t, "b_given_a", r.BGivenA, 7.0/22, 1e-12)
	near(t, "a_given_b", r.AGivenB, 7.0/65, 1e-12)
	near(t, "expected", r.Expected, 22*65/552.0, 1e-12)
	near(t, "odds_ratio", r.OddsRatio, 3.7836687705553493, 1e-7)
	near(t, "odds_low", r.OddsLow, 1.2514829132266785, 1e-7)
	near(t, "odds_high", r.OddsHigh, 10.363493716701, 1e-6)
	for _, r := range rows {
		if r.ComponentA == "liquid" || r.ComponentB == "liquid" {
			t.Errorf("a cause makes a pair: %+v", r)
		}
	}
	all := find(t, rows, schemas.Any, UnitVisit, "battery", "display")
	if all.N != 552 || all.HomogeneityP.OK || !all.P.OK {
		t.Errorf("one model pooled: %+v; want its 552 visits, p and no homogeneity", all)
	}
}

func TestPooledRowsAreStratified(t *testing.T) {
	// Within each model the two are independent; added up they look associated, for both are frequent on one model.
	visits := append(tableVisits("Corvo 3", 64, 16, 16, 4, "battery", "display"), tableVisits("Corvo 4", 4, 16, 16, 64, "battery", "display")...)
	rows, err := Compute(t.Context(), tallytest.Open(t, visits, tally.Options{}))
	if err != nil {
		t.Fatal(err)
	}
	r := find(t, rows, schemas.Any, UnitVisit, "battery", "display")
	if r.N != 200 || r.Both != 68 {
		t.Errorf("%d of %d, want 68 of 200", r.Both, r.N)
	}
	near(t, "pooled odds ratio", r.OddsRatio, 1, 1e-12)
	near(t, "pooled p", r.P, 1, 1e-9)
	near(t, "expected", r.Expected, 68, 1e-9)
	near(t, "homogeneity_p", r.HomogeneityP, 1, 1e-9)
}

func TestDeviceWindows(t *testing.T) {
	log := tallytest.Open(t, []tallytest.Visit{
		{Model: "m", Device: "x", Opened: at(0), Faults: []string{"battery"}},
		{Model: "m", Device: "x", Opened: at(29), Faults: []string{"display"}},           // with the first
		{Model: "m", Device: "x", Opened: at(31), Faults: []string{"battery", "hinge"}},  // starts a window: 31 days after the first
		{Model: "m", Device: "x", Opened: at(60), Faults: []string{"hinge"}},             // with the third
		{Model: "m", Device: "x", Opened: at(61), Faults: []string{"display"}},           // 30 days after the third: alone
		{Model: "m", Device: "y", Opened: at(0), Faults: []string{"battery", "display"}}, // in once
		{Model: "m", Device: "y", Opened: at(99), Faults: []string{"hinge"}},             // long after: alone
		{Model: "m", Device: "z", Opened: at(5), Faults: []string{"liquid"}},             // diagnosed, no component
		{Model: "m", Device: "z", Opened: at(6), Unread: true},                           // not diagnosed
		{Model: "m", Opened: at(7), Faults: []string{"battery", "display"}},              // no serial
	}, tally.Options{})
	rows, err := Compute(t.Context(), log)
	if err != nil {
		t.Fatal(err)
	}
	// Windows: {battery, display}, {battery, hinge}, {display}, {battery, display}, {hinge}, {}.
	r := find(t, rows, "m", UnitDevice, "battery", "display")
	if r.N != 6 || r.Both != 2 || r.AOnly != 1 || r.BOnly != 1 || r.Neither != 2 {
		t.Errorf("device windows %+v, want 2, 1, 1, 2", r)
	}
	v := find(t, rows, "m", UnitVisit, "battery", "display")
	if v.N != 9 || v.Both != 2 || v.AOnly != 2 || v.BOnly != 2 {
		t.Errorf("visits %+v, want 2, 2, 2 of 9", v)
	}
}

func TestPlaceholderSerialsAreNoDevice(t *testing.T) {
	var visits []tallytest.Visit
	for i := range 21 {
		visits = append(visits, tallytest.Visit{Model: "m", Device: "0000", Opened: at(i), Faults: []string{[]string{"battery", "display"}[i%2]}})
	}
	log := tallytest.Open(t, visits, tally.Options{})
	rows, err := Compute(t.Context(), log)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows {
		if r.Unit == UnitDevice {
			t.Errorf("21 visits under one serial made a device window: %+v", r)
		}
	}
	if log.Totals.Placeholders != 21 || log.Totals.Devices != 0 {
		t.Errorf("totals %+v, want 21 placeholders and no device", log.Totals)
	}
}

// shopCounts simulates visits of several models: components fail independently, but for the pair 0 and 1 of
// model 0 whose odds ratio is odds, and a visit exists only when something failed.
func shopCounts(rng *rand.Rand, models, visits int, odds float64) Counts {
	components := []string{"c0", "c1", "c2", "c3", "c4", "c5", "c6", "c7"}
	c := NewCounts()
	for m := range models {
		model := string(rune('A' + m))
		chance := make([]float64, len(components))
		for i := range chance {
			chance[i] = 0.02 + 0.2*rng.Float64()
		}
		if m == 0 {
			chance[0], chance[1] = 0.25, 0.25
		}
		for c.N[model] < visits {
			var seen []string
			for i, name := range components {
				p := chance[i]
				if m == 0 && i == 1 && len(seen) == 1 {
					p = odds * p / (1 - p + odds*p)
				}
				if rng.Float64() < p {
					seen = append(seen, name)
				}
			}
			if len(seen) == 0 {
				continue
			}
			c.Add(model, seen)
		}
	}
	return c
}

func TestSelectionMakesNoPositivePairs(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	const shops = 60
	falseFirm := 0
	for range shops {
		rows, err := shopCounts(rng, 5, 150, 1).rows(UnitVisit, maxRows)
		if err != nil {
			t.Fatal(err)
		}
		if err := correct(rows); err != nil {
			t.Fatal(err)
		}
		for _, f := range Findings(rows, findings.Frame{}) {
			if f.Grade == schemas.Firm {
				falseFirm++
				break
			}
		}
	}
	// With nothing to find, a shop shows a false firm pair with chance 0.05 at most; 8 of 60 has chance 0.01.
	if falseFirm > 7 {
		t.Errorf("%d of %d shops with independent faults show a firm pair", falseFirm, shops)
	}
}

func TestTruePairIsFound(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 5))
	found := 0
	for range 40 {
		rows, err := shopCounts(rng, 5, 300, 10).rows(UnitVisit, maxRows)
		if err != nil {
			t.Fatal(err)
		}
		if err := correct(rows); err != nil {
			t.Fatal(err)
		}
		for _, f := range Findings(rows, findings.Frame{}) {
			if f.Grade == schemas.Firm && f.Subject.Model == "A" && f.Subject.Component == "c0" && f.Subject.ComponentB == "c1" {
				found++
			}
		}
	}
	if found < 30 {
		t.Errorf("an odds ratio of 10 on 300 visits found in %d of 40 shops", found)
	}
}

func TestFindings(t *testing.T) {
	visits := append(tableVisits("Corvo 3", 31, 21, 25, 423, "charge-port", "microphone"), tableVisits("Corvo 4", 3, 47, 50, 500, "charge-port", "microphone")...)
	log := tallytest.Open(t, visits, tally.Options{})
	rows, err := Compute(t.Context(), log)
	if err != nil {
		t.Fatal(err)
	}
	list := Findings(rows, findings.NewFrame(log, nil))
	if len(list) != 1 {
		t.Fatalf("%d findings, want one for Corvo 3 and none for all models, whose odds differ: %+v", len(list), list)
	}
	f := list[0]
	const want = "Corvo 3: charge port + microphone fail together: the microphone too in 31 of 52 visits with the charge port (60%, 95% 46 to 72%); without it in 6%: "
	if f.Grade != schemas.Firm || !strings.HasPrefix(f.Headline, want) {
		t.Errorf("got  %s\nwant %s...", f.Headline, want)
	}
	if !strings.Contains(f.Caution, "only because something failed") {
		t.Errorf("caution %q does not say what the log selects", f.Caution)
	}
}
