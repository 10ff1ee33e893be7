package lexicon

// A verdict is why a mention counts or does not.
type verdict uint8

const (
	named     verdict = iota // named, nothing said against it
	withFault                // named with a fault
	withWork                 // named with work on it
	ofItself                 // the phrase says the fault itself
	// from here on it does not count
	saidFine  // said to work
	denied    // "not the battery"
	inPast    // replaced last year
	onlyCheck // tested, no result told
	came      // came with the device
	aPlace    // under the screen
	unsure    // a weak word beside a surer one
	explained // a symptom another component explains
	unneeded  // a hint, and something was read
	cleared   // a sign of a component that is said to be in order
	passing   // named in passing in a long report
	front     // the front of a compound: the end says what the thing is
)

func (v verdict) counts() bool { return v < saidFine }

func (v verdict) note(role role, kind Kind) string {
	if kind == Part && v == named {
		return "named in the part cell"
	}
	switch v {
	case named:
		switch role {
		case roleSymptom, roleHint:
			return "a sign that points to it; nothing read explains it better"
		case roleWeak:
			return "a loose word; its clause names nothing surer"
		case roleBoth:
			return "both are named"
		}
		return "named, nothing said against it"
	case withFault:
		return "named with a fault"
	case withWork:
		return "named with work on it"
	case ofItself:
		return "the words tell the fault"
	case saidFine:
		return "said to be in order"
	case denied:
		return "said not to be it"
	case inPast:
		return "earlier work, not this visit"
	case onlyCheck:
		return "only tested"
	case came:
		return "what came with the device, or did not come"
	case aPlace:
		return "only the place where something is"
	case unsure:
		return "a loose word beside a surer one"
	case explained:
		return "a sign that another component explains"
	case unneeded:
		return "a vague sign, and something surer was read"
	case passing:
		return "named in passing; others are named with a fault or work"
	case front:
		return "the front of a compound; its end says what the thing is"
	case cleared:
		return "a sign of a component that is said to be in order"
	}
	return ""
}

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
		case it.verdict == withWork && past:
			it.verdict = inPast
		case it.verdict == withWork && !fine && !s.fineNext(k) && cameAfter(list, i):
			it.verdict = inPast
		case it.verdict == named && check && !s.faultNext(k):
			it.verdict = onlyCheck
		}
		if it.role == roleWeak && it.verdict.counts() && r.loose(s, seg, list, i) {
			it.verdict = unsure
		}
	}
}

// loose says whether a weak word is only part of what a surer one names: "home button cable", or
// any weak word beside a surer one that has no cue of its own.
func (r *Reader) loose(s *scratch, seg *segment, list []item, i int) bool {
	if i > 0 && list[i-1].role.sure() && list[i-1].to == list[i].from && s.toks[list[i].from].gap == gapSpace {
		return true
	}
	return (seg.firm || s.firm && len(s.toks) > longText) && !ownCue(list, i)
}

// nextCue is the first judging cue after item i, or -1. It looks past other mentions only as far
// as the segment goes and stops at the first cue, so a segment costs no more than its mentions
// times their distance to a cue; far cues are cut off.
func nextCue(list []item, i int) int {
	for j := i + 1; j < len(list) && j < i+16; j++ {
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
	if v == named && i > 0 && list[i-1].role == roleBehind && it.from-list[i-1].to <= 1 && namesOther(list, i) {
		return aPlace
	}
	return v
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
	before := n.from - 1
	return before < 0 || toks[n.from].gap >= gapBreak || r.table.words[toks[before].word].flags&isFiller != 0 ||
		i > 1 && list[i-2].to == n.from && list[i-2].role >= roleAfter
}

// cameAfter says whether "after" or "since" leads to the work on the mention.
func cameAfter(list []item, i int) bool { return hasBefore(list, i, roleAfter, 4) }

func hasBefore(list []item, i int, want role, reach int32) bool {
	for j := i - 1; j >= 0 && list[i].from-list[j].to <= reach; j-- {
		if list[j].role == want {
			return true
		}
		if list[j].comp >= 0 {
			return false
		}
	}
	return false
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

func namesOther(list []item, i int) bool {
	for j := range list {
		if j != i && list[j].comp >= 0 && j > i-16 && j < i+16 {
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
	for end+1 < len(s.segs) && s.segs[end+1].join <= joinComma && s.segs[end+1].named && end-k < 16 {
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
