package lexicon

import "sync/atomic"

// strange is what the lexicon makes of a word it does not have.
type strange struct {
	text   string
	pieces [maxPieces]wordID
	n      int  // pieces; 0 when it means nothing
	sure   bool // an inflected word or a compound; else a misspelling or an unknown compound with a known end
}

// strangers remembers the strange words met last: texts repeat them (names, weekdays, small talk), and
// finding out that a word means nothing takes longest. What is read does not depend on it.
type strangers [1 << 14]atomic.Pointer[strange]

// resolve makes what can be made of a word that is not in the table. hash is that of the whole word.
func (r *Reader) resolve(w []byte, h *[maxWord + 1]uint64) *strange {
	place := &r.strangers[slotOf(h[len(w)])%uint64(len(r.strangers))]
	if s := place.Load(); s != nil && s.text == string(w) {
		return s
	}
	s := &strange{text: string(w)}
	r.makeOut(s, w, h)
	place.Store(s)
	return s
}

func (r *Reader) makeOut(s *strange, w []byte, h *[maxWord + 1]uint64) {
	if s.pieces[0] = r.inflected(w, h); s.pieces[0] != 0 {
		s.n, s.sure = 1, true
		return
	}
	if s.pieces, s.n = r.split(w, h); s.n > 0 {
		s.sure = true
		return
	}
	if s.pieces[0] = r.misspelt(w); s.pieces[0] != 0 {
		s.n = 1
		return
	}
	if s.pieces[0] = r.head(w, h); s.pieces[0] != 0 {
		s.n = 1
	}
}
