package batches

import (
	"math"
	"testing"
)

// Both ways to draw keep the number of cases, never take a visit twice, and without weights spread the cases as the
// hypergeometric distribution does: Johnson, Kemp and Kotz, Univariate Discrete Distributions, section 6.3.
func TestDrawIsHypergeometric(t *testing.T) {
	for _, tc := range []struct {
		name  string
		perWk int32
		k     int
	}{{"one by one", 4, 36}, {"most of them", 4, 110}, {"cell by cell", 100, 600}, {"cell by cell, most of them", 40, 1000}} {
		visits := make([]int32, 30)
		even := make([]float64, 30)
		for w := range visits {
			visits[w], even[w] = tc.perWk+int32(w%3), 0.3
		}
		urns := []urn{newUrn(visits)}
		u := &urns[0]
		u.open()
		if u.single(tc.k) != (tc.perWk == 4) {
			t.Fatalf("%s: drawn the other way", tc.name)
		}
		d := newDrawer(urns)
		d.source.Seed(9, 9)
		by := newWeights(even)
		in := 0.0
		for _, v := range visits[26:] {
			in += float64(v)
		}
		const runs = 20000
		var sum, square, cube float64
		n, k := float64(u.all), float64(tc.k)
		mean, variance := k*in/n, k*in/n*(1-in/n)*(n-k)/(n-1)
		into := newTray(30)
		for range runs {
			d.draw(0, u, tc.k, &by, &into)
			x, all := 0.0, 0
			into.each(func(w int, c int32) {
				if c < 0 || c > visits[w] {
					t.Fatalf("%s: week %d: %d cases in %d visits", tc.name, w, c, visits[w])
				}
				all += int(c)
				if w >= 26 {
					x += float64(c)
				}
			})
			if all != tc.k {
				t.Fatalf("%s: %d cases drawn, want %d", tc.name, all, tc.k)
			}
			sum += x
			square += (x - mean) * (x - mean)
			cube += math.Pow((x-mean)/math.Sqrt(variance), 3)
		}
		if got := sum / runs; math.Abs(got-mean) > 4*math.Sqrt(variance/runs) {
			t.Errorf("%s: mean %.3f, want %.3f", tc.name, got, mean)
		}
		if got := square / runs / variance; math.Abs(got-1) > 4*math.Sqrt(2.0/runs)+0.02 {
			t.Errorf("%s: variance %.3f times that of the hypergeometric", tc.name, got)
		}
		skew := (n - 2*k) * math.Sqrt(n-1) * (n - 2*in) / (math.Sqrt(k*in*(n-k)*(n-in)) * (n - 2))
		if got := cube / runs; math.Abs(got-skew) > 4*math.Sqrt(6.0/runs)+0.02 {
			t.Errorf("%s: skewness %.3f, want %.3f", tc.name, got, skew)
		}
	}
}

// With few cases among many visits, a visit is drawn in proportion to the weight of its week.
func TestDrawFollowsWeights(t *testing.T) {
	visits, p := make([]int32, 20), make([]float64, 20)
	total := 0.0
	for w := range visits {
		visits[w], p[w] = 60, 0.01*float64(w+1)
		total += p[w]
	}
	urns := []urn{newUrn(visits)}
	urns[0].open()
	d := newDrawer(urns)
	d.source.Seed(3, 4)
	for _, k := range []int{6, 161} { // one by one, cell by cell
		into, by := newTray(20), newWeights(p)
		runs := 200_000 / k
		for range runs {
			d.draw(0, &urns[0], k, &by, &into)
		}
		for w, c := range into.counts {
			want := float64(k*runs) * p[w] / total
			tolerance := 4 * math.Sqrt(want) // and, without replacement, heavy weeks give out a little
			if k > 100 {
				tolerance += 0.1 * want
			}
			if math.Abs(float64(c)-want) > tolerance {
				t.Errorf("%d cases: week %d drawn %d times, want %.0f", k, w, c, want)
			}
		}
	}
}
