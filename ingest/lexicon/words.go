package lexicon

import "math/bits"

// A wordID numbers a word of the lexicon; 0 is a word it does not have.
type wordID uint32

// What a word may do.
const (
	isNot      = 1 << iota // turns the word beside it
	isFiller               // may stand inside a phrase
	isName                 // part of a phrase that names a component: inflects
	isTyped                // names enough to be found misspelt
	isPart                 // may be a piece of a compound
	isFirst                // begins a phrase
	isPlain                // stands for itself: no form of another word
	isHead                 // names a part by itself where compounds are one word
	isNumber               // digits alone
	isTrailing             // a negation of a language that puts it after the verb, and far after it
	isAfter                // since, after
	isPast                 // yesterday, already
	isJoin                 // and, but
)

type word struct {
	text  string
	flags uint16
	langs uint8  // bit per language of Phrases.ByLanguage
	same  wordID // the word this is another spelling of; itself for most
	base  wordID // the word this is an inflected form of, or 0
}

// wordTable finds words by a rolling hash, so that every piece of a token can be looked up
// without hashing it again: that is what splitting compounds needs.
type wordTable struct {
	words []word // by id; words[0] is unused
	slots []slot
	mask  uint64
}

type slot struct {
	hash uint64
	id   wordID
}

const (
	maxWord  = 48 // bytes of a folded word; longer ones are in no lexicon
	hashBase = 0x9e3779b97f4a7c15 | 1
)

// powers of hashBase.
var powers = func() (p [maxWord + 1]uint64) {
	p[0] = 1
	for i := range maxWord {
		p[i+1] = p[i] * hashBase
	}
	return p
}()

// prefixHashes fills h so that h[i] is the hash of w[:i].
func prefixHashes(w []byte, h *[maxWord + 1]uint64) {
	h[0] = 0
	for i, c := range w {
		h[i+1] = h[i]*hashBase + uint64(c) + 1
	}
}

// span gives the hash of w[i:j] from the prefix hashes of w.
func span(h *[maxWord + 1]uint64, i, j int) uint64 { return h[j] - h[i]*powers[j-i] }

func hashOf(s string) uint64 {
	var h uint64
	for i := range len(s) {
		h = h*hashBase + uint64(s[i]) + 1
	}
	return h
}

func slotOf(hash uint64) uint64 { return bits.RotateLeft64(hash*0xff51afd7ed558ccd, 31) }

func (t *wordTable) find(hash uint64, w []byte) wordID {
	for i := slotOf(hash) & t.mask; ; i = (i + 1) & t.mask {
		s := t.slots[i]
		if s.id == 0 || s.hash == hash && t.words[s.id].text == string(w) {
			return s.id
		}
	}
}

// build lays the words out in slots, at most half full.
func (t *wordTable) build() {
	size := 1 << bits.Len(uint(2*len(t.words)))
	t.slots, t.mask = make([]slot, size), uint64(size-1)
	for id := 1; id < len(t.words); id++ {
		h := hashOf(t.words[id].text)
		i := slotOf(h) & t.mask
		for t.slots[i].id != 0 {
			i = (i + 1) & t.mask
		}
		t.slots[i] = slot{h, wordID(id)}
	}
}
