package lexicon

import (
	"cmp"
	"math/bits"
	"slices"
)

// A misspelling is found by its skeleton: doubled letters written once, ph as f, ck as k. Two
// skeletons that are equal, or one insertion, deletion, substitution or swap apart, are one word.
// Each skeleton is filed under itself and under itself with any one letter left out (symmetric
// deletion, Garbe 2012), so a look-up costs one probe per letter. In short words a substituted
// letter makes another word too easily ("recall" and "reball"), so they allow none.
type typoIndex struct {
	filings   []filing // by the hash of a skeleton or a shortened one, then word
	slots     []int32  // a table at most half full: 1 more than the place of a hash's first filing, or 0
	shift     uint
	maybe     []uint64 // a bit for each hash filed, 16 bits a filing, so that the many look-ups that find nothing stay in the cache
	skeletons []string // by word id
}

type filing struct {
	hash uint64
	word wordID
}

const (
	minTypo  = 5 // letters a token needs to be read as misspelt: doubled or swapped
	minTyped = 5 // letters a word needs to be found misspelt
	minGap   = 6 // letters both need for one to be left out or put in
	minOther = 8 // letters a token needs for one of them to be another letter
)

// skeleton appends the skeleton of w to dst.
func skeleton(dst []byte, w []byte) []byte {
	for i := 0; i < len(w); i++ {
		c := w[i]
		switch {
		case i > 0 && c == w[i-1]:
			continue
		case c == 'p' && i+1 < len(w) && w[i+1] == 'h':
			c = 'f'
			i++
		case c == 'c' && i+1 < len(w) && w[i+1] == 'k':
			continue
		}
		dst = append(dst, c)
	}
	return dst
}

func newTypoIndex(words []word) typoIndex {
	x := typoIndex{skeletons: make([]string, len(words)), filings: make([]filing, 0, 4*len(words))}
	var buf [maxWord]byte
	for id := 1; id < len(words); id++ {
		w := words[id]
		if w.flags&isTyped == 0 || len(w.text) < minTyped || len(w.text) > maxWord || hasDigit(w.text) {
			continue
		}
		s := skeleton(buf[:0], []byte(w.text))
		x.skeletons[id] = string(s)
		deletions(s, func(h uint64) { x.filings = append(x.filings, filing{h, wordID(id)}) })
	}
	slices.SortFunc(x.filings, func(a, b filing) int {
		if a.hash != b.hash {
			return cmp.Compare(a.hash, b.hash)
		}
		return cmp.Compare(a.word, b.word)
	})
	x.filings = slices.Compact(x.filings)
	width := uint(bits.Len(uint(2 * len(x.filings))))
	x.slots, x.shift = make([]int32, 1<<width), 64-width
	x.maybe = make([]uint64, 1<<width*8/64)
	for i, f := range x.filings {
		at, bit := x.bit(f.hash)
		x.maybe[at] |= bit
		if i == 0 || x.filings[i-1].hash != f.hash {
			at := x.slot(f.hash)
			for x.slots[at] != 0 {
				at = (at + 1) & (len(x.slots) - 1)
			}
			x.slots[at] = int32(i) + 1
		}
	}
	return x
}

func (x *typoIndex) slot(hash uint64) int { return int(hash * 0x9e3779b97f4a7c15 >> x.shift) }

// bit gives the place of a hash's bit in maybe, whose length is a power of two.
func (x *typoIndex) bit(hash uint64) (at int, bit uint64) {
	return int(hash >> 32 & uint64(len(x.maybe)-1)), 1 << (hash >> 58)
}

// filed gives the filings under a hash.
func (x *typoIndex) filed(hash uint64) []filing {
	if at, bit := x.bit(hash); x.maybe[at]&bit == 0 {
		return nil
	}
	for at := x.slot(hash); x.slots[at] != 0; at = (at + 1) & (len(x.slots) - 1) {
		from := int(x.slots[at]) - 1
		if x.filings[from].hash != hash {
			continue
		}
		to := from + 1
		for to < len(x.filings) && x.filings[to].hash == hash {
			to++
		}
		return x.filings[from:to]
	}
	return nil
}

func hasDigit[T string | []byte](s T) bool {
	for i := range len(s) {
		if '0' <= s[i] && s[i] <= '9' {
			return true
		}
	}
	return false
}

// deletions calls f with the hash of s and of s without each of its letters but the first.
func deletions(s []byte, f func(uint64)) {
	var h [maxWord + 1]uint64
	prefixHashes(s, &h)
	n := len(s)
	f(h[n])
	for i := 1; i < n; i++ {
		f(h[i]*powers[n-i-1] + span(&h, i+1, n))
	}
}

// misspelt finds the one word that w is probably meant to be. Nothing when two words that do not
// mean the same are equally near.
func (r *Reader) misspelt(w []byte) wordID {
	if len(w) < minTypo || len(w) > maxWord {
		return 0
	}
	var buf [maxWord]byte
	s := skeleton(buf[:0], w)
	best, dist := wordID(0), 2
	deletions(s, func(h uint64) {
		for _, f := range r.typos.filed(h) {
			id := f.word
			c := r.typos.skeletons[id]
			if c[0] != s[0] {
				continue
			}
			d := oneApart(s, c, len(w) >= minOther)
			if d == 1 && len(s) != len(c) && min(len(w), len(r.table.words[id].text)) < minGap {
				continue
			}
			switch {
			case d > 1 || d > dist || r.table.words[id].same == best:
			case d < dist:
				best, dist = r.table.words[id].same, d
			default:
				best = r.closer(best, r.table.words[id].same)
			}
		}
	})
	return best
}

// closer settles a tie: the lower word when both stand for the same component, else none.
func (r *Reader) closer(a, b wordID) wordID {
	if a == 0 {
		return 0
	}
	if x, y := r.meaning(a), r.meaning(b); x >= 0 && x == y || x < 0 && y < 0 && r.owner[a] == r.owner[b] {
		return min(a, b)
	}
	return 0
}

// meaning is the component a word stands for by itself, or -1.
func (r *Reader) meaning(w wordID) int16 {
	if node, ok := r.trie.from(0, w); ok {
		if e := r.trie.ends[node]; e >= 0 {
			return r.entries[e].comp
		}
	}
	return -1
}

// oneApart gives 0 for equal, 1 for one edit apart, 2 for more; other says whether a substituted
// letter is one edit.
func oneApart(a []byte, b string, other bool) int {
	if len(a) > len(b)+1 || len(b) > len(a)+1 {
		return 2
	}
	i := 0
	for i < len(a) && i < len(b) && a[i] == b[i] {
		i++
	}
	x, y := a[i:], b[i:]
	switch {
	case len(x) == 0 && len(y) == 0:
		return 0
	case len(x) == len(y):
		if other && string(x[1:]) == y[1:] || len(x) > 1 && x[0] == y[1] && x[1] == y[0] && string(x[2:]) == y[2:] {
			return 1
		}
	case len(x) > len(y):
		if string(x[1:]) == y {
			return 1
		}
	default:
		if string(x) == y[1:] {
			return 1
		}
	}
	return 2
}
