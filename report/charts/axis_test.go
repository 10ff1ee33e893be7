package charts

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestFit(t *testing.T) {
	for _, tc := range []struct {
		unit   Unit
		values []float64
		ticks  []float64
	}{
		{Share, []float64{0.05, 0.38}, []float64{0, 0.1, 0.2, 0.3, 0.4}},
		{Share, []float64{0.97}, []float64{0, 0.25, 0.5, 0.75, 1}},
		{Share, []float64{0, 0}, []float64{0, 0.025, 0.05, 0.075, 0.1}},
		{Count, []float64{3, 11}, []float64{0, 5, 10, 15}},
		{Count, []float64{2}, []float64{0, 1, 2}},
		{Count, []float64{0}, []float64{0, 1}},
		{Number, []float64{9.3}, []float64{0, 2.5, 5, 7.5, 10}},
		{Ratio, []float64{1}, []float64{1}},
		{Ratio, []float64{0.3, 5}, []float64{0.5, 1, 2, 4}},
		{Minutes, []float64{9, 300}, []float64{10, 15, 30, 60, 120, 240}},
	} {
		var ptrs []*float64
		for _, v := range tc.values {
			ptrs = append(ptrs, &v)
		}
		s, err := tc.unit.fit(ptrs)
		if err != nil {
			t.Errorf("%v %v: %v", tc.unit, tc.values, err)
		}
		if !slices.Equal(s.ticks, tc.ticks) {
			t.Errorf("unit %v, values %v: ticks %v, want %v", tc.unit, tc.values, s.ticks, tc.ticks)
		}
	}
	if _, err := Share.fit([]*float64{nil, nil}); err == nil {
		t.Error("a scale was fitted to nothing")
	}
}

// A scale holds its values (a ratio's up to widestRatio), starts below it ends, and
// has rising ticks inside.
func TestFitProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]Unit{Share, Number, Count, Minutes, Ratio}).Draw(t, "unit")
		most := map[Unit]float64{Share: 1, Number: 1e9, Count: 1e6, Minutes: 1e4, Ratio: widestRatio}[unit]
		least := map[Unit]float64{Minutes: 1, Ratio: 1.0 / widestRatio}[unit]
		values := rapid.SliceOfN(rapid.Float64Range(least, most), 1, 20).Draw(t, "values")
		var ptrs []*float64
		for _, v := range values {
			ptrs = append(ptrs, &v)
		}
		s, err := unit.fit(ptrs)
		if err != nil {
			t.Fatal(err)
		}
		if !(s.min < s.max) || math.IsInf(s.max, 0) || unit.logarithmic() && s.min <= 0 {
			t.Fatalf("scale runs from %v to %v", s.min, s.max)
		}
		for _, v := range values {
			if v < s.min-1e-4 || v > s.max+1e-4 {
				t.Fatalf("%v is outside %v to %v", v, s.min, s.max)
			}
		}
		if len(s.ticks) == 0 || len(s.ticks) > 14 {
			t.Fatalf("%d ticks", len(s.ticks))
		}
		for i, tick := range s.ticks {
			if tick < s.min || tick > s.max || i > 0 && tick <= s.ticks[i-1] {
				t.Fatalf("ticks %v on %v to %v", s.ticks, s.min, s.max)
			}
		}
	})
}
