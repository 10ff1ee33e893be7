package findings

import (
	"testing"

	"pgregory.net/rapid"

	"faultgrain/analysis/stat"
	"faultgrain/schemas"
)

func TestDirectedQ(t *testing.T) {
	// By hand: of four tests two point the asked way, with p 0.01 and 0.03; the others count as 1.
	p := []schemas.Float{schemas.Known(0.01), schemas.Known(0.0001), {}, schemas.Known(0.03), schemas.Known(0.002)}
	q, err := DirectedQ(p, []bool{true, false, true, true, false})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []schemas.Float{schemas.Known(0.04), schemas.Known(1), {}, schemas.Known(0.06), schemas.Known(1)} {
		if d := q[i].V - want.V; q[i].OK != want.OK || d > 1e-12 || d < -1e-12 {
			t.Errorf("q[%d] = %v, want %v", i, q[i], want)
		}
	}
}

func TestDirectedQIsNeverBelowBenjaminiHochberg(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raw := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 40).Draw(t, "p")
		points := rapid.SliceOfN(rapid.Bool(), len(raw), len(raw)).Draw(t, "points")
		p := make([]schemas.Float, len(raw))
		for i, v := range raw {
			p[i] = schemas.Known(v)
		}
		directed, err := DirectedQ(p, points)
		if err != nil {
			t.Fatal(err)
		}
		plain, err := stat.BenjaminiHochberg(raw)
		if err != nil {
			t.Fatal(err)
		}
		for i := range raw {
			if directed[i].V < plain[i]-1e-12 || !points[i] && directed[i].V != 1 {
				t.Fatalf("q[%d] = %v beside %v", i, directed[i], plain[i])
			}
		}
	})
}
