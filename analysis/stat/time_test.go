package stat

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Von Alven (1964), 46 active repair times in hours, as in Chhikara and Folks (1977).
func repairTimes() []float64 {
	return []float64{.2, .3, .5, .5, .5, .5, .6, .6, .7, .7, .7, .8, .8, 1, 1, 1, 1, 1.1, 1.3, 1.5, 1.5, 1.5, 1.5, 2, 2, 2.2, 2.5, 2.7,
		3, 3, 3.3, 3.3, 4, 4, 4.5, 4.7, 5, 5.4, 5.4, 7, 7.5, 8.8, 9, 10.3, 22, 24.5}
}

// Values confirmed, outputs R-only; the handbook's variant of the set (one 5.4 read as 5.5),
// MIL-HDBK-338B 5.6.2.1, from memory; Olsson (2005), summary inputs, R-only.
func TestLognormalPublished(t *testing.T) {
	f := value(FitLognormal(repairTimes()))(t)
	agrees(t, "LOGN-1", "n", float64(f.N))
	agrees(t, "LOGN-1", "mean log", f.MeanLog)
	agrees(t, "LOGN-1", "sd log (n-1)", f.SDLog)
	agrees(t, "LOGN-1", "lognormal mean", f.Mean())
	agrees(t, "LOGN-1", "median", value(f.Quantile(0.5))(t))
	agrees(t, "LOGN-1", "95th percentile (exact z)", value(f.Quantile(0.95))(t))
	agrees(t, "LOGN-1", "geometric sd", f.GSD())
	agrees(t, "LOGN-1", "sample median", value(SampleQuantile(repairTimes(), 0.5))(t))
	checkEstimate(t, "LOGN-1", "Cox mean", value(f.MeanCox(0.95))(t))
	checkEstimate(t, "LOGN-1", "modified Cox (t) mean", value(f.MeanCoxModified(0.95))(t))

	handbook := repairTimes()
	handbook[38] = 5.5
	h := value(FitLognormal(handbook))(t)
	agrees(t, "LOGN-4", "mean log", h.MeanLog)
	agrees(t, "LOGN-4", "sd log (n-1)", h.SDLog)
	agrees(t, "LOGN-4", "lognormal mean", h.Mean())
	agrees(t, "LOGN-4", "median", value(h.Quantile(0.5))(t))
	agrees(t, "LOGN-4", "95th percentile (z=1.645)", value(h.Quantile(normalCDF(1.645)))(t))

	o := Lognormal{N: 40, MeanLog: 5.127, SDLog: math.Sqrt(1.009)}
	checkEstimate(t, "LOGN-3", "n=40 5.127 1.009 Cox", value(o.MeanCox(0.95))(t))
	checkEstimate(t, "LOGN-3", "n=40 5.127 1.009 modified Cox", value(o.MeanCoxModified(0.95))(t))
	m := value(o.MedianLimits(0.95))(t)
	agrees(t, "LOGN-3", "n=40 5.127 1.009 naive exp(mean) CI lower", m.Lo)
	agrees(t, "LOGN-3", "n=40 5.127 1.009 naive exp(mean) CI upper", m.Hi)
}

// Zou, Huo and Taleban (2009): R-only.
func TestLognormalMeanZou(t *testing.T) {
	f := value(FitLognormal(repairTimes()))(t)
	checkEstimate(t, "LOGN-5", "46 repair times Zou", value(f.MeanZou(0.95))(t))
	small := Lognormal{N: 5, MeanLog: 3.4, SDLog: 0.6}
	checkEstimate(t, "LOGN-5", "n=5 3.4 0.36 Zou", value(small.MeanZou(0.95))(t))
	// A difference with itself is 0, with limits as far below as above.
	d := value(LognormalMeanDifference(f, f, 0.95))(t)
	if d.Value != 0 || math.Abs(d.Lo+d.Hi) > 1e-12 || !(d.Hi > 0) {
		t.Errorf("difference with itself: %+v", d)
	}
	if _, err := (Lognormal{N: 2, SDLog: 0.3}).MeanZou(0.95); !errors.Is(err, ErrTooFew) {
		t.Errorf("two values: %v", err)
	}
	// Three of wild spread have an upper limit past every number.
	if _, err := (Lognormal{N: 3, SDLog: 30}).MeanZou(0.95); !errors.Is(err, ErrTooFew) {
		t.Errorf("three wild values: %v", err)
	}
}

