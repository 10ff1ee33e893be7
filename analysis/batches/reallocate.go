package batches

import (
	"math"
	"math/bits"
	"math/rand/v2"
)

// draws turns a random stream into the few kinds of draws a replicate needs.
type draws struct{ source *rand.PCG }

// below draws a whole number from 0 to n-1: Lemire (2019), ACM Trans. Model. Comput. Simul. 29(1), without the last
// correction, whose bias is below n/2^64.
func (d draws) below(n int) int {
	hi, _ := bits.Mul64(d.source.Uint64(), uint64(n))
	return int(hi)
}

// unit draws from [0, 1).
func (d draws) unit() float64 { return float64(d.source.Uint64()>>11) / (1 << 53) }

// normal draws a standard normal by Marsaglia's polar method.
func (d draws) normal() float64 {
	for {
		u, v := 2*d.unit()-1, 2*d.unit()-1
		if q := u*u + v*v; q > 0 && q < 1 {
			return u * math.Sqrt(-2*math.Log(q)/q)
		}
	}
}

// reallocate draws which of each model's visits show the component, keeping how many do, and adds up the class's
// weeks. Without drift this is the multivariate hypergeometric distribution over the model's weeks; with drift a
// visit's chance is in proportion to the fitted share of its week (Wallenius' noncentral form).
func (s *scanner) reallocate(b *bench, sr *series, d draws) {
	top := 0.0
	for _, p := range sr.truth.p {
		top = math.Max(top, p)
	}
	for w, p := range sr.truth.p {
		b.keep[w] = p / top
	}
	clear(b.total)
	for i, m := range sr.models {
		clear(b.counts[m])
		if k := sr.cases[i]; k <= directDraws {
			s.drawEach(b, m, k, d)
		} else {
			s.drawWeeks(b, m, k, d)
		}
		for w, x := range b.counts[m] {
			b.total[w] += x
		}
	}
}

// drawEach draws k different visits one by one, a visit of week w with weight keep[w].
func (s *scanner) drawEach(b *bench, m, k int, d draws) {
	weeks, taken, counts := s.weekOf[m], b.taken[m], b.counts[m]
	if b.stamp == math.MaxUint32 { // stamps start over: forget all marks
		for _, t := range b.taken {
			clear(t)
		}
		b.stamp = 0
	}
	b.stamp++
	// Where most visits show the component it is quicker to draw those that don't, but only without weights; the
	// few models like that are drawn directly all the same.
	for tries := 64 * (len(weeks) + k); k > 0; tries-- {
		i := d.below(len(weeks))
		w := weeks[i]
		if taken[i] == b.stamp || tries > 0 && b.keep[w] < 1 && d.unit() >= b.keep[w] {
			continue
		}
		taken[i] = b.stamp
		counts[w]++
		k--
	}
}

// drawWeeks draws the weeks' counts of a model with many cases: normal, with the mean of the weighted allocation and
// its variance without replacement, rounded, within what each week can hold.
func (s *scanner) drawWeeks(b *bench, m, k int, d draws) {
	visits, counts := s.grid.Visits[m], b.counts[m]
	all := 0.0
	for w, v := range visits {
		b.cells[w] = float64(v) * b.keep[w]
		all += b.cells[w]
	}
	n := float64(s.visits[m])
	room := (n - float64(k)) / math.Max(1, n-1)
	for w, v := range visits {
		q := b.cells[w] / all
		mean := float64(k) * q
		x := math.Round(mean + d.normal()*math.Sqrt(mean*(1-q)*room))
		counts[w] = int32(math.Min(math.Max(x, 0), float64(v)))
	}
}
