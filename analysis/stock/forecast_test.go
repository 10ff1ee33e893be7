package stock

import (
	"math"
	"testing"

	"faultgrain/analysis/stat"
	"pgregory.net/rapid"
)

func foreseen(t testing.TB, prior stat.GammaPrior, weeks ...int) *Forecast {
	t.Helper()
	f, err := newForecast(prior)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range weeks {
		if err := f.Observe(n); err != nil {
			t.Fatal(err)
		}
	}
	return f
}

// By hand, one habit that keeps all, neither grows nor clumps: Gamma(1, 1) and weeks of 3, 0 and 2 give Gamma(6, 4), so
// two weeks are negative binomial with size 6 and mean 3 (conjugate gamma-Poisson, for example Gelman and others,
// Bayesian Data Analysis, section 2.6; from memory).
func TestOneHabitIsTheConjugateModel(t *testing.T) {
	f := &Forecast{beliefs: []belief{{habit: habit{keep: 1, growth: 1, clump: 1, weight: 1}, shape: 1, rate: 1, chance: 1}}}
	for _, n := range []int{3, 0, 2} {
		if err := f.Observe(n); err != nil {
			t.Fatal(err)
		}
	}
	got := f.Over(14)
	if math.Abs(got.Size-6) > 1e-9 || math.Abs(got.Mean-3) > 1e-9 {
		t.Errorf("two weeks %+v, want size 6 and mean 3", got)
	}
	if r := f.Rate(14); math.Abs(r.Shape-6) > 1e-9 || math.Abs(r.Rate-4) > 1e-9 {
		t.Errorf("rate Gamma(%v, %v), want Gamma(6, 4)", r.Shape, r.Rate)
	}
}

// By hand: growth of a half a week on 4 a week, 2 weeks: 4 x (1/2 + 1/4) = 3. Three of keep 1/2 on shape 8 for one
// week: shape 4.
func TestOneHabitAhead(t *testing.T) {
	b := belief{habit: habit{keep: 1, growth: 0.5, clump: 1}, shape: 8, rate: 2}
	if got := b.ahead(2).Mean; math.Abs(got-3) > 1e-12 {
		t.Errorf("mean of two halving weeks %v, want 3", got)
	}
	b = belief{habit: habit{keep: 0.5, growth: 1, clump: 1}, shape: 8, rate: 2}
	if got := b.ahead(1); math.Abs(got.Size-4) > 1e-12 || got.Mean != 4 {
		t.Errorf("a week ahead %+v, want size 4 and mean 4", got)
	}
	b.clump = 3 // variance 3 x 4 + 4^2/4 = 16 = 4 + 4^2/size
	if got := b.ahead(1); math.Abs(got.Variance()-16) > 1e-9 {
		t.Errorf("variance %v of a clumping week, want 16", got.Variance())
	}
}

func TestTheForecastFollows(t *testing.T) {
	prior := stat.GammaPrior{Shape: 0.5, Rate: 1}
	series := func(week func(i int) int) *Forecast {
		f := foreseen(t, prior)
		for i := range 104 {
			if err := f.Observe(week(i)); err != nil {
				t.Fatal(err)
			}
		}
		return f
	}
	for name, tc := range map[string]struct {
		week   func(i int) int
		lo, hi float64 // mean of the next week
	}{
		"steady":               {func(i int) int { return 3 + i%3 }, 3.5, 4.5},
		"died half a year ago": {func(i int) int { return max(0, min(4, 78-i)) }, 0, 0.2},
		"doubled two months ago": {func(i int) int {
			if i < 95 {
				return 3 + i%3
			}
			return 7 + i%3
		}, 6.5, 10},
		"never asked for": {func(int) int { return 0 }, 0, 0.02},
	} {
		if got := series(tc.week).Over(7).Mean; got < tc.lo || got > tc.hi {
			t.Errorf("%s: %v next week, want %v to %v", name, got, tc.lo, tc.hi)
		}
	}
	// The same mean in clumps needs more on the shelf.
	level := func(week func(i int) int) int {
		n, err := series(week).Over(14).Quantile(0.95)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	if steady, clumps := level(func(i int) int { return 2 }), level(func(i int) int { return 8 * max(0, 1-i*7%4) }); clumps <= steady {
		t.Errorf("level %d in clumps of 8, %d at 2 a week; want more in clumps", clumps, steady)
	}
}

// Whatever was asked for, the forecast is a distribution: finite, above 0, and its quantiles rise.
func TestTheForecastIsAlwaysADistribution(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		weeks := rapid.SliceOfN(rapid.OneOf(rapid.Just(0), rapid.IntRange(0, 9), rapid.IntRange(0, 100_000)), 0, 60).Draw(t, "weeks")
		f, err := newForecast(stat.GammaPrior{Shape: rapid.Float64Range(1e-3, 1e3).Draw(t, "shape"), Rate: rapid.Float64Range(1e-3, 1e3).Draw(t, "rate")})
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range weeks {
			if err := f.Observe(n); err != nil {
				t.Fatal(err)
			}
		}
		days := rapid.IntRange(1, 1500).Draw(t, "days")
		d := f.Over(days)
		if !(d.Mean > 0) || !(d.Size > 0) || math.IsInf(d.Mean, 0) || math.IsInf(d.Size, 0) {
			t.Fatalf("demand of %d days %+v", days, d)
		}
		half, err := d.Quantile(0.5)
		if err != nil {
			t.Fatal(err)
		}
		most, err := d.Quantile(MostLevel)
		if err != nil || most < half {
			t.Fatalf("quantiles %d and %d, %v", half, most, err)
		}
		if _, err := f.Rate(days).Posterior(0, 0, 0.95); err != nil {
			t.Fatal(err)
		}
	})
}

func BenchmarkYearOfReviews(b *testing.B) {
	c := Course{Demand: make([]int, 7*156), Lead: 10, Review: 7}
	for i := range c.Demand {
		c.Demand[i] = i * i % 11 / 9
	}
	for b.Loop() {
		if _, err := c.Compare(104, stat.GammaPrior{Shape: 0.5, Rate: 1}, Target{0.95, ServiceLevel}); err != nil {
			b.Fatal(err)
		}
	}
}
