package stat

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// logRatios are the effects of the BCG trials on the log scale.
func logRatios(odds bool) (effects, variances []float64) {
	for _, s := range bcg() {
		a, b, c, d := float64(s.A), float64(s.B), float64(s.C), float64(s.D)
		if odds {
			effects = append(effects, math.Log(a*d/(b*c)))
			variances = append(variances, 1/a+1/b+1/c+1/d)
			continue
		}
		effects = append(effects, math.Log(a/(a+b)/(c/(c+d))))
		variances = append(variances, 1/a-1/(a+b)+1/c-1/(c+d))
	}
	return effects, variances
}

// Colditz et al. (1994), BCG vaccine; test file of R's metafor (confirmed, in part from
// memory). Prediction and Knapp limits are R-only.
func TestPoolingPublished(t *testing.T) {
	y, v := logRatios(false)
	f := value(FixedEffect(y, v, 0.95))(t)
	agrees(t, "META-1", "log RR fixed estimate", f.Value)
	agrees(t, "META-1", "log RR fixed lower", f.Lo)
	agrees(t, "META-1", "log RR fixed upper", f.Hi)
	agrees(t, "META-1", "log RR fixed z", f.Statistic)
	agrees(t, "META-1", "Q", f.Q)
	agrees(t, "META-1", "fixed RR", math.Exp(f.Value))
	agrees(t, "META-1", "fixed RR lower", math.Exp(f.Lo))
	agrees(t, "META-1", "fixed RR upper", math.Exp(f.Hi))
	d := value(DerSimonianLaird(y, v, 0.95))(t)
	agrees(t, "META-1", "log RR DL estimate", d.Value)
	agrees(t, "META-1", "log RR DL lower", d.Lo)
	agrees(t, "META-1", "log RR DL upper", d.Hi)
	agrees(t, "META-1", "log RR DL se", d.SE)
	agrees(t, "META-1", "DL tau2", d.Tau2)
	agrees(t, "META-1", "DL I2 percent", 100*d.I2)
	agrees(t, "META-1", "log RR DL prediction lower", d.Prediction.Lo)
	agrees(t, "META-1", "log RR DL prediction upper", d.Prediction.Hi)
	agrees(t, "META-1", "log RR DL Knapp lower", d.Knapp.Lo)
	agrees(t, "META-1", "log RR DL Knapp upper", d.Knapp.Hi)

	y, v = logRatios(true)
	d = value(DerSimonianLaird(y, v, 0.95))(t)
	agrees(t, "META-2", "log OR DL estimate", d.Value)
	agrees(t, "META-2", "log OR DL lower", d.Lo)
	agrees(t, "META-2", "log OR DL upper", d.Hi)
	agrees(t, "META-2", "log OR DL se", d.SE)
	agrees(t, "META-2", "log OR DL tau2", d.Tau2)
	agrees(t, "META-2", "log OR Q", d.Q)
}

// Pritz (1997), logit shares with 1/2 added where a cell is empty (R-only).
func TestPoolingLogits(t *testing.T) {
	x := []float64{16, 10, 4, 43, 10, 25, 13, 12, 22, 4, 5, 18, 58, 6}
	n := []float64{17, 12, 8, 58, 10, 42, 14, 12, 41, 5, 6, 23, 68, 10}
	var y, v []float64
	for i := range x {
		hit, miss := x[i], n[i]-x[i]
		if hit == 0 || miss == 0 {
			hit, miss = hit+0.5, miss+0.5
		}
		y, v = append(y, math.Log(hit/miss)), append(v, 1/hit+1/miss)
	}
	d := value(DerSimonianLaird(y, v, 0.95))(t)
	agrees(t, "META-4", "logit DL estimate", d.Value)
	agrees(t, "META-4", "logit DL se", d.SE)
	agrees(t, "META-4", "tau2", d.Tau2)
	agrees(t, "META-4", "Q", d.Q)
	for name, u := range map[string]float64{"back-transformed": d.Value, "back lower": d.Lo, "back upper": d.Hi} {
		share, _ := expit(u)
		agrees(t, "META-4", name, share)
	}
}

// Normand (1999), lidocaine trials (from memory): Q below its degrees of freedom, so the
// variance between trials is cut at 0.
func TestPoolingHomogeneous(t *testing.T) {
	var y, v []float64
	for _, h := range [][4]float64{{2, 39, 1, 43}, {4, 44, 4, 44}, {6, 107, 4, 110}, {7, 103, 5, 100}, {7, 110, 3, 106}, {11, 154, 4, 146}} {
		p, q := h[0]/h[1], h[2]/h[3]
		y, v = append(y, p-q), append(v, p*(1-p)/h[1]+q*(1-q)/h[3])
	}
	d := value(DerSimonianLaird(y, v, 0.95))(t)
	agrees(t, "META-5", "risk difference DL", d.Value)
	agrees(t, "META-5", "se", d.SE)
	agrees(t, "META-5", "z", d.Statistic)
	agrees(t, "META-5", "lower", d.Lo)
	agrees(t, "META-5", "upper", d.Hi)
	agrees(t, "META-5", "tau2", d.Tau2)
	agrees(t, "META-5", "Q", d.Q)
	if d.I2 != 0 {
		t.Errorf("I2 %v, want 0", d.I2)
	}
}

func TestPoolingProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(2, 12).Draw(t, "studies")
		y, v, shifted := make([]float64, k), make([]float64, k), make([]float64, k)
		for i := range y {
			y[i] = rapid.Float64Range(-3, 3).Draw(t, "effect")
			v[i] = rapid.Float64Range(0.001, 2).Draw(t, "variance")
			shifted[i] = y[i] + 5
		}
		a, err := DerSimonianLaird(y, v, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		b, err := DerSimonianLaird(shifted, v, 0.95)
		if err != nil || math.Abs(b.Value-a.Value-5) > 1e-9 || math.Abs(b.Tau2-a.Tau2) > 1e-8 {
			t.Fatalf("shifted by 5: %+v, %+v (%v)", a, b, err)
		}
		f, err := FixedEffect(y, v, 0.95)
		if err != nil || a.SE < f.SE*(1-1e-12) || !(0 <= a.I2 && a.I2 < 1) || a.Tau2 < 0 {
			t.Fatalf("random %+v, fixed %+v (%v)", a, f, err)
		}
		if a.Knapp.Lo > a.Lo+1e-12 || a.Knapp.Hi < a.Hi-1e-12 || a.Predicted != (k >= 3) {
			t.Fatalf("%d studies: %+v", k, a)
		}
	})
	if _, err := DerSimonianLaird([]float64{1}, []float64{1}, 0.95); !errors.Is(err, ErrTooFew) {
		t.Errorf("one study: %v", err)
	}
	if _, err := FixedEffect([]float64{1}, []float64{0}, 0.95); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("variance 0: %v", err)
	}
}

// Kulldorff (1997): LLR is half the likelihood-ratio chi-square; Agresti's aspirin table has
// 25.37, Mendel's peas 0.015 (both from memory). Further triples R-only.
func TestScanPublished(t *testing.T) {
	l := value(BernoulliLLR(189, 11034, 293, 22071))(t)
	agrees(t, "SCAN-1", "Bernoulli LLR (=G2/2)", l)
	agrees(t, "SCAN-1", "G2 of 2x2", 2*l)
	agrees(t, "SCAN-1", "Poisson LLR c=189 E=146.48 C=293", value(PoissonLLR(189, 293*11034.0/22071, 293))(t))
	agrees(t, "SCAN-2", "Mendel G2", 2*value(PoissonLLR(6022, 6017.25, 8023))(t))
	agrees(t, "SCAN-2", "Poisson LLR c=10 E=4 C=50", value(PoissonLLR(10, 4, 50))(t))
	agrees(t, "SCAN-2", "Poisson LLR c=3 E=0.5 C=3", value(PoissonLLR(3, 0.5, 3))(t))
	agrees(t, "SCAN-2", "Poisson LLR c=4 E=10 C=50", value(PoissonLLR(4, 10, 50))(t))
	agrees(t, "SCAN-2", "Bernoulli LLR c=8 n=20 C=20 N=200", value(BernoulliLLR(8, 20, 20, 200))(t))
}

// Abrams, Kleinman and Kulldorff (2010): definition, R-only.
func TestGumbelAgainstR(t *testing.T) {
	maxima := []float64{2.1, 3.4, 2.8, 4.9, 3.3, 2.6, 3.9, 5.2, 3.0, 4.1}
	g := value(FitGumbel(maxima))(t)
	agrees(t, "SCAN-6", "Gumbel scale (moments; sd with n-1)", g.Scale)
	agrees(t, "SCAN-6", "Gumbel location", g.Location)
	agrees(t, "SCAN-6", "p(max>=7)", g.UpperTail(7))
	// By hand: 2 of 10 reach 4.9, so rank 3 of 11; nothing reaches 7, so the tail decides.
	near(t, "rank", value(MonteCarloP(4.9, maxima))(t), 3.0/11, 1e-12)
	near(t, "rank of the largest", value(MonteCarloP(7, maxima))(t), 1.0/11, 1e-12)
	agrees(t, "SCAN-6", "p(max>=7)", value(MaximumP(7, maxima))(t))
	near(t, "inside the simulated", value(MaximumP(4.9, maxima))(t), 3.0/11, 1e-12)
	near(t, "recurrence", value(RecurrenceDays(0.001, 7))(t), 7000, 1e-12)
}

func TestScanProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5000).Draw(t, "n")
		rest := rapid.IntRange(0, 5000).Draw(t, "rest")
		c := rapid.IntRange(0, n).Draw(t, "c")
		out := rapid.IntRange(0, rest).Draw(t, "out")
		l, err := BernoulliLLR(c, n, c+out, n+rest)
		if err != nil || l < 0 || math.IsNaN(l) || math.IsInf(l, 0) {
			t.Fatalf("LLR %v (%v)", l, err)
		}
		if c < n && c+out > 0 {
			more, err := BernoulliLLR(c+1, n, c+1+out, n+rest)
			if err != nil || more < l-1e-9 {
				t.Fatalf("one more case inside lowers %v to %v (%v)", l, more, err)
			}
		}
	})
	if _, err := BernoulliLLR(5, 4, 9, 20); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("5 of 4: %v", err)
	}
}

