package stat

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Fleiss (1981), p. 139, R help page of prop.trend.test; Agresti (2002), table 3.7 (both
// from memory).
func TestCochranArmitagePublished(t *testing.T) {
	c := value(CochranArmitage([]int{83, 90, 129, 70}, []int{86, 93, 136, 82}, []float64{1, 2, 3, 4}))(t)
	agrees(t, "TREND-4", "trend chi2", c.Statistic*c.Statistic)
	agrees(t, "TREND-4", "trend p", c.P)
	c = value(CochranArmitage([]int{48, 38, 5, 1, 1}, []int{17114, 14502, 793, 127, 38}, []float64{0, 0.5, 1.5, 4, 7}))(t)
	agrees(t, "TREND-5", "Cochran-Armitage z2", c.Statistic*c.Statistic)
	if c.Statistic < 0 {
		t.Errorf("rising share, statistic %v", c.Statistic)
	}
}

func TestTrendProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(4, 24).Draw(t, "months")
		x, n := make([]int, k), make([]int, k)
		miss, score, shifted := make([]int, k), make([]float64, k), make([]float64, k)
		for i := range x {
			n[i] = rapid.IntRange(0, 80).Draw(t, "n")
			x[i] = rapid.IntRange(0, n[i]).Draw(t, "x")
			miss[i] = n[i] - x[i]
			score[i], shifted[i] = float64(i), 7-30*float64(i)
		}
		for name, f := range map[string]func(x, n []int, score []float64) (Test, error){"plain": CochranArmitage, "overdispersed": TrendOverdispersed} {
			a, errA := f(x, n, score)
			b, errB := f(miss, n, score)
			c, errC := f(x, n, shifted)
			if errA != nil {
				if errB == nil || errC == nil {
					t.Fatalf("%s: %v, %v, %v", name, errA, errB, errC)
				}
				return
			}
			if math.Abs(a.Statistic+b.Statistic) > 1e-7*(1+math.Abs(a.Statistic)) {
				t.Fatalf("%s: complement gives %v, not -%v", name, b.Statistic, a.Statistic)
			}
			if math.Abs(a.Statistic+c.Statistic) > 1e-7*(1+math.Abs(a.Statistic)) {
				t.Fatalf("%s: scores reversed and scaled give %v, not -%v", name, c.Statistic, a.Statistic)
			}
			if !(a.P > 0 && a.P <= 1) {
				t.Fatalf("%s: p %v", name, a.P)
			}
		}
	})
}

func TestTrendEdges(t *testing.T) {
	if _, err := CochranArmitage([]int{0, 0}, []int{0, 0}, []float64{0, 1}); !errors.Is(err, ErrNoData) {
		t.Errorf("no trial: %v", err)
	}
	if _, err := CochranArmitage([]int{0, 0}, []int{5, 5}, []float64{0, 1}); !errors.Is(err, ErrNoInformation) {
		t.Errorf("no event: %v", err)
	}
	if _, err := TrendOverdispersed([]int{1, 2, 3, 0}, []int{5, 5, 5, 0}, []float64{0, 1, 2, 3}); !errors.Is(err, ErrTooFew) {
		t.Errorf("three months: %v", err)
	}
	if _, err := CochranArmitage([]int{1}, []int{5, 5}, []float64{0, 1}); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("lengths: %v", err)
	}
}

// NIST/SEMATECH e-Handbook 6.3.3.2, 30 wafers of 50 chips: centre confirmed, limits from
// memory; the same counts with Laney's sigma R-only.
func TestPChartPublished(t *testing.T) {
	x := []int{12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6}
	n := make([]int, len(x))
	for i := range n {
		n[i] = 50
	}
	c := value(PChart(x, n))(t)
	agrees(t, "CHART-2", "centre", c.Centre)
	agrees(t, "CHART-2", "LCL", c.Points[0].Lo)
	agrees(t, "CHART-2", "UCL", c.Points[0].Hi)
	l := value(LaneyP(x, n))(t)
	agrees(t, "CHART-5", "sigma_z (MR/1.128) on CHART-2 data", l.SigmaZ)
	agrees(t, "CHART-5", "p-prime UCL", l.Points[29].Hi)
	if l.Points[0].Lo != 0 {
		t.Errorf("lower limit %v, want it cut at 0", l.Points[0].Lo)
	}
	// Two of the 30 lie above the upper limit (periods 15 and 23), none below.
	for i, p := range c.Points {
		if out := p.Value > p.Hi || p.Value < p.Lo; out != (i == 14 || i == 22) {
			t.Errorf("period %d outside: %v", i+1, out)
		}
	}
}

// c charts are u charts of exposure 1. NIST 6.3.3.1, 25 wafers (limits confirmed);
// Montgomery, circuit boards and computers (from memory).
func TestUChartPublished(t *testing.T) {
	for id, x := range map[string][]int{
		"CHART-1": {16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14, 16, 15, 13, 14, 16, 11, 20, 11, 19, 16, 31, 13},
		"CHART-3": {21, 24, 16, 12, 15, 5, 28, 20, 31, 25, 20, 24, 16, 19, 10, 17, 13, 22, 18, 39, 30, 24, 16, 19, 17, 15},
		"CHART-4": {10, 12, 8, 14, 10, 16, 11, 7, 10, 15, 9, 5, 7, 11, 12, 6, 8, 10, 7, 5},
	} {
		exposure := make([]float64, len(x))
		for i := range exposure {
			exposure[i] = 1
			if id == "CHART-4" {
				exposure[i] = 5
			}
		}
		c := value(UChart(x, exposure))(t)
		agrees(t, id, "centre", c.Centre)
		agrees(t, id, "LCL", c.Points[0].Lo)
		agrees(t, id, "UCL", c.Points[0].Hi)
	}
}

func TestChartSkipsEmptyPeriods(t *testing.T) {
	c := value(LaneyP([]int{3, 0, 5, 4}, []int{20, 0, 22, 25}))(t)
	if c.Points[1].Known || !c.Points[2].Known {
		t.Errorf("points %+v", c.Points)
	}
	d := value(LaneyP([]int{3, 5, 4}, []int{20, 22, 25}))(t)
	near(t, "sigma without the empty period", c.SigmaZ, d.SigmaZ, 1e-12)
	if _, err := LaneyP([]int{0}, []int{0}); !errors.Is(err, ErrNoData) {
		t.Errorf("no trial: %v", err)
	}
	if _, err := LaneyP([]int{1}, []int{9}); !errors.Is(err, ErrTooFew) {
		t.Errorf("one period: %v", err)
	}
}
