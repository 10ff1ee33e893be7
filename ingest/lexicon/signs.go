package lexicon

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
	signs := count > 0
	for i := range s.items {
		it := &s.items[i]
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
		signs = signs || it.verdict.counts()
	}
	for i := range s.items {
		if it := &s.items[i]; it.role == roleHint && it.verdict.counts() && signs {
			it.verdict = unneeded
		}
	}
}
