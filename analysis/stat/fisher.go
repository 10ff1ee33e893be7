package stat

import (
	"math"
	"sort"
)

// FisherP holds the exact p-values of a 2x2 table, all conditional on its margins.
//
// TwoSided adds up the tables no more likely than the observed one. MidP counts those
// as likely as the observed one (it included) by half, so that its mean under the
// hypothesis is exactly 1/2; MidLess and MidGreater count the observed table by half.
type FisherP struct {
	Less, Greater, TwoSided   float64
	MidLess, MidGreater, MidP float64
}

// FisherMidP is the two-sided mid-p value of Fisher's exact test; see Fisher.
func FisherMidP(t Table2) (float64, error) {
	p, err := Fisher(t)
	return p.MidP, err
}

// Fisher tests whether the odds ratio of a 2x2 table is 1. A table with an empty margin
// says nothing: every p is then 1, the mid-p values too. Cost grows with the square root
// of the counts.
//
// Fisher (1935), J. R. Stat. Soc. 98, 39-82; mid-p after Lancaster (1961), J. Am. Stat.
// Assoc. 56, 223-234. Two tables count as equally likely when their probabilities agree
// to 1e-7, the tolerance R's fisher.test uses.
func Fisher(t Table2) (FisherP, error) {
	if err := t.check(); err != nil {
		return FisherP{}, err
	}
	if t.fixed() {
		return FisherP{1, 1, 1, 1, 1, 1}, nil
	}
	h := newHypergeometric(t)
	x := t.A
	at := h.log(x)
	here := math.Exp(at)
	var below, above float64 // P(A <= x), P(A >= x); the smaller one is summed
	if x <= h.mode {
		below = h.down(x)
		above = 1 - below + here
	} else {
		above = h.up(x)
		below = 1 - above + here
	}
	const tie = 1e-7
	two, ties := 0.0, here
	switch {
	case x < h.mode:
		// The first table from the mode on that is no more likely than the observed one.
		y := h.mode + sort.Search(h.hi-h.mode+1, func(i int) bool { return h.log(h.mode+i) <= at+tie })
		two = below + h.up(y)
		ties += h.tied(y, at, tie)
	case x > h.mode:
		y := h.mode - sort.Search(h.mode-h.lo+1, func(i int) bool { return h.log(h.mode-i) <= at+tie })
		two = above + h.down(y)
		ties += h.tied(y, at, tie)
	default:
		two = 1
		ties += h.tied(x-1, at, tie) // of two equal modes, mode is the upper one
	}
	return FisherP{
		Less: probability(below), Greater: probability(above), TwoSided: probability(two),
		MidLess: probability(below - here/2), MidGreater: probability(above - here/2),
		MidP: probability(two - ties/2),
	}, nil
}

// A hypergeometric is the distribution of A in a 2x2 table with given margins.
type hypergeometric struct {
	row, other, col float64 // first row, second row, first column
	lo, hi, mode    int
}

func newHypergeometric(t Table2) hypergeometric {
	h := hypergeometric{row: float64(t.A + t.B), other: float64(t.C + t.D), col: float64(t.A + t.C)}
	h.lo, h.hi = t.support()
	h.mode = int(math.Floor((h.row + 1) * (h.col + 1) / (h.row + h.other + 2)))
	h.mode = min(max(h.mode, h.lo), h.hi)
	return h
}

func (h hypergeometric) log(x int) float64 {
	return logHypergeometric(float64(x), h.row, h.other, h.col)
}

// tied is the probability of y when it equals that of log probability at, else 0.
func (h hypergeometric) tied(y int, at, tie float64) float64 {
	if y < h.lo || y > h.hi {
		return 0
	}
	if ly := h.log(y); math.Abs(ly-at) <= tie {
		return math.Exp(ly)
	}
	return 0
}

// up is P(A >= x) for x at or past the mode, summed outward until nothing is added.
func (h hypergeometric) up(x int) float64 {
	if x > h.hi {
		return 0
	}
	sum, term := 1.0, 1.0
	for v := x; v < h.hi; v++ {
		a := float64(v)
		term *= (h.row - a) * (h.col - a) / ((a + 1) * (h.other - h.col + a + 1))
		sum += term
		if term < sum*epsilon/8 {
			break
		}
	}
	return math.Exp(h.log(x) + math.Log(sum))
}

// down is P(A <= x) for x at or before the mode.
func (h hypergeometric) down(x int) float64 {
	if x < h.lo {
		return 0
	}
	sum, term := 1.0, 1.0
	for v := x; v > h.lo; v-- {
		a := float64(v)
		term *= a * (h.other - h.col + a) / ((h.row - a + 1) * (h.col - a + 1))
		sum += term
		if term < sum*epsilon/8 {
			break
		}
	}
	return math.Exp(h.log(x) + math.Log(sum))
}
