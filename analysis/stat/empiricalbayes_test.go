package stat

import (
	"errors"
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
