package stat

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Tarone (1982), rat tumours; Gelman et al., BDA3, table 5.1 (inputs from memory).
func rats() (x, n []int) {
	x = []int{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2, 2, 2, 2, 1, 5, 2, 5, 3, 2, 7, 7, 3,
		3, 2, 9, 10, 4, 4, 4, 4, 4, 4, 4, 10, 4, 4, 4, 5, 11, 12, 5, 5, 6, 5, 6, 6, 6, 6, 16, 15, 15, 9, 4}
	n = []int{20, 20, 20, 20, 20, 20, 20, 19, 19, 19, 19, 18, 18, 17, 20, 20, 20, 20, 19, 19, 18, 18, 25, 24, 23, 20, 20, 20, 20, 20,
		20, 10, 49, 19, 46, 27, 17, 49, 47, 20, 20, 13, 48, 50, 20, 20, 20, 20, 20, 20, 20, 48, 19, 19, 19, 22, 46, 49, 20, 20,
		23, 19, 22, 20, 20, 20, 52, 47, 46, 24, 14}
	return x, n
}

// Maximum likelihood: vignette of Mukhopadhyay and Fletcher (2018) (confirmed, to the
// vignette's own precision); with the 71st group R-only.
func TestBetaBinomialPublished(t *testing.T) {
	x, n := rats()
	p := value(FitBetaBinomial(x[:70], n[:70]))(t)
	agreesTo(t, 1e-6, "EB-1", "beta-binomial MLE alpha k=70", p.Alpha)
	agreesTo(t, 1e-6, "EB-1", "beta-binomial MLE beta k=70", p.Beta)
	p = value(FitBetaBinomial(x, n))(t)
	agreesTo(t, 1e-6, "EB-1", "beta-binomial MLE alpha k=71", p.Alpha)
	agreesTo(t, 1e-6, "EB-1", "beta-binomial MLE beta k=71", p.Beta)
	if p.Source != PriorML || p.Groups != 71 {
		t.Errorf("prior %+v", p)
	}
}

func TestBetaBinomialFallbacks(t *testing.T) {
	for name, c := range map[string]struct {
		x, n []int
		want PriorSource
	}{
		"two groups":     {[]int{1, 5}, []int{10, 20}, PriorWeak},
		"no event":       {[]int{0, 0, 0}, []int{10, 20, 30}, PriorWeak},
		"nothing but":    {[]int{10, 20, 30}, []int{10, 20, 30}, PriorWeak},
		"equal shares":   {[]int{10, 20, 30, 40}, []int{100, 200, 300, 400}, PriorPooled},
		"single trials":  {[]int{1, 0, 1, 0, 1}, []int{1, 1, 1, 1, 1}, PriorPooled},
		"far apart":      {[]int{1, 50, 99, 20}, []int{100, 100, 100, 100}, PriorML},
		"all or nothing": {[]int{0, 100, 0, 100}, []int{100, 100, 100, 100}, PriorML},
	} {
		p, err := FitBetaBinomial(c.x, c.n)
		if err != nil || p.Source != c.want {
			t.Errorf("%s: %+v, %v; want %s", name, p, err, c.want)
		}
		if !(p.Alpha > 0 && p.Beta > 0) {
			t.Errorf("%s: %+v", name, p)
		}
	}
	// The weak prior by hand: 0 of 60 has mean (0+1/2)/61 and is worth 2 trials.
	p := value(FitBetaBinomial([]int{0, 0, 0}, []int{10, 20, 30}))(t)
	near(t, "weak mean", p.Mean(), 0.5/61, 1e-12)
	near(t, "weak strength", p.Alpha+p.Beta, 2, 1e-12)
	if _, err := FitBetaBinomial([]int{0, 0}, []int{0, 0}); !errors.Is(err, ErrNoData) {
		t.Errorf("no trial: %v", err)
	}
	if _, err := FitBetaBinomial([]int{3}, []int{2}); !errors.Is(err, ErrOutOfRange) {
		t.Errorf("3 of 2: %v", err)
	}
}

func TestBetaBinomialProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(3, 40).Draw(t, "groups")
		x, n, miss := make([]int, k), make([]int, k), make([]int, k)
		for i := range x {
			n[i] = rapid.IntRange(0, 300).Draw(t, "n")
			x[i] = rapid.IntRange(0, n[i]).Draw(t, "x")
			miss[i] = n[i] - x[i]
		}
		p, err := FitBetaBinomial(x, n)
		if errors.Is(err, ErrNoData) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		q, err := FitBetaBinomial(miss, n)
		if err != nil || q.Source != p.Source || math.Abs(q.Alpha-p.Beta) > 1e-4*p.Beta || math.Abs(q.Beta-p.Alpha) > 1e-4*p.Alpha {
			t.Fatalf("complement: %+v against %+v (%v)", q, p, err)
		}
		for i := range x {
			fitted, err := p.Posterior(x[i], n[i], 0.95)
			if err != nil || !(0 <= fitted.Lo && fitted.Lo <= fitted.Value && fitted.Value <= fitted.Hi && fitted.Hi <= 1) {
				t.Fatalf("limits %+v (%v)", fitted, err)
			}
			e, err := BetaPrior{Alpha: p.Alpha, Beta: p.Beta}.Posterior(x[i], n[i], 0.95)
			if err != nil {
				t.Fatal(err)
			}
			lo, hi := p.Mean(), p.Mean()
			if n[i] > 0 {
				raw := float64(x[i]) / float64(n[i])
				lo, hi = min(lo, raw), max(hi, raw)
			}
			if e.Value < lo-1e-9 || e.Value > hi+1e-9 {
				t.Fatalf("%d of %d shrinks to %v, outside %v to %v", x[i], n[i], e.Value, lo, hi)
			}
		}
	})
}

// BDA3, section 5.1: a prior from the moments of the 70 historical rates, and the current
// experiment, 4 of 14 (from memory).
func TestBetaPosteriorPublished(t *testing.T) {
	x, n := rats()
	agrees(t, "EB-1", "groups", float64(len(x)))
	sumX, sumN, mean, squares := 0, 0, 0.0, 0.0
	for i := range x {
		sumX += x[i]
		sumN += n[i]
	}
	agrees(t, "EB-1", "sum y", float64(sumX))
	agrees(t, "EB-1", "sum n", float64(sumN))
	for i := range 70 {
		mean += float64(x[i]) / float64(n[i]) / 70
	}
	for i := range 70 {
		d := float64(x[i])/float64(n[i]) - mean
		squares += d * d
	}
	agrees(t, "EB-1", "historical mean", mean)
	agrees(t, "EB-1", "historical sd", math.Sqrt(squares/69))
	worth := mean*(1-mean)/(squares/69) - 1
	agrees(t, "EB-1", "moment alpha", mean*worth)
	agrees(t, "EB-1", "moment beta", (1-mean)*worth)
	e := value(BetaPrior{Alpha: mean * worth, Beta: (1 - mean) * worth}.Posterior(4, 14, 0.95))(t)
	agrees(t, "EB-1", "posterior mean for 4/14", e.Value)
}

// BDA3, section 5.3, full Bayes on a fine grid, with that book's hyperprior: uniform in the
// mean and in 1/sqrt(strength). E(alpha) 2.4 and E(beta) 14.3 are printed (from memory); the
// spread of points must come close to them.
func TestPlausiblePublished(t *testing.T) {
	x, n := rats()
	g := value(newGroups(x, n))(t)
	hyperprior := func(u, v float64) float64 {
		m, c := expit(u)
		return math.Log(m) + math.Log(c) - v/2
	}
	p := value(FitBetaBinomial(x, n))(t)
	var alpha, beta, weight float64
	for _, h := range plausible(g.slopes, hyperprior, math.Log(p.Alpha/p.Beta), math.Log(p.Alpha+p.Beta), -4, 17) {
		a, b := betaShapes(h.u, h.v)
		alpha += h.weight * a
		beta += h.weight * b
		weight += h.weight
	}
	near(t, "weights", weight, 1, 1e-12)
	if math.Abs(alpha-2.4) > 0.06 || math.Abs(beta-14.3) > 0.4 {
		t.Errorf("E(alpha) %.3f, E(beta) %.3f; the source prints 2.4 and 14.3 (memory)", alpha, beta)
	}
}

