package batches

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Models whose odds drift each by itself are told from models that don't: the variance of the slopes put in is found
// again within four standard errors, which are (1/I + variance) sqrt(2/series) with the information I of about 10.
func TestWanderIsMeasured(t *testing.T) {
	for _, sd := range []float64{0, 0.5} {
		const models, components, weeks = 20, 6, Baseline + MaxWindow
		rng := rand.New(rand.NewPCG(8, 8))
		g := nullGrid(models, components, weeks, 15, 0.2, rng)
		for c := range components {
			for m := range models {
				slope := sd * rng.NormFloat64()
				for w := range weeks {
					p := 1 / (1 + 4*math.Exp(-slope*float64(w-weeks/2)/52))
					g.Cases[c][m][w] = 0
					for range g.Visits[m][w] {
						if rng.Float64() < p {
							g.Cases[c][m][w]++
						}
					}
				}
			}
		}
		want := sd * sd
		margin := 4 * (0.1 + want) * math.Sqrt(2.0/(models*components))
		if got := newScanner(g).wander(0); math.Abs(got-want) > margin {
			t.Errorf("variance %.3f, want %.3f within %.3f", got, want, margin)
		}
	}
}
