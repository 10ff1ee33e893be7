package lexicon

// trustPart judges a part cell: all that is named counts but loose words beside surer ones.
func trustPart(s *scratch) {
	for _, seg := range s.segs {
		for i := seg.from; i < seg.to; i++ {
			if s.items[i].role == roleWeak && seg.firm {
				s.items[i].verdict = unsure
			}
		}
	}
}

// judge gives every mention its verdict.
func (r *Reader) judge(s *scratch) {
	s.firm = false
	for k := range s.segs {
		s.firm = s.firm || s.segs[k].firm
	}
	for k := range s.segs {
		r.judgeSegment(s, k)
	}
	for k := range s.segs {
		inherit(s, k)
		r.cameToo(s, k)
	}
	r.thinProse(s)
}

// judgeSegment judges mentions by the nearest cue of their own segment.
func (r *Reader) judgeSegment(s *scratch, k int) {
	seg := &s.segs[k]
	list := s.items[seg.from:seg.to]
	if !seg.named {
		return
	}
	past, check, fine := false, false, false
	for i := range list {
		past = past || list[i].role == rolePast
		check = check || list[i].role == roleCheck
		fine = fine || list[i].role == roleFine
	}
	before := -1 // nearest judging cue before the mention
	for i := range list {
		it := &list[i]
		switch it.role {
		case roleFine, roleFault, roleWork, roleExcept:
			before = i
		}
		if it.comp < 0 {
			continue
		}
		after := nextCue(list, i)
		it.verdict = r.mention(s.toks, list, i, before, after)
		switch {
		case it.verdict == withWork && past && s.outcome(k, roleFault):
			it.verdict = withFault // "replaced last year, now cracked again"
		case it.verdict == withWork && past:
			it.verdict = inPast
		case it.verdict == withWork && !fine && !s.fineNext(k) && cameAfter(list, i):
			it.verdict = inPast
		case it.verdict == saidFine && k+1 < len(s.segs) && s.segs[k+1].join == joinBut && (s.outcome(k, roleFault) || s.outcome(k, roleHedge)):
			it.verdict = withFault // "works, but only now and then"
		case it.verdict == named && check && !s.faultNext(k):
			it.verdict = onlyCheck
		}
		if it.role == roleWeak && it.verdict.counts() && r.loose(s, seg, list, i) {
			it.verdict = unsure
		}
	}
	for i := range list {
		if it := &list[i]; it.role == roleWeak && it.verdict.counts() && r.givesWay(list, i) {
			it.verdict = unsure
		}
	}
}

// reach is how many items of its segment a mention looks at on either side, so that a text
// without a single full stop still costs time in proportion to its length.
const reach = 16

// nextCue is the first judging cue after item i, or -1.
func nextCue(list []item, i int) int {
	for j := i + 1; j < min(len(list), i+reach); j++ {
		switch list[j].role {
		case roleFine, roleFault, roleWork:
			return j
		}
	}
	return -1
}

// mention judges one mention by what stands around it.
func (r *Reader) mention(toks []token, list []item, i, before, after int) verdict {
	it := &list[i]
	if r.denied(toks, list, i, r.comps[it.comp].cause || it.role == roleSymptom || it.role == roleHint) {
		return denied
	}
	if r.entries[it.entry].falls && r.toldOf(toks, list, i) {
		return ofPart
	}
	switch it.role {
	case roleSelf:
		return ofItself
	case roleSymptom, roleHint:
		return named
	}
	if r.comps[it.comp].cause {
		return named // "fell in water, works now" is still a cause
	}
	cue := before
	if before >= 0 && list[before].role == roleExcept {
		return withFault
	}
	if after >= 0 && (before < 0 || list[after].from-it.to <= it.from-list[before].to) {
		cue = after
	}
	v := named
	if cue >= 0 {
		switch list[cue].role {
		case roleFine:
			v = saidFine
			if cue > i && workFollows(list, cue) {
				v = withWork // "ok after cleaning" was not ok before
			}
		case roleFault:
			v = withFault
		case roleWork:
			v = withWork
		}
	}
	if r.comps[it.comp].accessory && v != withFault && v != withWork && v != saidFine &&
		(hasBefore(list, i, roleBrought, 3) || hasBefore(list, i, roleLack, 3) || hasBefore(list, i, roleNot, 3)) {
		return came
	}
	if since := lastBefore(list, i, roleAfter, 2); since >= 0 && (v == named || cue < since) && namesOther(list, i) {
		return aTime
	}
	if v == named && i > 0 && list[i-1].role == roleBehind && it.from-list[i-1].to <= 1 && namesOther(list, i) {
		return aPlace
	}
	return v
}

