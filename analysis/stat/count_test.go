package stat

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Garwood (1936), Biometrika 28, in Pearson and Hartley, table 40 (from memory).
func TestPoissonLimitsPublished(t *testing.T) {
	for _, k := range []int{0, 1, 2, 3, 4, 5, 10, 12, 20} {
		iv := value(PoissonLimits(k, 0.95))(t)
		agrees(t, "POIS-1", fmt.Sprintf("c=%d lower", k), iv.Lo)
		agrees(t, "POIS-1", fmt.Sprintf("c=%d upper", k), iv.Hi)
	}
	// Breslow and Day (1987), nickel workers; R help page of poisson.test (from memory).
	big := value(PoissonLimits(10_000_000, 0.95))(t) // R-only
	agrees(t, "POIS-3", "c=10000000 lower", big.Lo)
	agrees(t, "POIS-3", "c=10000000 upper", big.Hi)
	e := value(PoissonRate(137, 24.19893, 0.95))(t)
	agrees(t, "POIS-2", "137 in 24.19893 estimate", e.Value)
	agrees(t, "POIS-2", "137 in 24.19893 lower", e.Lo)
	agrees(t, "POIS-2", "137 in 24.19893 upper", e.Hi)
}

// R help page of poisson.test (from memory); Rothman and Greenland (1998), p. 238 (R-only
// for these limits); Przyborowski and Wilenski (1940), clover seed (R-only for this p).
func TestPoissonRateRatioPublished(t *testing.T) {
	c := value(PoissonRateRatio(11, 800, 21, 3011, 0.95))(t)
	agrees(t, "POIS2-1", "rate ratio", c.Ratio.Value.Value)
	agrees(t, "POIS2-1", "RR lower", c.Ratio.Lo)
	agrees(t, "POIS2-1", "RR upper", c.Ratio.Hi.Value)
	agrees(t, "POIS2-1", "exact two-sided p", c.P)
	exact := value(PoissonRateRatio(41, 28010, 15, 19017, 0.95))(t)
	agrees(t, "POIS2-2", "rate ratio", exact.Ratio.Value.Value)
	agrees(t, "POIS2-2", "exact conditional lower", exact.Ratio.Lo)
	agrees(t, "POIS2-2", "exact conditional upper", exact.Ratio.Hi.Value)
	mid := value(PoissonRateRatioMidP(41, 28010, 15, 19017, 0.95))(t)
	agrees(t, "POIS2-2", "mid-p conditional lower", mid.Ratio.Lo)
	agrees(t, "POIS2-2", "mid-p conditional upper", mid.Ratio.Hi.Value)
	agrees(t, "POIS2-3", "conditional (C-test) two-sided p", value(PoissonRateRatio(0, 100, 3, 100, 0.95))(t).P)
}

// Poisson tables, Molina (1942) (from memory).
func TestPoissonUpperTailPublished(t *testing.T) {
	for _, m := range []float64{0.1, 0.2, 0.5, 1, 2} {
		agrees(t, "TAIL-1", fmt.Sprintf("P(X>=2) mean %g", m), value(PoissonUpperTail(2, m))(t))
	}
	for _, m := range []float64{0.5, 1, 2} {
		agrees(t, "TAIL-1", fmt.Sprintf("P(X>=3) mean %g", m), value(PoissonUpperTail(3, m))(t))
	}
	// Far out 1 - CDF would be 0. By hand: the first term exp(-1)/30! times 1 + 1/31 + 1/31/32 + ...
	want := math.Exp(-1) * (1 + 1.0/31*(1+1.0/32*(1+1.0/33*(1+1.0/34))))
	for k := 2; k <= 30; k++ {
		want /= float64(k)
	}
	near(t, "P(X>=30) mean 1", value(PoissonUpperTail(30, 1))(t), want, 1e-7)
	if p := value(PoissonUpperTail(0, 0))(t); p != 1 {
		t.Errorf("at least 0 of mean 0: %v", p)
	}
	if p := value(PoissonUpperTail(1, 0))(t); p != 0 {
		t.Errorf("at least 1 of mean 0: %v", p)
	}
}

