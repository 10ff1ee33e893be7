package stat

import (
	"errors"
	"fmt"
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
	without := value(PChart(leaveOut(x, 14, 22), n[:28]))(t)
	agrees(t, "CHART-2", "revised (drop 15 and 23) centre", without.Centre)
	agrees(t, "CHART-2", "revised (drop 15 and 23) LCL", without.Points[0].Lo)
	agrees(t, "CHART-2", "revised (drop 15 and 23) UCL", without.Points[0].Hi)
	l := value(LaneyP(x, n))(t)
	agrees(t, "CHART-5", "sigma_z (MR/1.128) on CHART-2 data", l.SigmaZ)
	agrees(t, "CHART-5", "p-prime UCL", l.Points[29].Hi)
	agrees(t, "CHART-5", "p-prime LCL", 2*l.Centre-l.Points[29].Hi) // before it is cut at 0
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
		if id == "CHART-3" {
			without := value(UChart(leaveOut(x, 5, 19), exposure[:24]))(t)
			agrees(t, id, "revised (drop 6 and 20) centre", without.Centre)
			agrees(t, id, "revised (drop 6 and 20) LCL", without.Points[0].Lo)
			agrees(t, id, "revised (drop 6 and 20) UCL", without.Points[0].Hi)
		}
	}
}

func leaveOut(x []int, i, j int) []int {
	var out []int
	for at, v := range x {
		if at != i && at != j {
			out = append(out, v)
		}
	}
	return out
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

// NIST/SEMATECH e-Handbook 8.2.3.4 (from memory), a repairable system seen for 1500 hours.
func TestEventTrendsPublished(t *testing.T) {
	times := []float64{5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478}
	l := value(Laplace(times, 1500))(t)
	agrees(t, "TREND-1", "Laplace z", l.Statistic)
	agrees(t, "TREND-1", "Laplace two-sided p", l.P)
	m := value(MilHandbook(times, 1500))(t)
	agrees(t, "TREND-1", "MIL-HDBK chi2", m.Statistic)
	agrees(t, "TREND-1", "chi2 df", float64(m.DF))
	agrees(t, "TREND-1", "upper-tail p", m.Improving)
	near(t, "two-sided p", m.P, 2*m.Improving, 1e-12)
}

func TestEventTrendEdges(t *testing.T) {
	if _, err := Laplace(nil, 10); !errors.Is(err, ErrNoData) {
		t.Errorf("no event: %v", err)
	}
	if _, err := Laplace([]float64{11}, 10); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("event after the end: %v", err)
	}
	if _, err := MilHandbook([]float64{0, 5}, 10); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("event at 0: %v", err)
	}
	// Seen backwards a rise is a fall, and hours or days make no difference.
	rapid.Check(t, func(t *rapid.T) {
		times := rapid.SliceOfN(rapid.Float64Range(0.001, 0.999), 1, 30).Draw(t, "times")
		back, scaled := make([]float64, len(times)), make([]float64, len(times))
		for i, v := range times {
			back[i], scaled[i] = 1-v, 24*v
		}
		a, errA := Laplace(times, 1)
		b, errB := Laplace(back, 1)
		c, errC := Laplace(scaled, 24)
		if errA != nil || errB != nil || errC != nil || math.Abs(a.Statistic+b.Statistic) > 1e-9 || math.Abs(a.Statistic-c.Statistic) > 1e-9 {
			t.Fatalf("%+v, backwards %+v, scaled %+v", a, b, c)
		}
	})
}

// Holy Cross course page (confirmed); Gilbert (1987), table A18 (from memory).
func TestMannKendallPublished(t *testing.T) {
	m := value(MannKendall([]float64{12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7}))(t)
	agrees(t, "TREND-6", "S", float64(m.S))
	agrees(t, "TREND-6", "Var(S)", m.Variance)
	agrees(t, "TREND-6", "Z", m.Z)
	agrees(t, "TREND-6", "one-sided p", normalCDF(-m.Z))
	agrees(t, "TREND-6", "two-sided p", normalTwoSided(m.Z))
	// The exact p of the same series is between that of 54 and 56 falls fewer than rises
	// without the tie, by R's recursion (R-only).
	less, more := value(checks())(t)[checkKey{"MK-1", "P(S>=53) n=14"}], value(checks())(t)[checkKey{"MK-1", "P(S>=55) n=14"}]
	if !m.Exact || m.P > 2*less.r || m.P < 2*more.r {
		t.Errorf("exact p %v, want %v to %v", m.P, 2*more.r, 2*less.r)
	}
	agrees(t, "MK-1", "P(S>=53) n=14", value(MannKendall([]float64{6, 5, 4, 3, 2, 1, 8, 7, 9, 10, 11, 14, 13, 12}))(t).Rising)
	agrees(t, "MK-1", "P(S>=55) n=14", value(MannKendall([]float64{6, 5, 4, 3, 2, 1, 7, 8, 9, 10, 11, 14, 13, 12}))(t).Rising)
	agrees(t, "TREND-7", "P(S>=4) n=4", value(MannKendall([]float64{1, 2, 4, 3}))(t).Rising)
	agrees(t, "TREND-7", "P(S>=6) n=5", value(MannKendall([]float64{2, 1, 4, 3, 5}))(t).Rising)
	agrees(t, "TREND-7", "P(S>=21) n=10", value(MannKendall([]float64{5, 4, 2, 1, 3, 8, 9, 6, 7, 10}))(t).Rising)
}