// toldOf says whether a part is named just before item i, as what it tells of: "the lens fell out", or another
// cause that it is one with: "into the bath it fell".
func (r *Reader) toldOf(toks []token, list []item, i int) bool {
	if i == 0 || list[i-1].comp < 0 || list[i-1].comp == list[i].comp {
		return false
	}
	for t := list[i-1].to; t <= list[i].from; t++ {
		if toks[t].gap >= gapBreak || t < list[i].from && r.table.words[toks[t].word].flags&isFiller == 0 {
			return false
		}
	}
	return true
}

// workFollows says whether "after" and then work come right behind the cue.
func workFollows(list []item, cue int) bool {
	return cue+2 < len(list) && list[cue+1].role == roleAfter && list[cue+2].role == roleWork
}

// denied says whether "not the ..." stands directly before the mention; for causes and signs
// "no ..." does too. A negation that follows a verb belongs to the verb: "ne lit pas le disque".
func (r *Reader) denied(toks []token, list []item, i int, lackToo bool) bool {
	if i == 0 {
		return false
	}
	n := &list[i-1]
	if n.used {
		return false
	}
	for t := n.to; t < list[i].from; t++ {
		if r.table.words[toks[t].word].flags&isFiller == 0 {
			return false
		}
	}
	if lackToo && n.role == roleLack {
		return true
	}
	if n.role != roleNot {
		return false
	}
	if n.to-n.from > 1 {
		return true // "ligt niet aan" has its verb in it
	}
	// no verb before it: it begins the clause, or follows "is", "after", "but"
	before := n.from - 1
	return before < 0 || toks[n.from].gap >= gapBreak || r.table.words[toks[before].word].flags&isFiller != 0 ||
		i > 1 && list[i-2].to == n.from && list[i-2].role >= roleAfter
}

// cameAfter says whether "after" or "since" leads to the work on the mention.
func cameAfter(list []item, i int) bool { return hasBefore(list, i, roleAfter, 4) }

// hasBefore says whether a cue stands at most so many words before the mention, no other mention between.
func hasBefore(list []item, i int, want role, words int32) bool {
	return lastBefore(list, i, want, words) >= 0
}

// lastBefore gives that cue, or -1.
func lastBefore(list []item, i int, want role, words int32) int {
	for j := i - 1; j >= 0 && list[i].from-list[j].to <= words; j-- {
		if list[j].role == want {
			return j
		}
		if list[j].comp >= 0 {
			break
		}
	}
	return -1
}

// ownCue says whether a judging cue stands right beside the mention.
func ownCue(list []item, i int) bool {
	judges := func(j int) bool {
		return list[j].role == roleFault || list[j].role == roleWork
	}
	near := func(j int) bool {
		return j >= 0 && j < len(list) && judges(j) && list[j].from-list[i].to <= 1 && list[i].from-list[j].to <= 1
	}
	if near(i+1) && !(i+2 < len(list) && list[i+2].comp >= 0 && list[i+2].from-list[i+1].to <= 1) {
		return true
	}
	return near(i-1) && !(i-2 >= 0 && list[i-2].comp >= 0)
}

// namesOther says whether the segment names something else nearby.
func namesOther(list []item, i int) bool {
	for j := max(0, i-reach); j < min(len(list), i+reach); j++ {
		if j != i && list[j].comp >= 0 {
			return true
		}
	}
	return false
}

// fineNext says whether the clause after k holds the outcome "ok" and names nothing itself.
func (s *scratch) fineNext(k int) bool { return s.outcome(k, roleFine) }

// faultNext says the same of a fault or of work needed.
func (s *scratch) faultNext(k int) bool {
	return s.outcome(k, roleFault) || s.outcome(k, roleWork)
}

func (s *scratch) outcome(k int, want role) bool {
	if k+1 >= len(s.segs) || s.segs[k+1].named {
		return false
	}
	for _, it := range s.items[s.segs[k+1].from:s.segs[k+1].to] {
		if it.role == want {
			return true
		}
	}
	return false
}
