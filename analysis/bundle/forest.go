package bundle

import (
	"cmp"
	"slices"
)

// A joint is one or more spans of a model at whose ends rows of both components of a pair end, and nowhere between.
type joint struct {
	a, b, both, visits int
	lastA, lastB       int // faults of the rows that end here
	room               int // visits of the last span
	several            bool
}

func (j joint) least() int { return max(0, j.a+j.b-j.visits) }

// forest tells the pairs of a model. Of pairs that would close a circle the one that came last is left out, for ever: without
// circles, the numbers of visits that show each component and each told pair put no bounds on each other beyond those
// of the single tables, whichever way the withheld faults lie. So pairs give away nothing about components, nor one pair about
// another. told holds the rows of the model's components.
func (p *teller) forest(model string, spans []Visits, told map[string][]row) []Pair {
	type candidate struct {
		key    pairKey
		frozen bool
		rows   []Pair
	}
	var list []candidate
	for _, k := range p.pairsOf[model] {
		before := p.pairsTold[k]
		rows := append(slices.Clone(before), p.pairSpans(k, spans, told[k.a], told[k.b], before)...)
		if len(rows) > 0 {
			list = append(list, candidate{k, len(before) > 0, rows})
		}
	}
	slices.SortFunc(list, func(x, y candidate) int {
		return cmp.Or(order(x.frozen, y.frozen), cmp.Compare(x.rows[0].To, y.rows[0].To), cmp.Compare(x.key.a, y.key.a), cmp.Compare(x.key.b, y.key.b))
	})
	root := map[string]string{}
	find := func(c string) string {
		for root[c] != "" {
			c = root[c]
		}
		return c
	}
	var out []Pair
	for _, c := range list {
		a, b := find(c.key.a), find(c.key.b)
		if a == b {
			continue
		}
		root[a] = b
		out = append(out, c.rows...)
	}
	slices.SortStableFunc(out, func(x, y Pair) int { return cmp.Or(cmp.Compare(x.A, y.A), cmp.Compare(x.B, y.B)) })
	return out
}

// order puts what holds first.
func order(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	}
	return 1
}

// pairSpans puts joints together until all four cells hold enough. What can't be told safely is left out, and the next starts afresh.
func (p *teller) pairSpans(k pairKey, spans []Visits, a, b []row, before []Pair) []Pair {
	inA, inB := covering(a, len(spans)), covering(b, len(spans))
	var list []Pair
	var run []joint
	runFrom, start := 0, -1 // spans where the run and the joint start
	var now joint
	for i := range spans {
		ra, rb := inA[i], inB[i]
		if ra < 0 || rb < 0 || len(before) > 0 && spans[i].From <= before[len(before)-1].To {
			run, start = nil, -1
			continue
		}
		if start < 0 {
			if a[ra].first != i || b[rb].first != i {
				run = nil
				continue
			}
			start, now = i, joint{}
			if len(run) == 0 {
				runFrom = i
			}
		}
		now.visits += spans[i].Visits
		now.both += p.within(p.both[k], spans[i].Span)
		if a[ra].last == i {
			now.a += a[ra].Faults.Faults
		}
		if b[rb].last == i {
			now.b += b[rb].Faults.Faults
		}
		if a[ra].last != i || b[rb].last != i {
			continue
		}
		now.lastA, now.lastB, now.room, now.several = a[ra].Faults.Faults, b[rb].Faults.Faults, spans[i].Visits, i > start
		start = -1
		if !now.safe(p.least) {
			run = nil
			continue
		}
		run = append(run, now)
		t, ok, closed := table(run, p.least)
		if !closed {
			continue
		}
		if ok {
			t.Model, t.A, t.B, t.Span = k.model, k.a, k.b, Span{spans[runFrom].From, spans[i].To}
			list = append(list, t)
		}
		run = nil
	}
	return list
}

// covering gives the row that tells of each span; -1 where none does.
func covering(rows []row, spans int) []int {
	at := make([]int, spans)
	for i := range at {
		at[i] = -1
	}
	for i, r := range rows {
		if r.Told && r.first >= 0 {
			for s := r.first; s <= r.last; s++ {
				at[s] = i
			}
		}
	}
	return at
}

// safe says that the number of visits with both leaves open how the components' faults lie within their rows: it could
// still be had with all faults of each row in the row's last span, and with up to least-1 of them elsewhere.
func (j joint) safe(least int) bool {
	if j.both < j.least() || j.both > min(j.a, j.b) {
		return false // corrected since its components were told
	}
	if !j.several {
		return true
	}
	return j.both >= max(0, j.lastA+j.lastB-j.room) && j.both <= min(j.lastA, j.lastB)-least+1
}

// table adds up a run of joints. closed says that it ends here; ok that it may be told: all cells hold enough and, where
// several joints were put together, all visits with both could lie in the last, or any number below least in another.
func table(run []joint, least int) (t Pair, ok, closed bool) {
	a, b, visits := 0, 0, 0
	loose := true
	for _, j := range run {
		t.Both += j.both
		a, b, visits = a+j.a, b+j.b, visits+j.visits
		loose = loose && j.least() == 0 && j.lastA+j.lastB <= j.room && min(j.lastA, j.lastB) >= least
	}
	if t.Both < least {
		return t, false, false
	}
	last := run[len(run)-1]
	t.AOnly, t.BOnly, t.Neither = a-t.Both, b-t.Both, visits-a-b+t.Both
	ok = min(t.AOnly, t.BOnly, t.Neither) >= least && (len(run) == 1 || loose && t.Both <= min(last.lastA, last.lastB))
	return t, ok, true
}
