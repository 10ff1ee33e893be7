// Package pool puts the bundles of several shops together.
//
// In: bundles, as package bundle reads them. Out: tables of what fails on which model over all shops and in each, of pairs,
// and of faults that rise in several shops at once. Counts of different shops add up; a shop's own figure stays
// beside the pool's and is drawn towards it.
//
// What a bundle withholds is not 0. It is an interval: none up to the most it can be. Estimates take it at what the
// shops together make likely, within that interval; limits, p-values and alarms take it at the end that says least.
//
// It refuses bundles of another version, the same shop twice, and whatever does not add up, before anything is written.
package pool

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"

	"faultgrain/analysis/bundle"
)

// A Shop is one bundle with the name it is shown by.
type Shop struct {
	Name string
	*bundle.Bundle
}

// ErrTwice: two bundles are of the same shop.
var ErrTwice = errors.New("the same shop twice")

// Load reads bundles and checks each, and all against each other. Shops without a name are numbered in the order of paths.
func Load(ctx context.Context, paths []string) ([]Shop, error) {
	var shops []Shop
	seen := map[string]string{} // mark: path
	for i, path := range paths {
		b, err := bundle.Open(ctx, path)
		if err != nil {
			return nil, err
		}
		if other, twice := seen[b.Manifest.Shop]; twice {
			return nil, fmt.Errorf("%w: %s and %s; keep the later one", ErrTwice, other, path)
		}
		seen[b.Manifest.Shop] = path
		shops = append(shops, Shop{name(b, i), b})
	}
	if a, b, found := alike(shops); found {
		return nil, fmt.Errorf("%w: %s and %s count the same visits in the same months; keep one", ErrTwice, paths[a], paths[b])
	}
	names := map[string]int{}
	for i := range shops {
		if names[shops[i].Name]++; names[shops[i].Name] > 1 {
			shops[i].Name = fmt.Sprintf("%s (%s)", shops[i].Name, filepath.Base(paths[i]))
		}
	}
	return shops, nil
}

func name(b *bundle.Bundle, place int) string {
	if b.Manifest.Name != "" {
		return b.Manifest.Name
	}
	return fmt.Sprintf("shop %d", place+1)
}

// alike finds two bundles that count the same visits though their marks differ, as when a log was read into two histories:
// most tallies of faults of the smaller one, and at least 5, stand in the other, too.
func alike(shops []Shop) (a, b int, found bool) {
	holders := map[bundle.Faults][]int{}
	for i, s := range shops {
		same := make([]int, i)
		for _, f := range s.Faults {
			for _, j := range holders[f] {
				same[j]++
			}
			holders[f] = append(holders[f], i)
		}
		for j, n := range same {
			if n >= 5 && n*5 >= 4*min(len(s.Faults), len(shops[j].Faults)) {
				return j, i, true
			}
		}
	}
	return 0, 0, false
}
