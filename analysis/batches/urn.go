package batches

import (
	"math"
	"math/bits"
	"math/rand/v2"
)

// An urn holds the visits of one model by cell (week): what the cases of a component are drawn from.
type urn struct {
	visits []int32  // per cell
	cellOf []uint16 // per visit; made when something is drawn visit by visit
	all    int
}

func newUrn(visits []int32) urn {
	u := urn{visits: visits}
	for _, v := range visits {
		u.all += int(v)
	}
	return u
}

// open lists the visits one by one.
func (u *urn) open() {
	if u.cellOf != nil {
		return
	}
	u.cellOf = make([]uint16, 0, u.all)
	for w, v := range u.visits {
		for range v {
			u.cellOf = append(u.cellOf, uint16(w))
		}
	}
}

// single reports whether k cases are few enough to be drawn one by one, which is exact. More are drawn cell by cell.
func (u *urn) single(k int) bool { return k <= 8*len(u.visits) }

// Weights of the cells: a visit's chance of being a case is in proportion.
type weights struct {
	keep  []uint64  // as a fraction of the largest, times 2^64
	value []float64 // as a fraction of the largest
}

func newWeights(p []float64) weights {
	top := 0.0
	for _, v := range p {
		top = math.Max(top, v)
	}
	w := weights{make([]uint64, len(p)), make([]float64, len(p))}
	for i, v := range p {
		w.value[i] = v / top
		w.keep[i] = math.MaxUint64
		if v < top {
			w.keep[i] = uint64(v / top * (1 << 63) * 2)
		}
	}
	return w
}

// A drawer is one goroutine's means to draw: a random stream and marks on the visits already taken.
type drawer struct {
	source *rand.PCG
	normal *rand.Rand
	taken  [][]uint32 // [urn][visit] stamp of the draw that took it
	stamp  uint32
}

func newDrawer(urns []urn) *drawer {
	source := rand.NewPCG(0, 0)
	d := &drawer{source: source, normal: rand.New(source), taken: make([][]uint32, len(urns))}
	for i := range urns {
		d.taken[i] = make([]uint32, len(urns[i].cellOf))
	}
	return d
}

// draw spreads k cases over the cells of an urn and puts them into a tray: without weights the multivariate
// hypergeometric distribution, with weights Wallenius' noncentral form.
func (d *drawer) draw(number int, u *urn, k int, by *weights, into *tray) {
	if u.single(k) {
		d.one(number, u, k, by, into)
	} else {
		d.cells(u, k, by, into)
	}
}

// one draws k different visits one by one. One random number picks the visit (its high bits) and decides whether the
// weight of its cell lets it stand (the rest): Lemire (2019), ACM Trans. Model. Comput. Simul. 29(1), without the
// last correction, whose bias is below n/2^64.
func (d *drawer) one(number int, u *urn, k int, by *weights, into *tray) {
	cellOf, taken := u.cellOf, d.taken[number]
	if d.stamp == math.MaxUint32 { // stamps start over: forget all marks
		for _, t := range d.taken {
			clear(t)
		}
		d.stamp = 0
	}
	d.stamp++
	n := uint64(len(cellOf))
	patience := 64 * (len(cellOf) + k) // then weights are let go: hardly a visit is left
	for ; k > 0; patience-- {
		i, rest := bits.Mul64(d.source.Uint64(), n)
		w := cellOf[i]
		if taken[i] == d.stamp || rest >= by.keep[w] && patience > 0 && by.keep[w] != math.MaxUint64 {
			continue
		}
		taken[i] = d.stamp
		into.put(int(w), 1)
		k--
	}
}

// cells draws cell after cell, the last first, what falls into it of the cases left: normal with the mean, variance
// and skewness of the hypergeometric distribution, rounded, within what can be. With 8 cases a cell or more the
// tails are right to a few per cent as far out as a scan looks.
//
// Cornish and Fisher (1938), Revue de l'Institut International de Statistique 5, 307-320; moments: Johnson, Kemp and
// Kotz (2005), Univariate Discrete Distributions, section 6.3.
func (d *drawer) cells(u *urn, k int, by *weights, into *tray) {
	weight := 0.0
	for w, v := range u.visits {
		weight += float64(v) * by.value[w]
	}
	left := u.all
	for w := len(u.visits) - 1; w >= 0 && k > 0; w-- {
		v := int(u.visits[w])
		if v == 0 {
			continue
		}
		own := float64(v) * by.value[w]
		q := math.Min(own/weight, 1)
		mean := float64(k) * q
		f := float64(k) / float64(left)
		x := mean
		if variance := mean * (1 - q) * (1 - f); variance > 0 {
			sd, z := math.Sqrt(variance), d.normal.NormFloat64()
			x += sd*z + (1-2*q)*(1-2*f)*(z*z-1)/6
		}
		c := min(max(int(math.Floor(x+0.5)), 0, k-(left-v)), v, k)
		if c > 0 {
			into.put(w, int32(c))
		}
		k -= c
		left -= v
		weight -= own
	}
}