func TestCombine(t *testing.T) {
	a, b, c := Estimate{30, 25, 38}, Estimate{20, 17, 24}, Estimate{35, 30, 47}
	// By hand: 15 -+ sqrt(5^2+3^2+12^2) below and sqrt(8^2+4^2+5^2) above.
	got := value(Combine([]float64{1, 1, -1}, []Estimate{a, b, c}))(t)
	near(t, "value", got.Value, 15, 1e-12)
	near(t, "lower", got.Lo, 15-math.Sqrt(178), 1e-12)
	near(t, "upper", got.Hi, 15+math.Sqrt(105), 1e-12)
	// A difference of two is the difference.
	d := value(Combine([]float64{1, -1}, []Estimate{a, b}))(t)
	if e := recoverDifference(a, b); math.Abs(d.Lo-e.Lo)+math.Abs(d.Hi-e.Hi) > 1e-12 {
		t.Errorf("%+v, want %+v", d, e)
	}
	if _, err := Combine([]float64{1}, []Estimate{{5, 6, 7}}); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("value outside its limits: %v", err)
	}
}

func checkEstimate(t *testing.T, id, tag string, e Estimate) {
	t.Helper()
	agrees(t, id, tag+" estimate", e.Value)
	agrees(t, id, tag+" lower", e.Lo)
	agrees(t, id, tag+" upper", e.Hi)
}

func TestLognormalEdges(t *testing.T) {
	if _, err := FitLognormal(nil); !errors.Is(err, ErrNoData) {
		t.Errorf("no value: %v", err)
	}
	if _, err := FitLognormal([]float64{3, 0}); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("zero: %v", err)
	}
	one := value(FitLognormal([]float64{30}))(t)
	if _, err := one.MeanCox(0.95); !errors.Is(err, ErrTooFew) {
		t.Errorf("one value: %v", err)
	}
	if got := one.Mean(); math.Abs(got-30) > 1e-12 {
		t.Errorf("mean of one value %v", got)
	}
	same := value(FitLognormal([]float64{30, 30, 30}))(t)
	if _, err := same.MeanCoxModified(0.95); !errors.Is(err, ErrNoInformation) {
		t.Errorf("equal values: %v", err)
	}
}

// Minutes or hours: everything scales.
func TestLognormalScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hours := rapid.SliceOfN(rapid.Float64Range(0.05, 50), 3, 40).Draw(t, "hours")
		minutes := make([]float64, len(hours))
		for i, h := range hours {
			minutes[i] = 60 * h
		}
		a, err := FitLognormal(hours)
		if err != nil {
			t.Fatal(err)
		}
		b, err := FitLognormal(minutes)
		if err != nil {
			t.Fatal(err)
		}
		if a.SDLog < 1e-6 {
			return
		}
		for _, m := range []func(Lognormal, float64) (Estimate, error){Lognormal.MeanCox, Lognormal.MeanCoxModified, Lognormal.MedianLimits} {
			ea, errA := m(a, 0.95)
			eb, errB := m(b, 0.95)
			if errA != nil || errB != nil {
				t.Fatal(errA, errB)
			}
			if math.Abs(eb.Lo-60*ea.Lo) > 1e-6*eb.Lo || math.Abs(eb.Hi-60*ea.Hi) > 1e-6*eb.Hi || ea.Lo > ea.Value || ea.Value > ea.Hi {
				t.Fatalf("hours %+v, minutes %+v", ea, eb)
			}
		}
	})
}

// Freireich et al. (1963): weeks in remission, 6-MP and placebo.
func remission() (drug, placebo []Lifetime) {
	times := []float64{6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35}
	event := []bool{true, true, true, false, true, false, true, false, false, true, true, false, false, false, true, true, false, false, false, false, false}
	drug, err := Lifetimes(times, event)
	if err != nil {
		panic(err)
	}
	for _, w := range []float64{1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23} {
		placebo = append(placebo, Lifetime{Time: w, Events: 1})
	}
	return drug, placebo
}

