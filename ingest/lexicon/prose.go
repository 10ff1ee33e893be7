package lexicon

import "slices"

// longProse is how many words make a report of the work, where parts are named in passing.
const longProse = 20

// thinProse keeps, in a long report, the sentences that name a component with a fault or work;
// what other sentences merely name counts only where there is no such sentence.
func (r *Reader) thinProse(s *scratch) {
	if len(s.toks) <= longProse || !r.judged(s, 0, len(s.segs)) {
		return
	}
	for from := 0; from < len(s.segs); {
		to := from + 1
		for to < len(s.segs) && s.segs[to].join != joinStop {
			to++
		}
		if !r.judged(s, from, to) {
			for i := s.segs[from].from; i < s.segs[to-1].to; i++ {
				if it := &s.items[i]; it.comp >= 0 && it.verdict == named && it.role.sure() && !r.comps[it.comp].cause {
					it.verdict = passing
				}
			}
		}
		from = to
	}
}

// judged says whether the segments name a component with a fault or work.
func (r *Reader) judged(s *scratch, from, to int) bool {
	for k := from; k < to; k++ {
		for _, it := range s.items[s.segs[k].from:s.segs[k].to] {
			if it.comp >= 0 && !r.comps[it.comp].cause && (it.verdict == withFault || it.verdict == withWork || it.verdict == ofItself) {
				return true
			}
		}
	}
	return false
}

// longText is how many words make a text prose rather than a list of faults; in prose a loose word
// is sooner a place or a step of the work than a fault.
const longText = 12

// loose says whether a weak word is only part of what a surer one names: "home button cable", or
// any weak word beside a surer one that has no cue of its own.
func (r *Reader) loose(s *scratch, seg *segment, list []item, i int) bool {
	if i > 0 && list[i-1].role.sure() && list[i-1].to == list[i].from && s.toks[list[i].from].gap == gapSpace {
		return true
	}
	return (seg.firm || s.firm && len(s.toks) > longText) && !ownCue(list, i)
}

// givesWay says whether the clause of a weak word names a component that explains it, whatever is said
// of the word itself: "plug loose in the port", "charges only with the cable bent".
func (r *Reader) givesWay(list []item, i int) bool {
	for j := max(0, i-reach); j < min(len(list), i+reach); j++ {
		o := &list[j]
		if (o.role.sure() || o.role == roleSymptom) && o.verdict.counts() && slices.Contains(r.comps[list[i].comp].unless, o.comp) {
			return true
		}
	}
	return false
}

// heads leaves of the mentions in one compound only the last sure one: a Gehäuselüfter is a fan.
func heads(s *scratch) {
	last := -1 // the item that was the head so far
	for i := range s.items {
		it := &s.items[i]
		if !it.role.sure() && it.role != roleWeak {
			continue
		}
		if last >= 0 && s.toks[s.items[last].to-1].start == s.toks[it.from].start {
			switch {
			case it.role == roleWeak && s.items[last].role != roleWeak:
				it.verdict = unsure
				continue
			case s.items[last].verdict.counts():
				s.items[last].verdict = front
			}
		}
		last = i
	}
}
