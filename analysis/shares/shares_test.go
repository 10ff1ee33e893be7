package shares

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/analysis/tally/tallytest"
	"faultgrain/schemas"
)

// visits makes n visits of a model, x of them with the component and the others with another one.
func visits(class, model string, n, x int, component, other string) []tallytest.Visit {
	var list []tallytest.Visit
	for i := range n {
		v := tallytest.Visit{Class: class, Maker: "Corvo", Model: model, Opened: time.Date(2026, time.Month(1+i%3), 1+i%28, 9, 0, 0, 0, time.UTC)}
		v.Faults = []string{other}
		if i < x {
			v.Faults = []string{component}
		}
		list = append(list, v)
	}
	return list
}

func find(t *testing.T, rows []schemas.Share, model, component string) schemas.Share {
	t.Helper()
	for _, r := range rows {
		if r.Model == model && r.Component == component {
			return r
		}
	}
	t.Fatalf("no row for %s, %s", model, component)
	return schemas.Share{}
}

func near(t *testing.T, what string, got schemas.Float, want, tol float64) {
	t.Helper()
	if !got.OK || math.Abs(got.V-want) > tol {
		t.Errorf("%s = %v, want %v", what, got, want)
	}
}

func TestComputeCountsAndCompares(t *testing.T) {
	log := tallytest.Open(t, append(append(append(
		visits("phone", "Corvo 3", 263, 81, "battery", "display"),
		visits("phone", "Corvo 4", 148, 15, "battery", "display")...),
		visits("tablet", "Corvo T", 10, 10, "battery", "display")...),
		tallytest.Visit{Class: "phone", Model: "Corvo 3", Opened: time.Date(2026, 1, 9, 9, 0, 0, 0, time.UTC), Unread: true},
		tallytest.Visit{Class: "phone", Model: "Corvo 4", Opened: time.Date(2026, 1, 9, 9, 0, 0, 0, time.UTC), Outcome: schemas.NoFault, Unread: true},
		tallytest.Visit{Class: "phone", Model: "Corvo 4", Opened: time.Date(2026, 1, 9, 9, 0, 0, 0, time.UTC), Faults: []string{"liquid"}},
		tallytest.Visit{Class: "phone", Model: "Corvo 4", Opened: time.Date(2026, 1, 9, 9, 0, 0, 0, time.UTC)},
	), tally.Options{})
	rows, err := Compute(t.Context(), log, nil)
	if err != nil {
		t.Fatal(err)
	}
	r := find(t, rows, "Corvo 3", "battery")
	if r.Faults != 81 || r.Visits != 263 || r.Unread != 1 || r.ClassFaults != 15 || r.ClassVisits != 150 {
		t.Errorf("counts %d of %d, %d unread, class %d of %d; want 81 of 263, 1, 15 of 150", r.Faults, r.Visits, r.Unread, r.ClassFaults, r.ClassVisits)
	}
	// Wilson limits of 81/263: Newcombe 1998, Stat. Med. 17, 857-872, table I, method 3 (confirmed in published.md).
	near(t, "share_low", r.ShareLow, 0.2553, 5e-5)
	near(t, "share_high", r.ShareHigh, 0.3662, 5e-5)
	near(t, "share", r.Share, 81.0/263, 1e-12)
	near(t, "class_share", r.ClassShare, 0.1, 1e-12)
	near(t, "ratio", r.Ratio, 81.0/263/0.1, 1e-12)
	near(t, "unread_low", r.UnreadLow, 81.0/264, 1e-12)
	near(t, "unread_high", r.UnreadHigh, 82.0/264, 1e-12)
	if !(r.ShrunkLow.V < r.Shrunk.V && r.Shrunk.V < r.ShrunkHigh.V && r.Shrunk.V < r.Share.V) {
		t.Errorf("shrunk %v in %v to %v, want it between its limits and pulled to the class", r.Shrunk, r.ShrunkLow, r.ShrunkHigh)
	}
	if alone := find(t, rows, "Corvo T", "battery"); alone.ClassShare.OK || alone.P.OK || alone.Ratio.OK {
		t.Errorf("the only model of its class has nothing to compare with, got %+v", alone)
	}
	cause := find(t, rows, "Corvo 4", "liquid")
	if cause.Faults != 1 || cause.Visits != 150 || cause.P.OK || cause.Q.OK {
		t.Errorf("cause row %+v; want 1 of 150 without p and q", cause)
	}
	if zero := find(t, rows, "Corvo 3", "liquid"); zero.Faults != 0 {
		t.Errorf("row of what the model does not show: %+v", zero)
	}
}

