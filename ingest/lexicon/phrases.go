package lexicon

import "math/bits"

// An entry is one phrase of the lexicon and what it means.
type entry struct {
	role  role
	comp  int16 // index of the component; -1 when it names none
	more  int16 // a second component, for phrases that name a pair; -1
	lone  int16 // the component a word of fault hints at where a text says nothing else ("dead"); -1
	clear bool  // says that no fault was found
	poor  bool  // tells what is wrong with what a part makes
	falls bool  // told of a part named just before, it tells of that part
	lang  uint8 // its language, by the order of Phrases.ByLanguage
	text  string
}

// A role is what a matched phrase does in its clause.
type role uint8

const (
	_ role = iota
	// these name a component
	roleWord
	roleSelf // a word that holds its own fault: "does not hold charge"
	roleWeak
	roleSymptom
	roleHint
	rolePart
	roleBoth
	roleYield // what a part makes; settled before anything is judged
	// these steer
	roleNot
	roleLack
	roleFine
	roleHedge
	roleFault
	roleWork
	rolePast
	roleAfter
	roleCheck
	roleBrought
	roleBehind
	roleExcept
	roleAnd
	roleBut
	rolePair
	roleIgnore
	roleShade
)

// sure says whether the phrase itself names a component, rather than a loose word or a sign.
func (r role) sure() bool { return r == roleWord || r == roleSelf || r == roleBoth }

// phraseTrie holds every phrase as a path of words.
type phraseTrie struct {
	next map[uint64]uint32 // node<<32 | word -> node
	ends []int32           // entry that ends at a node, or -1

	// what freeze makes of next, for reading: a table at most half full
	steps []trieStep
	shift uint
	inner []bool // nodes that some word steps on from
}

type trieStep struct {
	key  uint64 // 0 is free: no word has number 0
	node uint32
}

// The steps that any word of the cues not and none takes, and any number.
const (
	anyNot    = wordID(1<<32 - 1)
	anyNumber = wordID(1<<32 - 2)
)

func newTrie() phraseTrie {
	return phraseTrie{next: make(map[uint64]uint32, 2*manyWords), ends: []int32{-1}}
}

func step(node uint32, w wordID) uint64 { return uint64(node)<<32 | uint64(w) }

func (t *phraseTrie) add(path []wordID, entry int32) (node uint32) {
	for _, w := range path {
		n, ok := t.next[step(node, w)]
		if !ok {
			n = uint32(len(t.ends))
			t.next[step(node, w)] = n
			t.ends = append(t.ends, -1)
		}
		node = n
	}
	if entry >= 0 {
		t.ends[node] = entry
	}
	return node
}

// freeze lays the steps out for reading; add must not be called after it.
func (t *phraseTrie) freeze() {
	width := uint(bits.Len(uint(2 * len(t.next))))
	t.steps, t.shift, t.inner = make([]trieStep, 1<<width), 64-width, make([]bool, len(t.ends))
	for key, node := range t.next {
		t.inner[key>>32] = true
		i := t.slot(key)
		for t.steps[i].key != 0 {
			i = (i + 1) & (len(t.steps) - 1)
		}
		t.steps[i] = trieStep{key, node}
	}
}

func (t *phraseTrie) slot(key uint64) int { return int(key * 0x9e3779b97f4a7c15 >> t.shift) }

// from gives the node that a word steps to.
func (t *phraseTrie) from(node uint32, w wordID) (uint32, bool) {
	key := step(node, w)
	for i := t.slot(key); ; i = (i + 1) & (len(t.steps) - 1) {
		switch t.steps[i].key {
		case key:
			return t.steps[i].node, true
		case 0:
			return 0, false
		}
	}
}

// longest finds the longest phrase that starts at token i: its entry and the token after it.
// Fillers between the words of a phrase are stepped over; a phrase never crosses a break.
func (r *Reader) longest(toks []token, i int) (entry int32, end int) {
	entry, end = -1, i
	r.walk(toks, i, 0, 0, &entry, &end)
	return entry, end
}

// maxSkip is how many fillers may stand between two words of a phrase.
const maxSkip = 3

func (r *Reader) walk(toks []token, j int, node uint32, skipped int, best *int32, end *int) {
	if e := r.trie.ends[node]; e >= 0 && skipped == 0 && (j > *end || *best < 0) {
		*best, *end = e, j
	}
	if j >= len(toks) || !r.trie.inner[node] || node != 0 && toks[j].gap >= gapBreak {
		return
	}
	w := toks[j].word
	if w == 0 {
		if node != 0 && skipped < maxSkip && r.mayBePassed(toks, j) {
			r.walk(toks, j+1, node, maxSkip, best, end)
		}
		return
	}
	flags, base := r.table.words[w].flags, r.table.words[w].base
	if n, ok := r.trie.from(node, w); ok {
		r.walk(toks, j+1, n, 0, best, end)
	}
	if base != 0 {
		if n, ok := r.trie.from(node, base); ok {
			r.walk(toks, j+1, n, 0, best, end)
		}
	}
	if flags&isNot != 0 {
		if n, ok := r.trie.from(node, anyNot); ok {
			r.walk(toks, j+1, n, 0, best, end)
		}
	}
	if flags&isNumber != 0 {
		if n, ok := r.trie.from(node, anyNumber); ok {
			r.walk(toks, j+1, n, 0, best, end)
		}
	}
	if far := r.trailing(toks, j, node); far > j {
		r.walk(toks, far, node, 0, best, end)
	}
	if flags&isFiller != 0 && node != 0 && skipped < maxSkip {
		r.walk(toks, j+1, node, skipped+1, best, end)
	}
}

// mayBePassed says whether token j, which the lexicon does not have, is an adverb rather than what the words
// around it are about: a word of letters, not behind a negation, whose verb it would be, nor behind "on" and its like.
func (r *Reader) mayBePassed(toks []token, j int) bool {
	k := j - 1
	for k > 0 && r.table.words[toks[k].word].flags&isFiller != 0 {
		k--
	}
	last := &r.table.words[toks[k].word]
	return toks[j].end-toks[j].start >= minPassed && !toks[j].digit && last.flags&isNot == 0 && len(last.text) >= 3
}

const minPassed = 3 // letters of a strange word inside a phrase

// trailReach is how many words may stand between a verb and the negation that trails it.
const trailReach = 10

// isCause says whether a word names a cause, such as a fall.
func (r *Reader) isCause(w wordID) bool {
	c := r.meaning(w)
	return c >= 0 && r.comps[c].cause
}

// trailing finds, for a phrase that goes on with a negation, one that stands far behind in the same clause:
// "geht seit dem letzten Wochenende gar nicht mehr an". Between stand only words that the lexicon does not have,
// fillers and times. It gives j where there is none.
func (r *Reader) trailing(toks []token, j int, node uint32) int {
	if node == 0 {
		return j
	}
	if _, ok := r.trie.from(node, anyNot); !ok {
		return j
	}
	since := 0 // words that may still tell since when
	for k := j; k < min(len(toks), j+trailReach) && toks[k].gap < gapBreak; k++ {
		switch w := toks[k].word; {
		case r.table.words[w].flags&isTrailing != 0:
			return k
		case r.table.words[w].flags&isAfter != 0:
			since = 2
		case w == 0 || r.table.words[w].flags&(isFiller|isPast) != 0:
		case since > 0 && r.table.words[w].flags&(isNot|isJoin) == 0 && !r.isCause(w):
			since--
		default:
			return j
		}
	}
	return j
}
