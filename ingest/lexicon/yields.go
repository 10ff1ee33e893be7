package lexicon

import "slices"

// yieldReach is how many words may stand between what a part makes and what is wrong with it.
const yieldReach = 5

// settleYields makes a symptom of what a part makes where a word beside it, in the same clause, tells
// what is wrong with it: "photos come out blurry", "at 20 percent it dies". The other yields and all shades are
// taken out, so that nothing after looks at them.
func (r *Reader) settleYields(toks []token, items []item) []item {
	for i := range items {
		if items[i].role == roleYield && (r.poorBeside(toks, items, i, -1) || r.poorBeside(toks, items, i, 1)) {
			items[i].role = roleSymptom
		}
	}
	kept := items[:0]
	for _, it := range items {
		if it.role != roleYield && it.role != roleShade {
			kept = append(kept, it)
		}
	}
	return kept
}

// poorBeside says whether a word that tells what is wrong stands near item i on one side, with no
// component, stop or comma between.
func (r *Reader) poorBeside(toks []token, items []item, i, side int) bool {
	for j := i + side; j >= 0 && j < len(items); j += side {
		left, right := &items[min(i, j)], &items[max(i, j)]
		if right.from-left.to > yieldReach {
			return false
		}
		for t := left.to; t <= right.from; t++ {
			if toks[t].gap >= gapComma {
				return false
			}
		}
		switch o := &items[j]; {
		case o.role == roleHint: // a vague state, such as going off, tells of what explains it alone
			return slices.Contains(r.comps[o.comp].unless, items[i].comp) && r.comps[o.comp].vague
		case r.entries[o.entry].poor:
			return true
		case o.comp >= 0 && o.role != roleYield && o.role != roleSymptom:
			return false
		}
	}
	return false
}