// Kleinbaum and Klein, ch. 2; Klein and Moeschberger, ch. 4: curve, Greenwood and log limits
// confirmed, the rest from memory.
func TestKaplanMeierPublished(t *testing.T) {
	drug, placebo := remission()
	log := value(KaplanMeier(drug, 0.95, Log))(t)
	loglog := value(KaplanMeier(drug, 0.95, LogLog))(t)
	if len(log.Steps) != 7 {
		t.Fatalf("%d steps, want 7", len(log.Steps))
	}
	for i, s := range log.Steps {
		agrees(t, "KM-1", fmt.Sprintf("S(%g)", s.Time), s.Share)
		agrees(t, "KM-1", fmt.Sprintf("Greenwood se(%g)", s.Time), s.SE)
		agrees(t, "KM-1", fmt.Sprintf("log lower(%g)", s.Time), s.Lo)
		agrees(t, "KM-1", fmt.Sprintf("log upper(%g)", s.Time), s.Hi)
		agrees(t, "KM-1", fmt.Sprintf("log-log lower(%g)", s.Time), loglog.Steps[i].Lo)
		agrees(t, "KM-1", fmt.Sprintf("log-log upper(%g)", s.Time), loglog.Steps[i].Hi)
	}
	agrees(t, "KM-1", "median 6-MP", log.Median().Value.Value)
	agrees(t, "KM-1", "median placebo", value(KaplanMeier(placebo, 0.95, Log))(t).Median().Value.Value)
	mean, se, err := log.RestrictedMean(35)
	if err != nil {
		t.Fatal(err)
	}
	agrees(t, "KM-1", "restricted mean to 35", mean)
	agrees(t, "KM-1", "se restricted mean", se)
}

// Miller (1981), leukaemia maintenance, R's survival::aml (from memory).
func aml() (kept, not []Lifetime) {
	kept, err := Lifetimes([]float64{9, 13, 13, 18, 23, 28, 31, 34, 45, 48, 161},
		[]bool{true, true, false, true, true, false, true, true, false, true, false})
	if err != nil {
		panic(err)
	}
	not, err = Lifetimes([]float64{5, 5, 8, 8, 12, 16, 23, 27, 30, 33, 43, 45},
		[]bool{true, true, true, true, true, false, true, true, true, true, true, true})
	if err != nil {
		panic(err)
	}
	return kept, not
}

func TestKaplanMeierMedianLimits(t *testing.T) {
	kept, not := aml()
	m := value(KaplanMeier(kept, 0.95, Log))(t).Median()
	agrees(t, "KM-2", "aml median maintained", m.Value.Value)
	agrees(t, "KM-2", "aml median lower (log)", m.Lo.Value)
	if m.Hi.Bounded {
		t.Errorf("upper limit of the median %v, R has none", m.Hi)
	}
	m = value(KaplanMeier(not, 0.95, Log))(t).Median()
	agrees(t, "KM-2", "aml median nonmaintained", m.Value.Value)
	agrees(t, "KM-2", "aml median lower nonmaintained (log)", m.Lo.Value)
	if m.Hi.Bounded {
		t.Errorf("upper limit of the median %v, R has none", m.Hi)
	}
}

// Klein and Moeschberger; Miller (1981): log-rank (from memory). The hazard ratio over
// event times is R's mantelhaen.test on those strata (R-only).
func TestLogRankPublished(t *testing.T) {
	drug, placebo := remission()
	l := value(LogRank([][]Lifetime{drug, placebo}))(t)
	agrees(t, "KM-1", "log-rank chi2", l.Statistic)
	agrees(t, "KM-1", "log-rank p", l.P)
	agrees(t, "KM-1", "expected 6-MP", l.Expected[0])
	agrees(t, "KM-1", "expected placebo", l.Expected[1])
	h := value(HazardRatio([][][]Lifetime{{placebo, drug}}, 0.95))(t)
	agrees(t, "LR-2", "placebo over 6-MP hazard ratio", h.Value.Value)
	agrees(t, "LR-2", "hazard ratio lower", h.Lo)
	agrees(t, "LR-2", "hazard ratio upper", h.Hi.Value)
	kept, not := aml()
	l = value(LogRank([][]Lifetime{kept, not}))(t)
	agrees(t, "KM-2", "aml log-rank chi2", l.Statistic)
	agrees(t, "KM-2", "aml log-rank p", l.P)
	agrees(t, "KM-2", "aml expected maintained", l.Expected[0])
	agrees(t, "KM-2", "aml expected nonmaintained", l.Expected[1])
}

