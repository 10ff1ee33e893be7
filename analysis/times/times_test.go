package times

import (
	"bufio"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/tally"
	"faultgrain/analysis/tally/tallytest"
	"faultgrain/schemas"
)

func at(day int) time.Time { return time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, day) }

func find(t *testing.T, rows []schemas.Time, model, a, b string) schemas.Time {
	t.Helper()
	for _, r := range rows {
		if r.Model == model && r.Component == a && r.ComponentB == b {
			return r
		}
	}
	t.Fatalf("no row for %s, %s, %s", model, a, b)
	return schemas.Time{}
}

func near(t *testing.T, what string, got schemas.Float, want, tol float64) {
	t.Helper()
	if !got.OK || math.Abs(got.V-want) > tol {
		t.Errorf("%s = %v, want %v", what, got, want)
	}
}

func job(model string, minutes float64, faults ...string) tallytest.Visit {
	return tallytest.Visit{Model: model, Opened: at(0), Ready: at(1), Outcome: schemas.Repaired, Minutes: schemas.Known(minutes), Faults: faults}
}

// reference reads one value of the R table in analysis/stat/testdata.
func reference(t *testing.T, id, quantity string) float64 {
	t.Helper()
	f, err := os.Open("../stat/testdata/reference.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for s := bufio.NewScanner(f); s.Scan(); {
		if rest, ok := strings.CutPrefix(s.Text(), id+","+quantity+","); ok {
			v, err := strconv.ParseFloat(rest, 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
	}
	t.Fatalf("no reference value %s, %s", id, quantity)
	return 0
}

func TestBenchColumns(t *testing.T) {
	// 46 active repair times in hours (Von Alven 1964, Reliability Engineering; the data confirmed, what is computed
	// from them R only: published.md LOGN-1).
	hours := []float64{0.2, 0.3, 0.5, 0.5, 0.5, 0.5, 0.6, 0.6, 0.7, 0.7, 0.7, 0.8, 0.8, 1.0, 1.0, 1.0, 1.0, 1.1, 1.3, 1.5, 1.5, 1.5, 1.5,
		2.0, 2.0, 2.2, 2.5, 2.7, 3.0, 3.0, 3.3, 3.3, 4.0, 4.0, 4.5, 4.7, 5.0, 5.4, 5.4, 7.0, 7.5, 8.8, 9.0, 10.3, 22.0, 24.5}
	var visits []tallytest.Visit
	for _, h := range hours {
		visits = append(visits, job("Corvo 3", h, "display"))
	}
	unrepaired := job("Corvo 3", 900, "display")
	unrepaired.Outcome = schemas.Declined
	visits = append(visits, unrepaired, job("Corvo 3", 55, "display", "battery", "fan"))
	rows, err := Compute(t.Context(), tallytest.Open(t, visits, tally.Options{}))
	if err != nil {
		t.Fatal(err)
	}
	for _, model := range []string{"Corvo 3", schemas.Any} {
		r := find(t, rows, model, "display", "")
		if r.Jobs != 46 {
			t.Errorf("%s: %d jobs, want the 46 repaired ones with that fault alone", model, r.Jobs)
		}
		near(t, "mttr", r.MTTR, reference(t, "LOGN-1", "lognormal mean"), 1e-8)
		near(t, "mttr_low", r.MTTRLow, reference(t, "LOGN-1", "Cox mean lower"), 1e-8)
		near(t, "mttr_high", r.MTTRHigh, reference(t, "LOGN-1", "Cox mean upper"), 1e-8)
		near(t, "gsd", r.GSD, reference(t, "LOGN-1", "geometric sd"), 1e-8)
		near(t, "median", r.Median, 1.75, 1e-12) // the mean of the two middle values, 1.5 and 2.0
		near(t, "p90", r.P90, 8.15, 1e-12)       // between the 41st and 42nd, 7.5 and 8.8, at 0.5
	}
}

func TestTurnaroundCountsOpenJobs(t *testing.T) {
	// Ready after 1, 2, 3, 4 and 5 days; two more are open since 10 days. Without the open ones the median would be
	// day 3; with them the curve goes 6/7, 5/7, 4/7, 3/7 and passes 1/2 on day 4.
	var visits []tallytest.Visit
	for d := 1; d <= 5; d++ {
		visits = append(visits, tallytest.Visit{Model: "m", Opened: at(0), Ready: at(d), Faults: []string{"fan"}, Outcome: schemas.Repaired})
	}
	for range 2 {
		visits = append(visits, tallytest.Visit{Model: "m", Opened: at(0), Faults: []string{"fan"}, Outcome: schemas.Open})
	}
	visits = append(visits,
		tallytest.Visit{Model: "m", Opened: at(0), Faults: []string{"fan"}, Outcome: schemas.Repaired}, // closed, no ready date: unknown
		tallytest.Visit{Model: "m", Opened: at(10), Faults: []string{"hinge"}, Outcome: schemas.Open})
	rows, err := Compute(t.Context(), tallytest.Open(t, visits, tally.Options{}))
	if err != nil {
		t.Fatal(err)
	}
	r := find(t, rows, "m", "fan", "")
	if r.TurnaroundJobs != 5 || r.TurnaroundOpen != 2 {
		t.Errorf("%d ready and %d open, want 5 and 2", r.TurnaroundJobs, r.TurnaroundOpen)
	}
	near(t, "median", r.TurnaroundMedianHours, 4*24, 1e-9)
	if h := find(t, rows, "m", "hinge", ""); h.TurnaroundMedianHours.OK || h.TurnaroundOpen != 1 || h.Jobs != 0 || h.MTTR.OK {
		t.Errorf("only open jobs: %+v, want no median and no minutes", h)
	}
}

func TestLogWithoutReadyDatesHasNoTurnaround(t *testing.T) {
	rows, err := Compute(t.Context(), tallytest.Open(t, []tallytest.Visit{{Model: "m", Opened: at(0), Faults: []string{"fan"}}}, tally.Options{}))
	if err != nil || len(rows) != 0 {
		t.Errorf("%+v, %v; want no row: the log tells no times at all", rows, err)
	}
}

// around makes n jobs whose minutes vary around a mean.
func around(rng *rand.Rand, n int, model string, mean, sd float64, faults ...string) []tallytest.Visit {
	var list []tallytest.Visit
	s := math.Sqrt(math.Log(1 + sd*sd/mean/mean))
	for range n {
		list = append(list, job(model, math.Round(10*mean*math.Exp(s*rng.NormFloat64()-s*s/2))/10, faults...))
	}
	return list
}

func TestTogetherSaves(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var visits []tallytest.Visit
	// On both models 12 minutes are saved. The slow model has most of the single jobs, the quick one most of the
	// pairs: adding up all models would show a saving of about 40.
	visits = append(visits, around(rng, 60, "Slow", 60, 10, "display")...)
	visits = append(visits, around(rng, 60, "Slow", 50, 10, "battery")...)
	visits = append(visits, around(rng, 20, "Slow", 98, 10, "display", "battery")...)
	visits = append(visits, around(rng, 20, "Quick", 30, 5, "display")...)
	visits = append(visits, around(rng, 20, "Quick", 25, 5, "battery")...)
	visits = append(visits, around(rng, 80, "Quick", 43, 5, "display", "battery")...)
	log := tallytest.Open(t, visits, tally.Options{})
	rows, err := Compute(t.Context(), log)
	if err != nil {
		t.Fatal(err)
	}
	for _, model := range []string{"Slow", "Quick", schemas.Any} {
		r := find(t, rows, model, "battery", "display")
		if !(r.SavesLow.V < 12 && 12 < r.SavesHigh.V && r.SavesLow.V > 0) {
			t.Errorf("%s: saves %v (%v to %v), want 12 inside and 0 outside", model, r.TogetherSaves, r.SavesLow, r.SavesHigh)
		}
	}
	list := Findings(rows, findings.NewFrame(log, nil))
	if len(list) == 0 || list[0].Grade != schemas.Firm || !strings.Contains(list[0].Headline, "in one opening") {
		t.Fatalf("findings %+v, want the saving", list)
	}
	for _, f := range list {
		if f.Subject.Model == "" {
			t.Errorf("%s is told for all models though a model has it firmly", f.Headline)
		}
	}
	if single := find(t, rows, "Slow", "battery", ""); single.TogetherSaves.OK {
		t.Error("a single component saves nothing")
	}
}

func TestQuantile(t *testing.T) {
	// R: quantile(c(1,2,2,5,9), c(0, .1, .5, .9, 1)) gives 1.0 1.4 2.0 7.4 9.0 (type 7; by hand).
	s := sample{values: []float64{9, 2, 1, 5}, counts: []int{1, 2, 1, 1}, n: 5}
	for p, want := range map[float64]float64{0: 1, 0.1: 1.4, 0.5: 2, 0.9: 7.4, 1: 9} {
		if got := s.quantile(p); math.Abs(got-want) > 1e-12 {
			t.Errorf("quantile(%v) = %v, want %v", p, got, want)
		}
	}
}
