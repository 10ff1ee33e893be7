package bundle

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

// An attacker knows every tally of a bundle, that counts are no less than 0, and the rules by which spans close. Unknown to
// him is how many visits of each of the model's spans show each set of components. All he knows is linear in these, so the least and
// the most that a withheld count can be are two linear programs: no attack by sums, differences or bounds does better.
type attacker struct {
	spans      []Visits
	components []string
	rows       [][]float64 // coefficients of what is known to equal, then of what is at most
	equal      []float64
	most       [][]float64
	atMost     []float64
}

func newAttacker(spans []Visits, components []string) *attacker {
	a := &attacker{spans: spans, components: components}
	for i, v := range spans {
		a.knows(a.visits(i, i, nil), float64(v.Visits))
	}
	return a
}

func (a *attacker) size() int { return len(a.spans) << len(a.components) }

// visits sums the visits of spans first to last that show all of some components.
func (a *attacker) visits(first, last int, show []string) []float64 {
	sum := make([]float64, a.size())
	want := 0
	for _, c := range show {
		want |= 1 << slices.Index(a.components, c)
	}
	for i := first; i <= last; i++ {
		for set := range 1 << len(a.components) {
			if set&want == want {
				sum[i<<len(a.components)|set] = 1
			}
		}
	}
	return sum
}

func (a *attacker) knows(sum []float64, n float64) {
	a.rows, a.equal = append(a.rows, sum), append(a.equal, n)
}

func (a *attacker) bounds(sum []float64, most int) {
	a.most, a.atMost = append(a.most, sum), append(a.atMost, float64(most))
}

// extent is the least and the most that a sum can be.
func (a *attacker) extent(t *testing.T, sum []float64) (lo, hi float64) {
	t.Helper()
	n, slack := a.size(), len(a.most)
	A := mat.NewDense(len(a.rows)+slack, n+slack, nil)
	b := slices.Concat(a.equal, a.atMost)
	for i, r := range slices.Concat(a.rows, a.most) {
		for j, v := range r {
			A.Set(i, j, v)
		}
		if s := i - len(a.rows); s >= 0 {
			A.Set(i, n+s, 1)
		}
	}
	at := [2]float64{}
	for k, sign := range []float64{1, -1} {
		c := make([]float64, n+slack)
		for j, v := range sum {
			c[j] = sign * v
		}
		best, _, err := lp.Simplex(c, A, b, 1e-9, nil)
		if err != nil {
			t.Fatalf("the attack can't be computed: %v", err)
		}
		at[k] = sign * best
	}
	return at[0], at[1]
}

// learn takes in a bundle's tallies of one model, and what the rules say of those that are not there.
func (a *attacker) learn(b *Bundle, model string, least int) {
	first := func(m Month) int { return slices.IndexFunc(a.spans, func(v Visits) bool { return v.From == m }) }
	last := func(m Month) int { return slices.IndexFunc(a.spans, func(v Visits) bool { return v.To == m }) }
	after := map[string]int{}
	for _, f := range b.Faults {
		if f.Model != model {
			continue
		}
		i, j := first(f.From), last(f.To)
		if after[f.Component] = j + 1; f.Told {
			a.knows(a.visits(i, j, []string{f.Component}), float64(f.Faults))
		}
		if j > i { // the span did not close a span earlier
			a.bounds(a.visits(i, j-1, []string{f.Component}), least-1)
		}
	}
	for _, c := range a.components {
		if after[c] < len(a.spans) {
			a.bounds(a.visits(after[c], len(a.spans)-1, []string{c}), least-1)
		}
	}
	for _, p := range b.Pairs {
		if p.Model == model {
			a.knows(a.visits(first(p.From), last(p.To), []string{p.A, p.B}), float64(p.Both))
		}
	}
}

const attackedModel = "Lark 7"