// Tails of large and of far counts: R-only. The far Poisson tail is near 1e-89.
func TestTailsLarge(t *testing.T) {
	agrees(t, "TAIL-3", "P(X>=3) n=1e+06 p=2e-06", value(BinomialUpperTail(3, 1_000_000, 2e-6))(t))
	agrees(t, "TAIL-3", "P(X>=3e+06) n=1e+07 p=0.3", value(BinomialUpperTail(3_000_000, 10_000_000, 0.3))(t))
	agrees(t, "TAIL-3", "P(X>=60) n=1000 p=0.03", value(BinomialUpperTail(60, 1000, 0.03))(t))
	agrees(t, "TAIL-3", "Poisson P(X>=1000) mean 500", value(PoissonUpperTail(1000, 500))(t))
	agrees(t, "TAIL-3", "Poisson P(X>=10005000) mean 1e7", value(PoissonUpperTail(10_005_000, 1e7))(t))
}

// Von Bortkiewicz (1898), deaths by horse kick (from memory).
func TestPoissonMass(t *testing.T) {
	agrees(t, "TAIL-2", "mean", (65+2*22+3*3+4*1)/200.0)
	for k := range 5 {
		agrees(t, "TAIL-2", fmt.Sprintf("expected x=%d", k), 200*math.Exp(logPoisson(float64(k), 0.61)))
	}
}

func TestBinomialTest(t *testing.T) {
	// By hand: 9 or more of 10, or 1 or fewer, is 22 of 1024; half of the two ties off.
	exact, mid, err := BinomialTest(9, 10, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "exact", exact, 22.0/1024, 1e-12)
	near(t, "mid-p", mid, 12.0/1024, 1e-12)
	near(t, "upper tail", value(BinomialUpperTail(9, 10, 0.5))(t), 11.0/1024, 1e-12)
}

func TestPoissonProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(0, 1_000_000).Draw(t, "k")
		iv, err := PoissonLimits(k, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if !(iv.Lo <= float64(k) && float64(k) < iv.Hi) {
			t.Fatalf("%d outside %v", k, iv)
		}
		// The limits are where the tails are 2.5%, which the tails themselves must say.
		if k > 0 {
			tail, err := PoissonUpperTail(k, iv.Lo)
			if err != nil || math.Abs(tail-0.025) > 1e-9 {
				t.Fatalf("upper tail of %d at %v is %v (%v)", k, iv.Lo, tail, err)
			}
		}
		tail, err := PoissonUpperTail(k+1, iv.Hi)
		if err != nil || math.Abs(tail-0.975) > 1e-9 {
			t.Fatalf("upper tail of %d at %v is %v (%v)", k+1, iv.Hi, tail, err)
		}
	})
}

func TestRateRatioProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x1, x2 := rapid.IntRange(0, 500).Draw(t, "x1"), rapid.IntRange(0, 500).Draw(t, "x2")
		t1, t2 := rapid.Float64Range(0.1, 1e4).Draw(t, "t1"), rapid.Float64Range(0.1, 1e4).Draw(t, "t2")
		if x1+x2 == 0 {
			return
		}
		a, err := PoissonRateRatioMidP(x1, t1, x2, t2, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		b, err := PoissonRateRatioMidP(x1, 60*t1, x2, 60*t2, 0.95)
		if err != nil || math.Abs(a.Ratio.Lo-b.Ratio.Lo) > 1e-8*a.Ratio.Lo || math.Abs(a.MidP-b.MidP) > 1e-8*a.MidP {
			t.Fatalf("unit of exposure matters: %+v, %+v (%v)", a, b, err)
		}
		flip, err := PoissonRateRatioMidP(x2, t2, x1, t1, 0.95)
		if err != nil || a.Ratio.Hi.Bounded && math.Abs(flip.Ratio.Lo*a.Ratio.Hi.Value-1) > 1e-8 {
			t.Fatalf("swapped: %+v, %+v (%v)", a, flip, err)
		}
	})
}