// made is the 120 lifetimes that reference.R makes by the same formula, in four strata and
// three groups.
func made() [][][]Lifetime {
	strata := make([][][]Lifetime, 4)
	for s := range strata {
		strata[s] = make([][]Lifetime, 3)
	}
	for i := 1; i <= 120; i++ {
		g, s, t := i%3, (i/5)%4, float64(1+(37*i*i+11*i)%97)
		if g == 2 {
			t = math.Ceil(t / 2)
		}
		l := Lifetime{Time: t, Censored: 1}
		if (7*i)%10 < 6 {
			l = Lifetime{Time: t, Events: 1}
		}
		strata[s][g] = append(strata[s][g], l)
	}
	return strata
}

// R's survival on made data: R-only.
func TestSurvivalAgainstR(t *testing.T) {
	strata := made()
	groups, two := make([][]Lifetime, 3), make([][][]Lifetime, 0, 4)
	var all []Lifetime
	for _, s := range strata {
		for g := range s {
			groups[g] = append(groups[g], s[g]...)
			all = append(all, s[g]...)
		}
		two = append(two, s[1:])
	}
	l := value(LogRank(groups))(t)
	agrees(t, "LR-1", "three groups chi2", l.Statistic)
	agrees(t, "LR-1", "three groups p", l.P)
	agrees(t, "LR-1", "expected 0", l.Expected[0])
	agrees(t, "LR-1", "expected 2", l.Expected[2])
	agrees(t, "LR-1", "three groups in strata chi2", value(LogRankStratified(strata))(t).Statistic)
	l = value(LogRankStratified(two))(t)
	agrees(t, "LR-1", "two groups in strata chi2", l.Statistic)
	agrees(t, "LR-1", "two groups in strata p", l.P)

	s := value(KaplanMeier(all, 0.95, LogLog))(t)
	for _, at := range []float64{10, 30, 60} {
		e := value(s.At(at))(t)
		agrees(t, "LR-1", fmt.Sprintf("S(%g)", at), e.Value)
		agrees(t, "LR-1", fmt.Sprintf("lower(%g)", at), e.Lo)
		agrees(t, "LR-1", fmt.Sprintf("upper(%g)", at), e.Hi)
	}
	m := s.Median()
	agrees(t, "LR-1", "median", m.Value.Value)
	agrees(t, "LR-1", "median lower", m.Lo.Value)
	agrees(t, "LR-1", "median upper", m.Hi.Value)
	mean, se, err := s.RestrictedMean(60)
	if err != nil {
		t.Fatal(err)
	}
	agrees(t, "LR-1", "restricted mean to 60", mean)
	agrees(t, "LR-1", "se restricted mean to 60", se)
}

func TestLogRankEdges(t *testing.T) {
	if _, err := LogRank([][]Lifetime{{{Time: 5, Events: 1}}}); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("one group: %v", err)
	}
	if _, err := LogRank([][]Lifetime{{{Time: 5, Censored: 9}}, {{Time: 7, Censored: 4}}}); !errors.Is(err, ErrNoInformation) {
		t.Errorf("no event: %v", err)
	}
	// A group that is empty leaves a test of the other two.
	a, b := []Lifetime{{Time: 2, Events: 3}, {Time: 9, Events: 2, Censored: 5}}, []Lifetime{{Time: 4, Events: 1}, {Time: 9, Censored: 9}}
	three := value(LogRank([][]Lifetime{a, nil, b}))(t)
	two := value(LogRank([][]Lifetime{a, b}))(t)
	if three.DF != 1 || math.Abs(three.Statistic-two.Statistic) > 1e-9 {
		t.Errorf("with an empty group %+v, without %+v", three, two)
	}
	// No event in the first group: the ratio is 0, with an upper limit.
	h := value(HazardRatio([][][]Lifetime{{{{Time: 90, Censored: 30}}, {{Time: 20, Events: 6}, {Time: 90, Censored: 20}}}}, 0.95))(t)
	if h.Value != bounded(0) || h.Lo != 0 || !h.Hi.Bounded || !(h.Hi.Value < 1) {
		t.Errorf("no event in the first group: %+v", h)
	}
}

