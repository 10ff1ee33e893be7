package stat

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Leaving a value out by hand and fitting anew is what FitRobustOthers stands for; FitRobust itself is held to published
// values beside it. Few distinct values make ties and spreads of 0.
func TestFitRobustOthersIsFitRobustOfTheOthers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.OneOf(rapid.Float64Range(-50, 50), rapid.SampledFrom([]float64{0, 1, 1.5, 4}))
		values := rapid.SliceOfN(value, 2, 12).Draw(t, "values")
		before := slices.Clone(values)
		got, err := FitRobustOthers(values)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(values, before) {
			t.Fatal("the input was changed")
		}
		for i := range values {
			want, err := FitRobust(slices.Delete(slices.Clone(values), i, i+1))
			if err != nil {
				t.Fatal(err)
			}
			g := got[i]
			if g.Median != want.Median || g.MAD != want.MAD || g.Source != want.Source || math.Abs(g.unit-want.unit) > 1e-12*(1+want.unit) {
				t.Fatalf("without %v of %v: got %+v, want %+v", values[i], values, g, want)
			}
		}
	})
}

func TestFitRobustOthersRefuses(t *testing.T) {
	for _, values := range [][]float64{nil, {1}, {1, math.NaN()}, {1, math.Inf(1), 2}} {
		if got, err := FitRobustOthers(values); err == nil {
			t.Errorf("%v: got %v, want an error", values, got)
		}
	}
}

func BenchmarkFitRobustOthers(b *testing.B) {
	values := make([]float64, 20_000)
	for i := range values {
		values[i] = math.Sin(float64(i))
	}
	for b.Loop() {
		if _, err := FitRobustOthers(values); err != nil {
			b.Fatal(err)
		}
	}
}