func TestQIsBenjaminiHochbergOverTheTable(t *testing.T) {
	var list []tallytest.Visit
	for i := range 6 {
		list = append(list, visits("phone", fmt.Sprintf("Corvo %d", i), 20+7*i, 2+i*i%9, "battery", "hinge")...)
	}
	rows, err := Compute(t.Context(), tallytest.Open(t, list, tally.Options{}), nil)
	if err != nil {
		t.Fatal(err)
	}
	var p []float64
	for _, r := range rows {
		if r.P.OK != r.Q.OK {
			t.Fatalf("%s %s has p %v and q %v", r.Model, r.Component, r.P, r.Q)
		}
		if r.P.OK {
			p = append(p, r.P.V)
		}
	}
	q, err := stat.BenjaminiHochberg(p)
	if err != nil {
		t.Fatal(err)
	}
	if len(p) != 12 {
		t.Fatalf("%d tests, want 6 models x 2 components", len(p))
	}
	for i, r := range rows {
		near(t, r.Model+" "+r.Component+" q", r.Q, q[i], 1e-15)
	}
}

func TestFamilyIsBoundedByVisitsAlone(t *testing.T) {
	var models []ModelCount
	var faults []FaultCount
	for i := range 30 {
		m := fmt.Sprintf("m%02d", i)
		models = append(models, ModelCount{Class: "phone", Model: m, Diagnosed: 1 + i})
		faults = append(faults, FaultCount{Model: m, Component: fmt.Sprintf("c%d", i%5), Faults: 1})
	}
	rows, err := newCube(models, faults, 100).rows()
	if err != nil {
		t.Fatal(err)
	}
	tested := 0
	for _, r := range rows {
		if r.P.OK {
			tested++
			if r.Visits <= 10 {
				t.Fatalf("%s with %d visits is tested; 20 models x 5 components fill the table", r.Model, r.Visits)
			}
		} else if r.Faults == 0 {
			t.Fatalf("%s has an untested row without a fault", r.Model)
		}
	}
	if tested != 100 || len(rows) != 110 {
		t.Errorf("%d tested of %d rows, want 100 of 110", tested, len(rows))
	}
}

func TestFindings(t *testing.T) {
	log := tallytest.Open(t, append(visits("phone", "Corvo 3", 61, 14, "battery", "display"), visits("phone", "Corvo 4", 500, 30, "battery", "display")...), tally.Options{})
	rows, err := Compute(t.Context(), log, nil)
	if err != nil {
		t.Fatal(err)
	}
	list := Findings(rows, findings.NewFrame(log, nil))
	if len(list) != 1 {
		t.Fatalf("%d findings, want the battery of Corvo 3: %+v", len(list), list)
	}
	want := "Corvo 3: battery in 14 of 61 diagnosed visits (23%, 95% 14 to 35%); other phones 6%: 3.8 times as often (2.1 to 6.6), firm."
	if f := list[0]; f.Headline != want || f.Grade != schemas.Firm {
		t.Errorf("got  %s\nwant %s", f.Headline, want)
	}
	if !strings.Contains(list[0].Caution, "Lithium") {
		t.Errorf("battery finding without its caution: %q", list[0].Caution)
	}
}

func TestThinFindingsSayHowMuchIsMissing(t *testing.T) {
	rows, err := newCube(
		[]ModelCount{{Class: "phone", Model: "Corvo 3", Diagnosed: 45}, {Class: "phone", Model: "Corvo 4", Diagnosed: 1000}},
		[]FaultCount{{Model: "Corvo 3", Component: "hinge", Faults: 3}, {Model: "Corvo 4", Component: "hinge", Faults: 22}}, maxRows).rows()
	if err != nil {
		t.Fatal(err)
	}
	list := Findings(rows, findings.Frame{})
	if len(list) != 1 || list[0].Grade != schemas.Thin || !strings.Contains(list[0].Headline, "3.0 times as often") ||
		!strings.HasSuffix(list[0].Headline, "more visits like these would settle it.") {
		t.Fatalf("findings %+v, want a thin one that says how many more visits would settle it", list)
	}
	more := int(list[0].Numbers["more_visits"].V)
	for _, tc := range []struct {
		n       int
		settled bool
	}{{45 + more - 1, false}, {45 + more, true}} {
		score, err := stat.RiskRatioScore(int(math.Round(float64(tc.n)/15)), tc.n, 22, 1000, 0.95)
		if err != nil || (score.Lo > 1) != tc.settled {
			t.Errorf("at %d visits the lower limit is %v, %v; want it above 1: %v", tc.n, score.Lo, err, tc.settled)
		}
	}
}

