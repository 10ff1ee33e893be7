package pool

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"faultgrain/analysis/bundle"
)

// A key is a component of a model.
type key struct{ model, component string }

// A held is what a shop tells of a component of a model, and what it withholds.
type held struct {
	told, covered int // faults told, and the visits they are told of
	visits        int // of the model
	least, most   int // faults withheld
}

// at is the number of faults if a share of the visits that nothing is told of show the component, within what is possible.
func (h held) at(share float64) int {
	return h.told + min(max(int(math.Round(share*float64(h.visits-h.covered))), h.least), h.most)
}

// A census holds what all shops tell.
type census struct {
	shops  []Shop
	models map[string]bundle.Visits // class, maker and family that most visits carry
	visits []map[string]int         // by shop and model
	held   []map[key]held           // by shop; only of components that the shop tells of
	tail   []map[key]bundle.Month   // by shop: where what is told ends
	keys   []key                    // told by a shop at least, no causes
	share  map[key]float64          // over all shops, see settle
}

func newCensus(shops []Shop) *census {
	c := &census{shops: shops, models: map[string]bundle.Visits{}, share: map[key]float64{}}
	keys := map[key]bool{}
	most := map[bundle.Visits]int{}
	for _, s := range shops {
		visits, told, tail := map[string]int{}, map[key]held{}, map[key]bundle.Month{}
		for _, v := range s.Visits {
			visits[v.Model] += v.Visits
			d := bundle.Visits{Model: v.Model, Class: v.Class, Maker: v.Maker, Family: v.Family}
			most[d] += v.Visits
		}
		for _, f := range s.Faults {
			if f.Cause {
				continue
			}
			k := key{f.Model, f.Component}
			h := told[k]
			if f.Told {
				h.told, h.covered = h.told+f.Faults, h.covered+f.Visits
				keys[k] = true
			} else { // not few, but how many is not told
				h.least, h.most = h.least+min(bundle.LeastThreshold, f.Visits), h.most+f.Visits
			}
			h.visits += f.Visits
			told[k], tail[k] = h, f.To
		}
		c.visits, c.held, c.tail = append(c.visits, visits), append(c.held, told), append(c.tail, tail)
	}
	for d := range most {
		before, ok := c.models[d.Model]
		if !ok || cmp.Or(cmp.Compare(most[before], most[d]), cmp.Compare(d.Class, before.Class), cmp.Compare(d.Maker, before.Maker), cmp.Compare(d.Family, before.Family)) < 0 {
			c.models[d.Model] = d
		}
	}
	c.keys = slices.SortedFunc(maps.Keys(keys), func(a, b key) int {
		return cmp.Or(cmp.Compare(c.models[a.model].Class, c.models[b.model].Class), cmp.Compare(a.model, b.model), cmp.Compare(a.component, b.component))
	})
	c.settle()
	return c
}

// of is what a shop holds of a component: also of one it tells nothing about, of which it then saw less than its threshold.
func (c *census) of(shop int, k key) held {
	h := c.held[shop][k]
	tail := c.visits[shop][k.model] - h.visits // visits after the last row
	h.visits = c.visits[shop][k.model]
	h.most += min(c.shops[shop].Manifest.Threshold-1, tail)
	return h
}

// settle finds the share of each component over all shops, the withheld taken at that very share within its interval: the
// maximum likelihood where the intervals don't bind, by expectation and maximisation (Dempster, Laird and Rubin 1977,
// J. R. Stat. Soc. B 39, 1-38).
func (c *census) settle() {
	for _, k := range c.keys {
		told, covered := 0, 0
		for s := range c.shops {
			h := c.of(s, k)
			told, covered = told+h.told, covered+h.covered
		}
		share := float64(told) / float64(covered)
		for range 50 {
			faults, visits := 0.0, 0
			for s := range c.shops {
				h := c.of(s, k)
				faults += float64(h.told) + math.Min(math.Max(share*float64(h.visits-h.covered), float64(h.least)), float64(h.most))
				visits += h.visits
			}
			next := faults / float64(visits)
			if math.Abs(next-share) < 1e-9 {
				break
			}
			share = next
		}
		c.share[k] = share
	}
}

// An end says at which end of its interval a withheld count is taken.
type end int

const (
	likely end = iota
	least
	most
)

// faults of a component of a model in a shop.
func (c *census) faults(shop int, k key, e end) int {
	h := c.of(shop, k)
	switch e {
	case least:
		return h.told + h.least
	case most:
		return h.told + h.most
	}
	return h.at(c.share[k])
}