// attacked makes up a model's months: shares of three or so components, some that go together.
func attacked(r *rand.Rand, months, components int) *counts {
	from, _ := ParseMonth("2024-01")
	c := newCounts(from, from+Month(months)-1)
	c.models[attackedModel] = Visits{Model: attackedModel, Class: "phone", Maker: "Lark"}
	share := make([]float64, components)
	for i := range share {
		share[i] = []float64{0.03, 0.1, 0.3, 0.5, 0.85}[r.IntN(5)]
	}
	together := r.Float64()
	volume := 5 + r.IntN(80)
	usual := slices.Clone(share)
	for m := c.first; m <= c.last; m++ {
		for i := range share { // now and then a month in which nearly all or nearly none fail: tight bounds
			switch share[i] = usual[i]; r.IntN(6) {
			case 0:
				share[i] = 0.97
			case 1:
				share[i] = 0.01
			}
		}
		for range volume/2 + r.IntN(volume+1) {
			var seen []string
			for i, s := range share {
				if i > 0 && len(seen) > 0 && r.Float64() < together/2 || r.Float64() < s {
					seen = append(seen, fmt.Sprintf("c%d", i))
				}
			}
			add(c, c.visits, attackedModel, m, 1)
			for i, a := range seen {
				add(c, c.faults, faultKey{attackedModel, a}, m, 1)
				for _, b := range seen[i+1:] {
					add(c, c.both, pairKey{attackedModel, a, b}, m, 1)
				}
			}
		}
	}
	return c
}

func names(n int) (list []string) {
	for i := range n {
		list = append(list, fmt.Sprintf("c%d", i))
	}
	return list
}

func TestAttackerRecoversNoSuppressedCell(t *testing.T) {
	const least, components = LeastThreshold, 3
	withheld, pairs, several := 0, 0, 0
	for seed := range uint64(24) {
		r := rand.New(rand.NewPCG(8, seed))
		c := attacked(r, 4+r.IntN(9), components)
		b := c.tell(least, nil)
		if len(b.Visits) == 0 {
			continue
		}
		a := newAttacker(b.Visits, names(components))
		a.learn(b, attackedModel, least)
		pairs += len(b.Pairs)
		for _, name := range a.components {
			for i, v := range b.Visits {
				row := slices.IndexFunc(b.Faults, func(f Faults) bool { return f.Component == name && f.From <= v.From && f.To >= v.To })
				if row >= 0 && b.Faults[row].Span == v.Span && b.Faults[row].Told {
					continue
				}
				if row >= 0 {
					several++
				}
				withheld++
				truth := float64(c.within(c.faults[faultKey{attackedModel, name}], v.Span))
				lo, hi := a.extent(t, a.visits(i, i, []string{name}))
				if truth < lo-1e-6 || truth > hi+1e-6 {
					t.Fatalf("seed %d: %s in %s is %v, the attacker says %v to %v: the attack is wrong", seed, name, v.From, truth, lo, hi)
				}
				if hi-lo < least-1-1e-6 {
					t.Errorf("seed %d: %s in %s to %s is %v, and the attacker knows it is %v to %v\n%v\n%v", seed, name, v.From, v.To, truth, lo, hi, b.Faults, b.Pairs)
				}
			}
		}
		for x, first := range a.components {
			for _, second := range a.components[x+1:] {
				for i, v := range b.Visits {
					if slices.ContainsFunc(b.Pairs, func(p Pair) bool { return p.A == first && p.B == second && p.Span == v.Span }) {
						continue
					}
					if n := c.within(c.both[pairKey{attackedModel, first, second}], v.Span); n >= least {
						continue // not told, though not small
					}
					withheld++
					if lo, hi := a.extent(t, a.visits(i, i, []string{first, second})); hi-lo < 1-1e-6 {
						t.Errorf("seed %d: %s with %s in %s is told by %v to %v", seed, first, second, v.From, lo, hi)
					}
				}
			}
		}
	}
	if withheld < 200 || pairs < 20 || several < 40 {
		t.Errorf("%d withheld counts attacked, %d of them within a longer span, beside %d pairs: too few to say anything", withheld, several, pairs)
	}
	t.Logf("%d withheld counts attacked, %d of them within a longer span, beside %d pairs", withheld, several, pairs)
}

// TestAttackWorks shows that the attacker is no fool: of the usual table with a total he recovers the cell that is missing.
func TestAttackWorks(t *testing.T) {
	from, _ := ParseMonth("2026-01")
	var spans []Visits
	for m := from; m < from+3; m++ {
		spans = append(spans, Visits{Model: attackedModel, Span: Span{m, m}, Visits: 30})
	}
	a := newAttacker(spans, []string{"c0"})
	a.knows(a.visits(0, 0, []string{"c0"}), 9)
	a.knows(a.visits(2, 2, []string{"c0"}), 7)
	a.knows(a.visits(0, 2, []string{"c0"}), 19) // so the second month held 3
	if lo, hi := a.extent(t, a.visits(1, 1, []string{"c0"})); math.Abs(lo-3) > 1e-6 || math.Abs(hi-3) > 1e-6 {
		t.Errorf("the attacker says %v to %v, want 3", lo, hi)
	}
}