// Benjamini and Hochberg (1995), 15 p-values of a trial; McDonald (2014), 25 dietary
// variables (both from memory).
func TestBenjaminiHochbergPublished(t *testing.T) {
	p := []float64{.0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719, .6528, .7590, 1}
	q := value(BenjaminiHochberg(p))(t)
	rejected := 0
	for i, v := range q {
		agrees(t, "BH-1", fmt.Sprintf("adjusted p[%d]", i+1), v)
		if v <= 0.05 {
			rejected++
		}
	}
	agrees(t, "BH-1", "rejections BH q=0.05", float64(rejected))
	p = []float64{.001, .008, .039, .041, .042, .06, .074, .205, .212, .216, .222, .251, .269, .275, .34, .341, .384, .569, .594, .696, .762, .94, .942, .975, .986}
	q = value(BenjaminiHochberg(p))(t)
	for i, v := range q[:7] {
		agrees(t, "BH-2", fmt.Sprintf("adjusted p[%d]", i+1), v)
	}
	rejected = 0
	for _, v := range q {
		if v < 0.25-1e-12 { // the sixth sits exactly on the threshold, where rounding decides
			rejected++
		}
	}
	agrees(t, "BH-2", "rejections at FDR 0.25", float64(rejected))
}

func TestBenjaminiHochbergProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 60).Draw(t, "p")
		q, err := BenjaminiHochberg(p)
		if err != nil {
			t.Fatal(err)
		}
		reversed := make([]float64, len(p))
		for i := range p {
			reversed[len(p)-1-i] = p[i]
		}
		back, err := BenjaminiHochberg(reversed)
		if err != nil {
			t.Fatal(err)
		}
		for i := range p {
			if q[i] < p[i] || q[i] > 1 || q[i] != back[len(p)-1-i] {
				t.Fatalf("p %v, q %v, in reverse order %v", p[i], q[i], back[len(p)-1-i])
			}
			for j := range p {
				if p[i] < p[j] && q[i] > q[j] {
					t.Fatalf("order lost: %v < %v but %v > %v", p[i], p[j], q[i], q[j])
				}
			}
		}
	})
	if _, err := BenjaminiHochberg([]float64{0.1, math.NaN()}); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("NaN: %v", err)
	}
}

func BenchmarkPoissonLimitsTenMillion(b *testing.B) {
	for b.Loop() {
		if _, err := PoissonLimits(10_000_000, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkClopperPearsonTenMillion(b *testing.B) {
	for b.Loop() {
		if _, err := ClopperPearson(3_000_000, 10_000_000, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}

// The exact binomial test against its definition, by listing every count.
func TestBinomialTestByListing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		p := rapid.SampledFrom([]float64{0.5, 0.25, 1.0 / 3, 0.037, 0.8}).Draw(t, "p")
		exact, mid, err := BinomialTest(x, n, p)
		if err != nil {
			t.Fatal(err)
		}
		prob := func(k int) float64 { return choose(n, k) * math.Pow(p, float64(k)) * math.Pow(1-p, float64(n-k)) }
		var below, ties float64
		for k := 0; k <= n; k++ {
			switch q := prob(k); {
			case q < prob(x)*(1-1e-7):
				below += q
			case q <= prob(x)*(1+1e-7):
				ties += q
			}
		}
		if math.Abs(exact-below-ties) > 1e-10*(below+ties) || math.Abs(mid-below-ties/2) > 1e-10*(below+ties) {
			t.Fatalf("%d of %d at %v: %v and %v, want %v and %v", x, n, p, exact, mid, below+ties, below+ties/2)
		}
	})
}
