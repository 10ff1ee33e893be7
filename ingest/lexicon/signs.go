package lexicon

import "slices"

// settleSigns drops signs that a component read in the same text explains, and hints where
// anything else was read.
func (r *Reader) settleSigns(s *scratch) {
	s.sure = append(s.sure[:0], make([]bool, len(r.comps))...)
	sure, count := s.sure, 0
	fine := append(s.fine[:0], make([]bool, len(r.comps))...)
	s.fine = fine
	for i := range s.items {
		it := &s.items[i]
		if it.comp < 0 || it.role == roleSymptom || it.role == roleHint {
			continue
		}
		if !it.verdict.counts() {
			fine[it.comp] = fine[it.comp] || it.verdict == saidFine || it.verdict == denied
			continue
		}
		for _, c := range [2]int16{it.comp, it.more} {
			if c >= 0 && !sure[c] {
				sure[c] = true
				count++
			}
		}
	}
	signs, seg := count > 0, 0 // seg: the clause of item i
	for i := range s.items {
		it := &s.items[i]
		for int(s.segs[seg].to) <= i {
			seg++
		}
		if it.role != roleSymptom && it.role != roleHint || !it.verdict.counts() {
			continue
		}
		if fine[it.comp] && !sure[it.comp] {
			it.verdict = cleared
			continue
		}
		if it.role == roleHint {
			continue
		}
		for _, u := range r.comps[it.comp].unless {
			if sure[u] {
				it.verdict = explained
			}
		}
		if it.verdict.counts() && (r.sideTold(s, it) || r.signBeside(s, &s.segs[seg], i) || r.namedBeside(s, seg, i)) {
			it.verdict = explained
		}
		signs = signs || it.verdict.counts()
	}
	for i := range s.items {
		if it := &s.items[i]; it.role == roleHint && it.verdict.counts() && (signs || r.hinted(s, it)) {
			it.verdict = unneeded
		}
	}
}

// sideTold says whether a sign of one of the pair stands beside a sign of the component whose side is
// not told: "no sound, can't hear callers".
func (r *Reader) sideTold(s *scratch, it *item) bool {
	if !r.comps[it.comp].sides {
		return false
	}
	pair := r.comps[it.comp].pair
	for i := range s.items {
		if o := &s.items[i]; o.role == roleSymptom && o.verdict.counts() && (o.comp == pair[0] || o.comp == pair[1]) {
			return true
		}
	}
	return false
}

// explains says whether component a of a clause explains a sign of component b in it.
func (r *Reader) explains(a, b int16) bool {
	return slices.Contains(r.comps[b].unless, a) || slices.Contains(r.comps[b].beside, a)
}

// signBeside says whether the clause of a sign holds a sign of a component that explains it: "voice
// memos silent" is the microphone.
func (r *Reader) signBeside(s *scratch, seg *segment, i int) bool {
	for j := max(int(seg.from), i-reach); j < min(int(seg.to), i+reach); j++ {
		if o := &s.items[j]; o.role == roleSymptom && o.verdict.counts() && r.explains(o.comp, s.items[i].comp) {
			return true
		}
	}
	return false
}

// namedBeside says whether the clause of a sign, or one parted from it by a comma, names a component that explains
// it there alone: "microphone has no sound" tells of no speaker. A part told of afterwards with a fault of its own
// is another complaint: "no sound and microphone dead".
func (r *Reader) namedBeside(s *scratch, seg, i int) bool {
	beside := r.comps[s.items[i].comp].beside
	if len(beside) == 0 {
		return false
	}
	from, to := int(s.segs[seg].from), int(s.segs[seg].to)
	if seg > 0 && s.segs[seg].join == joinComma {
		from = int(s.segs[seg-1].from)
	}
	if seg+1 < len(s.segs) && s.segs[seg+1].join == joinComma {
		to = int(s.segs[seg+1].to)
	}
	for j := max(from, i-reach); j < min(to, i+reach); j++ {
		if o := &s.items[j]; o.comp >= 0 && o.role != roleSymptom && o.role != roleHint && o.verdict.counts() &&
			!(j > i && o.verdict == withFault) && slices.Contains(beside, o.comp) {
			return true
		}
	}
	return false
}

// hinted says whether a hint at another component stands in the text that this one gives way to.
func (r *Reader) hinted(s *scratch, it *item) bool {
	for i := range s.items {
		if o := &s.items[i]; o.role == roleHint && o.verdict.counts() && slices.Contains(r.comps[it.comp].unless, o.comp) {
			return true
		}
	}
	return false
}

// readLone takes a word of fault for a hint where a text mentions no component at all: "dead".
func (r *Reader) readLone(s *scratch) {
	for i := range s.items {
		if s.items[i].comp >= 0 {
			return
		}
	}
	for i := range s.items {
		if it := &s.items[i]; it.role == roleFault && r.entries[it.entry].lone >= 0 {
			it.role, it.comp = roleHint, r.entries[it.entry].lone
		}
	}
}
