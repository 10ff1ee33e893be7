package findings

import (
	"fmt"

	"faultgrain/analysis/stat"
	"faultgrain/schemas"
)

// DirectedQ corrects two-sided p-values for a question that asks in one direction only: a row that points
// the other way counts as a test that found nothing (p = 1), never as one of the discoveries that make room
// for more. Without this, the many components of a log that avoid each other, or that fail less because
// another fails more, would let false findings of the asked direction through. Each q is at least the
// Benjamini-Hochberg q over the same table. Unknown p gives unknown q. p and points are beside each other.
func DirectedQ(p []schemas.Float, points []bool) ([]schemas.Float, error) {
	if len(p) != len(points) {
		return nil, fmt.Errorf("directed q: %d p-values, %d directions", len(p), len(points))
	}
	q := make([]schemas.Float, len(p))
	var known []float64
	var at []int
	for i, v := range p {
		switch {
		case !v.OK:
			continue
		case points[i]:
			known = append(known, v.V)
		default:
			known = append(known, 1)
		}
		at = append(at, i)
	}
	if len(known) == 0 {
		return q, nil
	}
	adjusted, err := stat.BenjaminiHochberg(known)
	if err != nil {
		return nil, fmt.Errorf("directed q: %w", err)
	}
	for i, v := range adjusted {
		q[at[i]] = schemas.Known(v)
	}
	return q, nil
}
