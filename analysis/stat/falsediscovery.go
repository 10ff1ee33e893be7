package stat

import (
	"fmt"
	"sort"
)

// BenjaminiHochberg returns the adjusted p-value (q) of each p, in the order given: the
// least false discovery rate at which that p would be among the findings. Valid for
// independent or positively dependent tests. The input is not changed.
//
// Benjamini and Hochberg (1995), J. R. Stat. Soc. B 57, 289-300.
func BenjaminiHochberg(p []float64) ([]float64, error) {
	if len(p) == 0 {
		return nil, fmt.Errorf("%w: empty list", ErrNoData)
	}
	order := make([]int, len(p))
	for i, v := range p {
		if !(v >= 0 && v <= 1) {
			return nil, outOfRange("p-value %d is %v: want 0 to 1", i+1, v)
		}
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return p[order[i]] < p[order[j]] })
	q := make([]float64, len(p))
	least := 1.0
	for rank := len(order); rank >= 1; rank-- {
		i := order[rank-1]
		least = min(least, p[i]*(float64(len(p))/float64(rank)))
		q[i] = least
	}
	return q, nil
}