// Efron and Hastie (2016), table 6.1, car insurance claims (counts confirmed, table from memory).
func TestGammaPoissonPublished(t *testing.T) {
	var count []int
	var exposure []float64
	for k, times := range []int{7840, 1317, 239, 42, 14, 4, 4, 1} {
		for range times {
			count, exposure = append(count, k), append(exposure, 1)
		}
	}
	p := value(FitGammaPoisson(count, exposure))(t)
	agreesTo(t, 1e-6, "EB-2", "gamma shape nu", p.Shape)
	agreesTo(t, 1e-6, "EB-2", "gamma scale sigma", 1/p.Rate)
	plain := GammaPrior{Shape: p.Shape, Rate: p.Rate}
	for k := range 7 {
		e := value(plain.Posterior(k, 1, 0.95))(t)
		agreesTo(t, 1e-6, "EB-2", fmt.Sprintf("gamma-MLE E(theta|x=%d)", k), e.Value)
	}
}

// Bliss and Fisher (1953), mites on apple leaves (from memory).
func TestNegativeBinomialFit(t *testing.T) {
	var count []int
	var exposure []float64
	for k, times := range []int{70, 38, 17, 10, 9, 3, 2, 1} {
		for range times {
			count, exposure = append(count, k), append(exposure, 1)
		}
	}
	p := value(FitGammaPoisson(count, exposure))(t)
	agrees(t, "EB-4", "mean", p.Mean())
	agreesTo(t, 1e-7, "EB-4", "NB size k (MLE)", p.Shape)
	d := NegativeBinomial{Size: p.Shape, Mean: p.Mean()}
	for k := range 8 {
		agreesTo(t, 1e-7, "EB-4", fmt.Sprintf("expected x=%d", k), 150*value(d.PMF(k))(t))
	}
	agreesTo(t, 1e-6, "EB-4", "expected x>=8", 150*value(d.UpperTail(8))(t))
}

// Unequal exposures, R's optim on dnbinom: R-only, to the optimiser's precision.
func TestGammaPoissonExposures(t *testing.T) {
	p := value(FitGammaPoisson([]int{3, 0, 12, 5, 1, 7, 0, 2, 30, 4}, []float64{10, 4, 22, 11, 6, 9, 3, 8, 25, 14}))(t)
	agreesTo(t, 1e-4, "EB-6", "gamma shape", p.Shape)
	agreesTo(t, 1e-5, "EB-6", "gamma mean", p.Mean())
}

// BDA3, section 2.6, asthma deaths (from memory); quantiles of the prediction R-only.
func TestGammaUpdatePublished(t *testing.T) {
	prior := GammaPrior{Shape: 3, Rate: 5}
	first := value(prior.Update(3, 2))(t)
	agrees(t, "EB-5", "posterior mean 3 deaths prior Gamma(3 5)", first.Mean())
	_, upper := gammaTails(first.Shape, first.Rate)
	agrees(t, "EB-5", "P(theta>1) first", upper)
	second := value(prior.Update(30, 20))(t)
	agrees(t, "EB-5", "posterior mean 30 deaths in 10 years", second.Mean())
	_, upper = gammaTails(second.Shape, second.Rate)
	agrees(t, "EB-5", "P(theta>1) second", upper)
	next := value(first.Predictive(2))(t)
	for _, p := range []float64{0.5, 0.9, 0.95, 0.99} {
		agrees(t, "EB-5", fmt.Sprintf("predictive NB next-exposure-2 quantile %g", p), float64(value(next.Quantile(p))(t)))
	}
	agrees(t, "EB-5", "predictive NB P(X=0)", value(next.PMF(0))(t))
	agrees(t, "EB-5", "predictive NB P(X<=3)", value(next.CDF(3))(t))
	faded := value(first.Discount(0.5))(t)
	near(t, "mean after discount", faded.Mean(), first.Mean(), 1e-12)
	near(t, "events after discount", faded.Shape, first.Shape/2, 1e-12)
}