func TestFleetRates(t *testing.T) {
	log := tallytest.Open(t, visits("phone", "Corvo 3", 60, 30, "battery", "display"), tally.Options{})
	path := filepath.Join(t.TempDir(), "fleet.csv")
	write := func(text string) {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write("units,model,month\n1000,corvo  3,2026-01\n2000,Corvo 3,2026-02\n")
	fleet, err := LoadFleet(path, []string{"Corvo 3"})
	if err != nil {
		t.Fatal(err)
	}
	rows, err := Compute(t.Context(), log, fleet)
	if err != nil {
		t.Fatal(err)
	}
	// Visits go round January, February, March: 20 of the 30 batteries fall into the fleet's two months.
	r := find(t, rows, "Corvo 3", "battery")
	near(t, "device_months", r.Units, 3000, 0)
	near(t, "rate", r.Rate, 20.0/3, 1e-12)
	// Exact limits of a Poisson count of 20 are 12.217 and 30.888 (Garwood 1936; Ulm 1990; from memory).
	near(t, "rate_low", r.RateLow, 12.217/3, 5e-4)
	near(t, "rate_high", r.RateHigh, 30.888/3, 5e-4)

	for text, want := range map[string]string{
		"model,month,units\nCorvo 33,2026-01,5\n":                   `fleet.csv:2: column "model": found "Corvo 33", no visit of that model is in the log; did you mean "Corvo 3"?`,
		"model,month,units\nCorvo 3,January,5\n":                    `fleet.csv:2: column "month": found "January"`,
		"model,month,units\nCorvo 3,2026-01,-5\n":                   `fleet.csv:2: column "units": found "-5"`,
		"model,month,units\nCorvo 3,2026-01,NaN\n":                  `column "units": found "NaN"`,
		"model,month,units\nCorvo 3,2026-01,5\ncorvo 3,2026-01,6\n": "given twice",
		"model,when,units\n":                                        "want model, month, units",
		"":                                                          "empty file",
	} {
		write(text)
		if _, err := LoadFleet(path, []string{"Corvo 3"}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

// Models with the same counts share their figures, and nothing else.
func TestEqualCountsKeepTheirNames(t *testing.T) {
	models := []ModelCount{
		{Class: "phone", Maker: "Corvo", Model: "Corvo 3", Diagnosed: 20},
		{Class: "phone", Maker: "Tindra", Family: "One", Model: "Tindra 1", Diagnosed: 20, Unread: 5},
		{Class: "phone", Maker: "Tindra", Family: "One", Model: "Tindra 2", Diagnosed: 30},
	}
	var faults []FaultCount
	for _, m := range models {
		faults = append(faults, FaultCount{Model: m.Model, Component: "hinge", Faults: 4})
	}
	rows, err := FromCounts(models, faults)
	if err != nil || len(rows) != len(models) {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for i, m := range models {
		if r := rows[i]; r.Maker != m.Maker || r.Family != m.Family || r.Model != m.Model || r.Unread != m.Unread || r.Visits != m.Diagnosed || r.ClassVisits != 70-m.Diagnosed {
			t.Errorf("row %+v of %+v", r, m)
		}
		near(t, m.Model+" unread_low", rows[i].UnreadLow, 4/float64(m.Diagnosed+m.Unread), 1e-15)
		near(t, m.Model+" unread_high", rows[i].UnreadHigh, float64(4+m.Unread)/float64(m.Diagnosed+m.Unread), 1e-15)
	}
	if a, b := rows[0], rows[1]; a.Shrunk != b.Shrunk || a.P != b.P || a.RatioLow != b.RatioLow {
		t.Errorf("equal counts, but %+v and %+v", a, b)
	}
	if a, b := rows[0], rows[2]; a.Shrunk == b.Shrunk || a.P == b.P {
		t.Errorf("other counts, but %+v and %+v", a, b)
	}
}
