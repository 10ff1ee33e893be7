package lexicon

// inherit lets bare mentions of a list share the verdict of the one that is judged: "screen,
// battery and camera ok", "battery: ok", "no problem with screen or battery".
func inherit(s *scratch, k int) {
	seg := &s.segs[k]
	if !seg.named || seg.spoken {
		return
	}
	if k+1 < len(s.segs) && s.segs[k+1].join == joinColon && s.fineNext(k) {
		s.setBare(k, saidFine)
		return
	}
	// forward: a list that ends with "and X ok"
	end, and := k, false
	for end+1 < len(s.segs) && s.segs[end+1].join <= joinComma && s.segs[end+1].named && end-k < reach {
		end++
		and = and || s.segs[end].join == joinAnd
		if s.segs[end].spoken {
			break
		}
	}
	if end > k && and && s.segs[end].spoken && s.segs[end].join == joinAnd && s.allFine(end, true) {
		s.setBare(k, saidFine)
		return
	}
	// backward: "no problem with screen or battery", "tested ok: screen, touch"
	if k == 0 {
		return
	}
	prev := &s.segs[k-1]
	switch {
	case seg.join == joinColon && !prev.named && s.lastFine(k-1):
		s.setBare(k, saidFine)
	case seg.join == joinAnd && prev.named && s.allFine(k-1, false):
		s.setBare(k, saidFine)
	case seg.join == joinComma && prev.named && !prev.spoken && s.allFine(k-1, false):
		s.setBare(k, saidFine)
	}
}

// cameToo lets an accessory share what is said of the one before it: "came with charger and cable".
func (r *Reader) cameToo(s *scratch, k int) {
	seg := &s.segs[k]
	if k == 0 || seg.spoken || seg.join > joinComma {
		return
	}
	prev := &s.segs[k-1]
	if prev.to == prev.from || s.items[prev.to-1].verdict != came {
		return
	}
	for i := seg.from; i < seg.to; i++ {
		if it := &s.items[i]; it.comp >= 0 && r.comps[it.comp].accessory && it.verdict == named {
			it.verdict = came
		}
	}
}

// allFine says whether every mention of the segment is said to be fine, by a cue after its
// mentions or before them.
func (s *scratch) allFine(k int, after bool) bool {
	seen, cueFirst := false, false
	for _, it := range s.items[s.segs[k].from:s.segs[k].to] {
		if it.role == roleFine && !seen {
			cueFirst = true
		}
		if it.comp >= 0 {
			seen = true
			if it.verdict != saidFine {
				return false
			}
		}
	}
	return seen && (cueFirst != after || !s.segs[k].spoken)
}

func (s *scratch) lastFine(k int) bool {
	list := s.items[s.segs[k].from:s.segs[k].to]
	return len(list) > 0 && list[len(list)-1].role == roleFine
}

func (s *scratch) setBare(k int, v verdict) {
	for i := s.segs[k].from; i < s.segs[k].to; i++ {
		if it := &s.items[i]; it.comp >= 0 && it.verdict == named && it.role != roleSymptom && it.role != roleHint {
			it.verdict = v
		}
	}
}
