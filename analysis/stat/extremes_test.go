package stat

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// count draws from 0 to ten million, small and large ones alike.
func count(t *rapid.T, name string) int {
	top := rapid.SampledFrom([]int{0, 1, 3, 20, 500, 100_000, 10_000_000}).Draw(t, name+" up to")
	return rapid.IntRange(0, top).Draw(t, name)
}

// Nothing may come back as NaN or infinity, whatever the counts and the confidence.
func TestNoNaNAnywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		conf := rapid.SampledFrom([]float64{0.5, 0.8, 0.95, 0.999, 0.9999999}).Draw(t, "conf")
		tab := Table2{count(t, "a"), count(t, "b"), count(t, "c"), count(t, "d")}
		finite := func(what string, err error, values ...float64) {
			t.Helper()
			if err != nil {
				return
			}
			for _, v := range values {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%s of %+v at %v: %v", what, tab, conf, values)
				}
			}
		}
		ratio := func(what string, r Ratio, err error) {
			t.Helper()
			finite(what, err, r.Value.Value, r.Lo, r.Hi.Value)
			if err == nil && (r.Lo < 0 || r.Hi.Bounded && r.Hi.Value < r.Lo || r.Value.Bounded && r.Value.Value < r.Lo*(1-1e-9)) {
				t.Fatalf("%s of %+v at %v: %+v", what, tab, conf, r)
			}
		}
		n1, n2 := tab.A+tab.B, tab.C+tab.D
		for _, m := range shareMethods() {
			iv, err := m.limits(tab.A, n1, conf)
			finite(m.name, err, iv.Lo, iv.Hi)
			if n1 > 0 && err != nil {
				t.Fatalf("%s of %+v at %v: %v", m.name, tab, conf, err)
			}
		}
		d, err := ShareDifference(tab.A, n1, tab.C, n2, conf)
		finite("difference", err, d.Value, d.Lo, d.Hi)
		r, err := RiskRatioScore(tab.A, n1, tab.C, n2, conf)
		ratio("risk ratio", r, err)
		known(t, "risk ratio", err, n1 > 0 && n2 > 0 && tab.A+tab.C > 0)
		r, err = OddsRatioExact(tab, conf)
		ratio("odds ratio", r, err)
		known(t, "odds ratio", err, tab.total() > 0 && !tab.fixed())
		p, err := Fisher(tab)
		finite("Fisher", err, p.Less, p.Greater, p.TwoSided, p.MidP, p.MidLess, p.MidGreater)
		known(t, "Fisher", err, tab.total() > 0)
		if err == nil {
			for _, v := range []float64{p.Less, p.Greater, p.TwoSided, p.MidP, p.MidLess, p.MidGreater} {
				if !(v > 0 && v <= 1) {
					t.Fatalf("Fisher of %+v: %+v", tab, p)
				}
			}
		}
		strata := []Table2{tab, {3, 5, 2, 9}}
		r, err = MantelHaenszelOdds(strata, conf)
		ratio("Mantel-Haenszel", r, err)
		h, err := BreslowDayTarone(strata)
		finite("Breslow-Day", err, h.BreslowDay, h.Tarone, h.P, h.TaroneP)
		iv, err := PoissonLimits(tab.A, conf)
		finite("Poisson", err, iv.Lo, iv.Hi)
		known(t, "Poisson", err, true)
		c, err := PoissonRateRatioMidP(tab.A, 0.01+float64(tab.B), tab.C, 0.01+float64(tab.D), conf)
		ratio("rate ratio", c.Ratio, err)
		finite("rate ratio", err, c.P, c.MidP, c.Higher)
		known(t, "rate ratio", err, tab.A+tab.C > 0)
		if n1 > 0 {
			l, err := BernoulliLLR(tab.A, n1, tab.A+tab.C, n1+n2)
			finite("LLR", err, l)
			known(t, "LLR", err, true)
		}
	})
}

// known fails when an answer exists but an error was given.
func known(t *rapid.T, what string, err error, exists bool) {
	t.Helper()
	if exists && err != nil {
		t.Fatalf("%s: %v", what, err)
	}
}

func TestPriorsNeverFail(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(1, 12).Draw(t, "groups")
		x, n, exposure := make([]int, k), make([]int, k), make([]float64, k)
		for i := range x {
			n[i] = 1 + count(t, "n")
			x[i] = rapid.IntRange(0, n[i]).Draw(t, "x")
			exposure[i] = float64(n[i]) * rapid.SampledFrom([]float64{1e-4, 1, 1e5}).Draw(t, "scale")
		}
		b, err := FitBetaBinomial(x, n)
		if err != nil {
			t.Fatal(err)
		}
		g, err := FitGammaPoisson(x, exposure)
		if err != nil {
			t.Fatal(err)
		}
		for i := range x {
			e, err := b.Posterior(x[i], n[i], 0.95)
			if err != nil || !(0 <= e.Lo && e.Lo <= e.Value && e.Value <= e.Hi && e.Hi <= 1) {
				t.Fatalf("share %d of %d under %v, %v (%s): %+v, %v", x[i], n[i], b.Alpha, b.Beta, b.Source, e, err)
			}
			e, err = g.Posterior(x[i], exposure[i], 0.95)
			if errors.Is(err, ErrTooFew) && g.Groups < 6 {
				continue // exposures nine powers of ten apart, and a handful of them
			}
			if err != nil || !(0 <= e.Lo && e.Lo <= e.Value && e.Value <= e.Hi && !math.IsInf(e.Hi, 0)) {
				t.Fatalf("rate %d in %v under %v, %v (%s): %+v, %v", x[i], exposure[i], g.Shape, g.Rate, g.Source, e, err)
			}
		}
		next, err := g.Predictive(1)
		if err != nil {
			t.Fatal(err)
		}
		if q, err := next.Quantile(0.95); err != nil || q < 0 {
			t.Fatalf("predictive %+v: %d, %v", next, q, err)
		}
	})
}

// The closed forms against the continued fractions.
func TestClosedTails(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := math.Exp(rapid.Float64Range(math.Log(leastClosed), 12).Draw(t, "log a"))
		b := math.Exp(rapid.Float64Range(math.Log(leastClosed), 12).Draw(t, "log b"))
		z := rapid.Float64Range(-3.7, 3.7).Draw(t, "z")
		check := func(what string, closed, exact float64) {
			t.Helper()
			if exact > 1e-4 && math.Abs(closed-exact) > 2e-4*exact {
				t.Fatalf("%s: closed %v, exact %v", what, closed, exact)
			}
		}
		x, y := expit(math.Log(a/b) + z*math.Sqrt(1/a+1/b))
		l, u, s := closedBetaTails(a, b, x, y)
		el, eu, es := betaTailsSlope(a, b, x, y)
		check("beta lower", l, el)
		check("beta upper", u, eu)
		check("beta slope", s, es)
		at := a * math.Exp(z/math.Sqrt(a))
		l, u, s = closedGammaTails(a, at)
		el, eu, es = gammaTailsSlope(a, at)
		check("gamma lower", l, el)
		check("gamma upper", u, eu)
		check("gamma slope", s, es)
	})
}