func TestGammaPoissonFallbacks(t *testing.T) {
	for name, c := range map[string]struct {
		x    []int
		t    []float64
		want PriorSource
	}{
		"two groups": {[]int{1, 5}, []float64{10, 20}, PriorWeak},
		"no event":   {[]int{0, 0, 0}, []float64{10, 20, 30}, PriorWeak},
		"equal":      {[]int{10, 20, 30}, []float64{100, 200, 300}, PriorPooled},
		"far apart":  {[]int{1, 50, 99, 20}, []float64{10, 10, 10, 10}, PriorML},
	} {
		p, err := FitGammaPoisson(c.x, c.t)
		if err != nil || p.Source != c.want || !(p.Shape > 0 && p.Rate > 0) {
			t.Errorf("%s: %+v, %v; want %s", name, p, err, c.want)
		}
	}
	if _, err := FitGammaPoisson([]int{0}, []float64{0}); !errors.Is(err, ErrNoData) {
		t.Errorf("no exposure: %v", err)
	}
}

// A fitted prior is one distribution to all its methods: forecasts start from the average
// that Posterior reports.
func TestGammaPriorIsConsistent(t *testing.T) {
	p := value(FitGammaPoisson([]int{3, 0, 12, 5, 1, 7}, []float64{10, 4, 22, 11, 6, 9}))(t)
	mean := value(p.Posterior(0, 0, 0.95))(t).Value
	near(t, "predictive", value(p.Predictive(1))(t).Mean, mean, 1e-12)
	near(t, "discounted", value(p.Discount(0.5))(t).Mean(), mean, 1e-12)
	near(t, "updated", value(p.Update(4, 5))(t).Mean(), value(p.Posterior(4, 5, 0.95))(t).Value, 1e-12)
}

func TestGammaPoissonScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(3, 25).Draw(t, "groups")
		x, days, years := make([]int, k), make([]float64, k), make([]float64, k)
		for i := range x {
			x[i] = rapid.IntRange(0, 60).Draw(t, "x")
			years[i] = rapid.Float64Range(0.1, 20).Draw(t, "years")
			days[i] = 365 * years[i]
		}
		a, errA := FitGammaPoisson(x, years)
		b, errB := FitGammaPoisson(x, days)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		if a.Source != b.Source || math.Abs(a.Mean()-365*b.Mean()) > 1e-5*a.Mean() || math.Abs(a.Shape-b.Shape) > 1e-3*a.Shape {
			t.Fatalf("years %+v, days %+v", a, b)
		}
		e, err := a.Posterior(x[0], years[0], 0.95)
		if err != nil || !(0 <= e.Lo && e.Lo <= e.Value && e.Value <= e.Hi) {
			t.Fatalf("%+v (%v)", e, err)
		}
	})
}

func BenchmarkFitBetaBinomial(b *testing.B) {
	x, n := rats()
	for b.Loop() {
		if _, err := FitBetaBinomial(x, n); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBetaPosterior(b *testing.B) {
	x, n := rats()
	p, err := FitBetaBinomial(x, n)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := p.Posterior(4, 14, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBetaPosteriorMillion(b *testing.B) {
	x, n := rats()
	p, err := FitBetaBinomial(x, n)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := p.Posterior(130_000, 1_000_000, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}