// Iglewicz and Hoaglin (1993); the encyclopaedia's seven values and R's mad examples (from
// memory); Rosner (1983), 54 values, and a masking example (R-only).
func TestModifiedZPublished(t *testing.T) {
	small := []float64{1, 1, 2, 2, 4, 6, 9}
	r := value(FitRobust(small))(t)
	agrees(t, "MAD-1", "median", r.Median)
	agrees(t, "MAD-1", "MAD (raw)", r.MAD)
	agrees(t, "MAD-1", "modified z of 9", value(r.Score(9))(t))
	agrees(t, "MAD-1", "modified z of 6", value(r.Score(6))(t))
	agrees(t, "MAD-1", "mad(1:9)", 1.4826*value(FitRobust([]float64{1, 2, 3, 4, 5, 6, 7, 8, 9}))(t).MAD)
	agrees(t, "MAD-1", "mad(c(1:8 100))", 1.4826*value(FitRobust([]float64{1, 2, 3, 4, 5, 6, 7, 8, 100}))(t).MAD)

	rosner := []float64{-.25, .68, .94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69, 1.70, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99,
		2.06, 2.09, 2.10, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.40, 2.47, 2.54, 2.62, 2.64, 2.90, 2.92, 2.92, 2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01}
	r = value(FitRobust(rosner))(t)
	agrees(t, "MAD-2", "median", r.Median)
	agrees(t, "MAD-2", "MAD raw", r.MAD)
	odd := 0.0
	z := value(ModifiedZ(rosner))(t)
	for _, v := range z {
		if math.Abs(v) > 3.5 {
			odd++
		}
	}
	agrees(t, "MAD-2", "count |M|>3.5", odd)
	for i, name := range []string{"modified z of 4.64", "modified z of 5.34", "modified z of 5.42", "modified z of 6.01"} {
		agrees(t, "MAD-2", name, z[50+i])
	}

	masked := []float64{2.1, 2.6, 2.4, 2.5, 2.3, 2.1, 2.3, 2.6, 8.2, 8.3}
	r = value(FitRobust(masked))(t)
	agrees(t, "MAD-3", "median", r.Median)
	agrees(t, "MAD-3", "MAD raw", r.MAD)
	agrees(t, "MAD-3", "modified z of 8.2", value(r.Score(8.2))(t))
	agrees(t, "MAD-3", "modified z of 8.3", value(r.Score(8.3))(t))
}

func TestModifiedZFallbacks(t *testing.T) {
	// By hand: eight 3s, a 4 and a 20 deviate by 1.8 on average; 17/(1.253314*1.8).
	most := []float64{3, 3, 3, 3, 3, 3, 3, 3, 4, 20}
	r := value(FitRobust(most))(t)
	if r.Source != SpreadMean {
		t.Errorf("source %q", r.Source)
	}
	near(t, "fallback score", value(r.Score(20))(t), 17/(1.253314*1.8), 1e-9)
	same := value(FitRobust([]float64{3, 3, 3}))(t)
	if z := value(same.Score(3))(t); z != 0 || same.Source != SpreadNone {
		t.Errorf("equal values: %v, %q", z, same.Source)
	}
	if _, err := same.Score(4); !errors.Is(err, ErrNoInformation) {
		t.Errorf("another value: %v", err)
	}
	if _, err := FitRobust([]float64{1, math.NaN()}); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("NaN: %v", err)
	}
	if _, err := SampleQuantile(nil, 0.5); !errors.Is(err, ErrNoData) {
		t.Errorf("no value: %v", err)
	}
	// By hand: 90% of 1..5 lies 0.6 of the way from 4 to 5.
	near(t, "quantile", value(SampleQuantile([]float64{5, 1, 4, 2, 3}, 0.9))(t), 4.6, 1e-12)
}

func TestTrialsToSettle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 200).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		usual := rapid.Float64Range(0.01, 0.9).Draw(t, "usual")
		share := float64(x) / float64(n)
		if math.Abs(share-usual) < 0.01 {
			return
		}
		more, err := TrialsToSettle(x, n, usual, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		// Whole multiples of the sample keep the share: those at or past the answer are
		// settled, those before it are not.
		times := (n + more + n - 1) / n
		for _, m := range []int{times, times - 1} {
			if m < 1 {
				continue
			}
			iv, err := Wilson(m*x, m*n, 0.95)
			if err != nil {
				t.Fatal(err)
			}
			if settled := usual < iv.Lo-1e-12 || usual > iv.Hi+1e-12; settled != (m*n >= n+more) && math.Abs(usual-iv.Lo) > 1e-9 && math.Abs(usual-iv.Hi) > 1e-9 {
				t.Fatalf("%d of %d against %v: %d more, but at %d the limits are %v", x, n, usual, more, m*n, iv)
			}
		}
	})
	if _, err := TrialsToSettle(5, 10, 0.5, 0.95); !errors.Is(err, ErrNoInformation) {
		t.Errorf("the usual share: %v", err)
	}
}