// Every order of seven values with two groups of ties, listed in R (R-only).
func TestMannKendallTies(t *testing.T) {
	for s, series := range map[int][]float64{
		5:  {2, 3, 1, 1, 4, 3, 3},
		9:  {2, 1, 1, 3, 4, 3, 3},
		15: {1, 2, 1, 3, 3, 3, 4},
	} {
		m := value(MannKendall(series))(t)
		if m.S != s {
			t.Errorf("%v: S %d, want %d", series, m.S, s)
			continue
		}
		agrees(t, "MK-1", fmt.Sprintf("tied P(S>=%d)", s), m.Rising)
	}
}

func TestMannKendallProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		series := rapid.SliceOfN(rapid.IntRange(0, 12), 3, 60).Draw(t, "series")
		up, down := make([]float64, len(series)), make([]float64, len(series))
		for i, v := range series {
			up[i], down[i] = math.Exp(float64(v)), -float64(v)
		}
		a, errA := MannKendall(up)
		b, errB := MannKendall(down)
		if errA != nil || errB != nil {
			if errors.Is(errA, ErrNoInformation) && errors.Is(errB, ErrNoInformation) {
				return
			}
			t.Fatal(errA, errB)
		}
		if a.S != -b.S || math.Abs(a.P-b.P) > 1e-10 || !(a.P > 0 && a.P <= 1) {
			t.Fatalf("%+v, turned over %+v", a, b)
		}
		if a.Exact && len(series) >= 20 && math.Abs(a.P-normalTwoSided(a.Z)) > 0.03 {
			t.Fatalf("exact %v far from normal %v", a.P, normalTwoSided(a.Z))
		}
	})
}

func TestTrendsTogether(t *testing.T) {
	// By hand: trigamma(1) is pi^2/6, and trigamma(x) falls to 1/x + 1/(2x^2) + ...
	near(t, "inverse at pi^2/6", trigammaInverse(math.Pi*math.Pi/6), 1, 1e-9)
	near(t, "inverse far out", trigammaInverse(1/1000.0+1/2e6+1/6e9), 1000, 1e-6)

	months := func(x ...int) CountSeries {
		s := CountSeries{X: x, N: make([]int, len(x)), Score: make([]float64, len(x))}
		for i := range x {
			s.N[i], s.Score[i] = 200, float64(i)
		}
		return s
	}
	// Too few series to lend: each is as if alone.
	list := []CountSeries{months(10, 12, 9, 14, 11, 15), months(3, 8, 2, 9, 4, 7), months(0, 0, 0, 0, 0, 0)}
	results, prior, err := TrendsTogether(list)
	if err != nil || prior.DF != 0 {
		t.Fatalf("prior %+v, %v", prior, err)
	}
	for i := range 2 {
		if alone := value(TrendOverdispersed(list[i].X, list[i].N, list[i].Score))(t); results[i].Test != alone {
			t.Errorf("series %d: %+v, alone %+v", i, results[i], alone)
		}
	}
	if !errors.Is(results[2].Err, ErrNoInformation) {
		t.Errorf("no event: %v", results[2].Err)
	}
	if _, _, err := TrendsTogether([]CountSeries{{X: []int{5}, N: []int{4}, Score: []float64{0}}}); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("5 of 4: %v", err)
	}
}

// Smyth (2004): variances s2 ~ scale * F(df, DF) give back scale and DF. The F values are
// quantiles at even steps, so nothing is random.
func TestFitScalesRecovers(t *testing.T) {
	const steps, df = 2000, 10.0
	for _, want := range []ScalePrior{{Scale: 1.8, DF: 12}, {Scale: 1, DF: 4}} {
		scales, dfs := make([]float64, steps), make([]float64, steps)
		for i := range scales {
			x := value(betaQuantile((float64(i)+0.5)/steps, df/2, want.DF/2))(t)
			scales[i] = want.Scale * x / (1 - x) * want.DF / df
			dfs[i] = df
		}
		got := fitScales(scales, dfs)
		near(t, "scale", got.Scale, want.Scale, 0.01)
		near(t, "degrees of freedom", got.DF, want.DF, 0.03)
	}
}
