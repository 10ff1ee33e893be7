package batches

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// A course that is put in is found again, within four standard errors.
func TestCourseFindsSlopeAndSeason(t *testing.T) {
	x := axis(Baseline + MaxWindow)
	truth := vector{-2, 0.5, 0.3, -0.2}
	rng := rand.New(rand.NewPCG(4, 4))
	cases, visits := make([]int32, len(x)), make([]int32, len(x))
	for w := range x {
		visits[w] = 2000
		for range visits[w] {
			if rng.Float64() < 1/(1+math.Exp(-truth.dot(x[w]))) {
				cases[w]++
			}
		}
	}
	c := newCourse(x, cases, visits)
	for i := range terms {
		if se := math.Sqrt(c.cover[i][i]); math.Abs(c.at[i]-truth[i]) > 4*se {
			t.Errorf("term %d: %.3f with standard error %.3f, want %.3f", i, c.at[i], se, truth[i])
		}
	}
}

func TestCourseOfEveryVisitIsFinite(t *testing.T) {
	x := axis(30)
	visits := make([]int32, len(x))
	visits[3], visits[29] = 5, 1
	c := newCourse(x, visits, visits)
	for w, p := range c.p {
		if !(p > 0 && p < 1) {
			t.Errorf("week %d: share %v", w, p)
		}
	}
	if c.at[2] != 0 || c.at[3] != 0 {
		t.Error("a history of less than a year was given a season")
	}
}

// The bound that windows are passed over by: no log-likelihood ratio is above the chi-square of its table.
func TestBernoulliIsBelowChiSquare(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		N := rapid.IntRange(2, 400).Draw(t, "trials")
		n := rapid.IntRange(1, N-1).Draw(t, "visits")
		C := rapid.IntRange(1, N-1).Draw(t, "cases")
		c := rapid.IntRange(max(0, C-(N-n)), min(n, C)).Draw(t, "inside")
		e := float64(C) * float64(n) / float64(N)
		d := float64(c) - e
		chi := d * d * float64(N) * float64(C) / (float64(N-C) * e * (float64(C) - e))
		if llr := bernoulli(float64(c), float64(n), float64(C), float64(N)); llr > chi*(1+1e-12) {
			t.Fatalf("%v above %v", llr, chi)
		}
	})
}
