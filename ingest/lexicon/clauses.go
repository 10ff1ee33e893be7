package lexicon

import "slices"

// A segment is a run of items between two boundaries: comma, and, but, full stop.
type segment struct {
	from, to int32 // items
	join     join  // what parts it from the segment before
	named    bool  // names a component
	spoken   bool  // holds a cue that judges
	firm     bool  // names a component by a word that is not weak
}

// A join is what stands between two segments, from loose to strict.
type join uint8

const (
	joinAnd   join = iota // and, &, +, /
	joinComma             // comma
	joinColon             // "battery: ok"
	joinBut               // but
	joinStop              // new sentence
)

// segments cuts the items into clauses.
func (r *Reader) segments(items []item, toks []token, segs []segment) []segment {
	cur := segment{join: joinStop}
	last := int32(0)
	flush := func(at int32, j join) {
		if at > cur.from {
			cur.to = at
			segs = append(segs, cur)
		} else if len(segs) > 0 || cur.join > j {
			j = max(j, cur.join) // nothing between two boundaries: the stricter stands
		}
		cur = segment{from: at, join: j}
	}
	for i := range items {
		it := &items[i]
		g := gapSpace
		for t := last; t <= it.from; t++ {
			g = max(g, toks[t].gap)
		}
		last = it.to
		switch {
		case g >= gapDash:
			flush(int32(i), joinStop)
		case g == gapColon:
			flush(int32(i), joinColon)
		case g == gapComma:
			flush(int32(i), joinComma)
		case g == gapPlus || g == gapSlash:
			flush(int32(i), joinAnd)
		}
		switch it.role {
		case roleAnd:
			flush(int32(i), joinAnd)
		case roleBut, roleExcept:
			flush(int32(i), joinBut)
		}
	}
	cur.to = int32(len(items))
	if cur.to > cur.from {
		segs = append(segs, cur)
	}
	for k := range segs {
		s := &segs[k]
		for _, it := range items[s.from:s.to] {
			switch {
			case it.comp >= 0:
				s.named = true
				s.firm = s.firm || it.role.sure() && !r.comps[it.comp].cause
			case it.role == roleFine || it.role == roleFault || it.role == roleWork || it.role == roleCheck:
				s.spoken = true
			}
		}
	}
	return segs
}

// turnReach is how many tokens a negation may stand from the word it turns.
const turnReach = 4

// steer turns "not ok" into a fault and "no problem" into fine, and reads "both".
func (r *Reader) steer(toks []token, items []item, segs []segment) {
	for _, s := range segs {
		list := items[s.from:s.to]
		for i := range list {
			switch list[i].role {
			case roleFine:
				if r.turned(toks, list, i, true) || hedged(list, i) {
					list[i].role = roleFault
				}
			case roleFault:
				if r.turned(toks, list, i, false) {
					list[i].role = roleFine
				}
			case rolePair:
				if i+1 < len(list) && list[i+1].comp >= 0 && list[i+1].role == roleWord && list[i+1].from-list[i].to <= 2 {
					if c := &r.comps[list[i+1].comp]; c.sides {
						list[i+1].comp, list[i+1].more = c.pair[0], c.pair[1]
						list[i+1].role = roleBoth
					}
				}
			}
		}
	}
}

// hedged says whether "only" or "partly" stands just before the word of working, or right after it.
func hedged(list []item, i int) bool {
	if i > 0 && list[i-1].role == roleHedge && list[i].from-list[i-1].to < turnReach {
		return true
	}
	return i+1 < len(list) && list[i+1].role == roleHedge && list[i+1].from-list[i].to <= 1
}

// turned says whether an unused negation stands just before item i, or for words of working also
// just after it, as German and Dutch put it, or far after it; it uses the negation up.
func (r *Reader) turned(toks []token, list []item, i int, after bool) bool {
	for j := i - 1; j >= 0 && list[i].from-list[j].to < turnReach; j-- {
		n := &list[j]
		if (n.role == roleNot || n.role == roleLack) && !n.used {
			n.used = true
			return true
		}
		if n.role == roleFine || n.role == roleFault || n.role == roleWork {
			break
		}
	}
	if !after {
		return false
	}
	for j := i + 1; j < len(list) && list[j].from-list[i].to < trailReach; j++ {
		n := &list[j]
		trails := n.role == roleNot && r.table.words[toks[n.from].word].flags&isTrailing != 0
		if n.role == roleNot && !n.used && (trails || n.from-list[i].to < turnReach) {
			n.used = true
			return true
		}
		if !r.inMiddle(list, i, j) {
			break
		}
	}
	return false
}

// inMiddle says whether item j may stand between the verb i and its negation: when, with what, only, and the
// part the clause is about, where it is not named before the verb ("seit gestern funktioniert das Display nicht").
func (r *Reader) inMiddle(list []item, i, j int) bool {
	switch list[j].role {
	case roleBrought, roleCheck, rolePast, roleAfter, roleHedge:
		return true
	case roleWord, roleWeak, roleBoth:
		return hasBefore(list, j, roleAfter, 3) || i == 0 || !slices.ContainsFunc(list[:i], func(it item) bool { return it.comp >= 0 })
	}
	return false
}