func TestLogRankProperties(t *testing.T) {
	draw := func(t *rapid.T, name string) []Lifetime {
		var list []Lifetime
		for range rapid.IntRange(1, 30).Draw(t, name) {
			list = append(list, Lifetime{
				Time:   float64(rapid.IntRange(1, 20).Draw(t, "time")),
				Events: rapid.IntRange(0, 1).Draw(t, "events"), Censored: rapid.IntRange(0, 1).Draw(t, "censored"),
			})
		}
		return list
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := draw(t, "a"), draw(t, "b")
		ab, errAB := LogRank([][]Lifetime{a, b})
		ba, errBA := LogRank([][]Lifetime{b, a})
		if (errAB == nil) != (errBA == nil) {
			t.Fatalf("%v, swapped %v", errAB, errBA)
		}
		if errAB != nil {
			return
		}
		if math.Abs(ab.Statistic-ba.Statistic) > 1e-8*(1+ab.Statistic) {
			t.Fatalf("%v, swapped %v", ab.Statistic, ba.Statistic)
		}
		observed, expected := ab.Observed[0]+ab.Observed[1], ab.Expected[0]+ab.Expected[1]
		if math.Abs(observed-expected) > 1e-9*(1+observed) {
			t.Fatalf("observed %v, expected %v", observed, expected)
		}
		// Any increasing change of the clock leaves ranks, and so the test, alone.
		clock := func(list []Lifetime) []Lifetime {
			out := append([]Lifetime(nil), list...)
			for i := range out {
				out[i].Time *= out[i].Time
			}
			return out
		}
		again, err := LogRank([][]Lifetime{clock(a), clock(b)})
		if err != nil || math.Abs(again.Statistic-ab.Statistic) > 1e-8*(1+ab.Statistic) {
			t.Fatalf("%v, by another clock %v (%v)", ab.Statistic, again.Statistic, err)
		}
	})
}

func TestKaplanMeierEdges(t *testing.T) {
	if _, err := KaplanMeier(nil, 0.95, LogLog); !errors.Is(err, ErrNoData) {
		t.Errorf("no lifetime: %v", err)
	}
	never := value(KaplanMeier([]Lifetime{{Time: 90, Censored: 40}, {Time: 200, Censored: 60}}, 0.95, LogLog))(t)
	if m := never.Median(); m.Value.Bounded || m.Lo.Bounded || m.Hi.Bounded {
		t.Errorf("median without an event: %+v", m)
	}
	// 100 at risk at day 30: Wilson's lower limit for 100 of 100 is 1/(1+3.8415/100).
	e := value(never.At(30))(t)
	near(t, "lower limit without an event", e.Lo, 1/(1+0.038414588), 1e-6)
	if e.Value != 1 || e.Hi != 1 {
		t.Errorf("share without an event: %+v", e)
	}
	if _, err := never.At(300); !errors.Is(err, ErrNoData) {
		t.Errorf("past follow-up: %v", err)
	}
	if _, _, err := never.RestrictedMean(300); !errors.Is(err, ErrNoData) {
		t.Errorf("mean past follow-up: %v", err)
	}
	// Without censoring the curve is the share left, its limits no wider than 0 to 1.
	all := value(KaplanMeier([]Lifetime{{Time: 1, Events: 1}, {Time: 2, Events: 1}, {Time: 3, Events: 2}}, 0.95, LogLog))(t)
	if got := value(all.At(2))(t); math.Abs(got.Value-0.5) > 1e-12 {
		t.Errorf("half left: %+v", got)
	}
	if last := all.Steps[2]; last.Share != 0 || last.Limited || last.Lo != 0 {
		t.Errorf("none left: %+v", last)
	}
}

func TestKaplanMeierProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "n")
		var list []Lifetime
		for range n {
			list = append(list, Lifetime{
				Time:   float64(rapid.IntRange(0, 30).Draw(t, "time")),
				Events: rapid.IntRange(0, 2).Draw(t, "events"), Censored: rapid.IntRange(0, 2).Draw(t, "censored"),
			})
		}
		s, err := KaplanMeier(list, 0.95, LogLog)
		if errors.Is(err, ErrNoData) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		before := 1.0
		for _, st := range s.Steps {
			if !(0 <= st.Lo && st.Lo <= st.Share && st.Share <= st.Hi && st.Hi <= 1 && st.Share <= before) {
				t.Fatalf("step %+v after %v", st, before)
			}
			before = st.Share
		}
		m := s.Median()
		if m.Value.Bounded && (m.Lo.Bounded && m.Lo.Value > m.Value.Value || m.Hi.Bounded && m.Hi.Value < m.Value.Value) {
			t.Fatalf("median %+v", m)
		}
		// Ten times as many subjects: same curve.
		tenfold := make([]Lifetime, len(list))
		for i, l := range list {
			tenfold[i] = Lifetime{l.Time, 10 * l.Events, 10 * l.Censored}
		}
		big, err := KaplanMeier(tenfold, 0.95, LogLog)
		if err != nil || len(big.Steps) != len(s.Steps) {
			t.Fatalf("tenfold: %v", err)
		}
		for i := range big.Steps {
			if math.Abs(big.Steps[i].Share-s.Steps[i].Share) > 1e-12 {
				t.Fatalf("tenfold changes the curve: %+v, %+v", big.Steps[i], s.Steps[i])
			}
		}
	})
}

// followed drops the lifetimes of nobody.
func followed(list []Lifetime) []Lifetime {
	return slices.DeleteFunc(slices.Clone(list), func(l Lifetime) bool { return l.Events+l.Censored == 0 })
}

// One of many groups against the rest is the two-group test and ratio of the same strata, which are checked against
// published values above.
func TestOneAgainstRestIsTheTestOfTwoGroups(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(what string) []Lifetime {
			n := rapid.IntRange(1, 6).Draw(t, what)
			list := make([]Lifetime, n)
			for i := range list {
				list[i] = Lifetime{Time: float64(rapid.IntRange(0, 8).Draw(t, "time")), Events: rapid.IntRange(0, 3).Draw(t, "events"), Censored: rapid.IntRange(0, 3).Draw(t, "censored")}
			}
			return list
		}
		var two [][][]Lifetime
		var members []Member
		for range rapid.IntRange(1, 3).Draw(t, "strata") {
			own, rest := draw("own"), draw("rest")
			sets, err := NewRiskSets(slices.Concat(own, rest))
			if errors.Is(err, ErrNoData) {
				continue
			}
			slices.SortStableFunc(own, func(a, b Lifetime) int { return cmp.Compare(a.Time, b.Time) })
			members = append(members, Member{&sets, own})
			two = append(two, [][]Lifetime{followed(own), followed(rest)})
		}
		test, ratio, err := OneAgainstRest(members, 0.95)
		if len(two) == 0 {
			if !errors.Is(err, ErrNoInformation) {
				t.Fatalf("no stratum: %v", err)
			}
			return
		}
		want, wantErr := LogRankStratified(two)
		if errors.Is(wantErr, ErrNoInformation) != errors.Is(err, ErrNoInformation) {
			t.Fatalf("error %v, two groups %v", err, wantErr)
		}
		if err != nil {
			return
		}
		wantRatio, err := HazardRatio(two, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(test.P-want.P) > 1e-9 || math.Abs(test.Statistic-want.Statistic) > 1e-7*(1+want.Statistic) {
			t.Fatalf("%+v, two groups %+v", test, want.Test)
		}
		for _, c := range [][2]float64{{ratio.Value.Value, wantRatio.Value.Value}, {ratio.Lo, wantRatio.Lo}, {ratio.Hi.Value, wantRatio.Hi.Value}} {
			if math.Abs(c[0]-c[1]) > 1e-7*(1+math.Abs(c[1])) {
				t.Fatalf("ratio %+v, two groups %+v", ratio, wantRatio)
			}
		}
	})
}