// By hand: 4 of 20, then 20 of 20. Told together as 24 of 40 they would give the 4 away, for the second month can't hold more than 20.
func TestTightSpanIsWithheld(t *testing.T) {
	from, _ := ParseMonth("2026-01")
	c := newCounts(from, from+1)
	c.models[attackedModel] = Visits{Model: attackedModel}
	for m, n := range []int{4, 20} {
		add(c, c.visits, attackedModel, from+Month(m), 20)
		add(c, c.faults, faultKey{attackedModel, "c0"}, from+Month(m), n)
	}
	b := c.tell(LeastThreshold, nil)
	if len(b.Faults) != 1 || b.Faults[0].Told {
		t.Fatalf("told %+v, want one span that is withheld", b.Faults)
	}
	a := newAttacker(b.Visits, []string{"c0"})
	a.knows(a.visits(0, 1, []string{"c0"}), 24) // had it been told
	a.bounds(a.visits(0, 0, []string{"c0"}), LeastThreshold-1)
	if lo, hi := a.extent(t, a.visits(0, 0, []string{"c0"})); hi-lo > 1e-6 {
		t.Errorf("%v to %v: want the attacker to recover the 4, or the case tests nothing", lo, hi)
	}
}

// Two bundles of consecutive months: nothing changes and nothing goes, so there is nothing to subtract but counts of their own,
// each large enough.
func TestConsecutiveBundlesDifferByWholeTallies(t *testing.T) {
	for seed := range uint64(100) {
		r := rand.New(rand.NewPCG(9, seed))
		all := attacked(r, 18, 4)
		k := partKey{"battery", "original", "EUR", 3}
		for m := all.first; m <= all.last; m++ {
			add(all, all.parts, k, m, r.IntN(4))
		}
		var before *Bundle
		for last := all.first + 6; last <= all.last; last++ {
			c := *all
			c.last = last
			now := c.tell(LeastThreshold, nil)
			if before != nil {
				contains(t, seed, now.Visits, before.Visits, func(v Visits) bool { return v.Visits >= LeastThreshold })
				contains(t, seed, now.Faults, before.Faults, func(f Faults) bool { return !f.Told || min(f.Faults, f.Visits-f.Faults) >= LeastThreshold })
				contains(t, seed, now.Pairs, before.Pairs, func(p Pair) bool { return min(p.Both, p.AOnly, p.BOnly, p.Neither) >= LeastThreshold })
				contains(t, seed, now.Parts, before.Parts, func(p Parts) bool { return p.Lines >= LeastThreshold })
				if frozen := c.tell(LeastThreshold, before); !slices.Equal(frozen.Faults, now.Faults) || !slices.Equal(frozen.Pairs, now.Pairs) || !slices.Equal(frozen.Parts, now.Parts) {
					t.Fatalf("seed %d, to %s: with what was shared before the bundle differs", seed, last)
				}
			}
			before = now
		}
	}
}

func contains[R comparable](t *testing.T, seed uint64, now, before []R, large func(R) bool) {
	t.Helper()
	for _, r := range before {
		if !slices.Contains(now, r) {
			t.Fatalf("seed %d: %+v was told and is no more", seed, r)
		}
	}
	for _, r := range now {
		if !large(r) {
			t.Fatalf("seed %d: %+v holds a small count", seed, r)
		}
	}
}

// A correction of what was shared before must not show: the difference would be the corrected tickets.
func TestSharedTalliesStayAsTheyWere(t *testing.T) {
	r := rand.New(rand.NewPCG(10, 1))
	all := attacked(r, 18, 4)
	c := *all
	c.last = all.first + 11
	before := c.tell(LeastThreshold, nil)
	if len(before.Faults) == 0 || len(before.Visits) == 0 {
		t.Fatal("nothing told")
	}
	for _, list := range all.faults {
		list[2]++ // one more ticket, months ago
	}
	all.visits[attackedModel][2]++
	now := all.tell(LeastThreshold, before)
	contains(t, 1, now.Visits, before.Visits, func(Visits) bool { return true })
	contains(t, 1, now.Faults, before.Faults, func(Faults) bool { return true })
	contains(t, 1, now.Pairs, before.Pairs, func(Pair) bool { return true })
	if len(now.Visits) == len(before.Visits) {
		t.Error("six more months told nothing")
	}
}
