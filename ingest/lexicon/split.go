package lexicon

// endings are the inflections a word of each language may carry, by the order of
// Phrases.ByLanguage. They are only tried on words the lexicon does not have.
var endings = [8][]string{
	{"s"},
	{"s", "es"},
	{"n", "en", "e", "er", "es", "s", "em", "ern"},
	{"s", "en", "n", "je", "tje", "jes", "tjes"},
	{"s", "x", "e", "es"},
	{"en", "et", "n", "t", "e", "er", "ne", "ene", "erne", "s", "ens", "ets"},
	{"s", "es"},
	{"i"},
}

var endingLangs = func() map[string]uint8 {
	m := map[string]uint8{}
	for lang, list := range endings {
		for _, e := range list {
			m[e] |= 1 << lang
		}
	}
	return m
}()

const maxEnding = 4

// inflected finds the word that w is an inflected form of.
func (r *Reader) inflected(w []byte, h *[maxWord + 1]uint64) wordID {
	return r.stem(w, h, 0)
}

// stem finds the word that w[from:] is, perhaps inflected.
func (r *Reader) stem(w []byte, h *[maxWord + 1]uint64, from int) wordID {
	for cut := 1; cut <= maxEnding && len(w)-cut-from >= 3; cut++ {
		at := len(w) - cut
		if at-from == 3 && (cut > 1 || w[at] != 's') {
			break // cans, but not file for fil
		}
		langs := r.endings(w[at:])
		if langs == 0 {
			continue
		}
		id := r.table.find(span(h, from, at), w[from:at])
		if id != 0 && r.table.words[id].flags&isName != 0 && r.table.words[id].langs&langs != 0 {
			return r.table.words[id].same
		}
	}
	return 0
}

// endings gives the languages in which e is an ending.
func (r *Reader) endings(e []byte) uint8 {
	if len(e) == 1 {
		switch e[0] {
		case 's':
			return 0xff &^ (1 << 7)
		case 'n', 'e', 't', 'x', 'i':
		default:
			return 0
		}
	}
	return endingLangs[string(e)]
}

const (
	maxPieces = 4
	minPiece  = 4 // letters of a piece that is not a phrase by itself, such as USB
)

// split takes a compound apart: every piece must be a word that may stand in one, with a linking
// s, n, en, e, es or er between pieces. The longest first piece wins.
func (r *Reader) split(w []byte, h *[maxWord + 1]uint64) (pieces [maxPieces]wordID, n int) {
	if len(w) < 7 {
		return pieces, 0
	}
	budget := 64 // look-ups that found something; keeps odd words cheap
	n = r.splitFrom(w, h, 0, 0, &pieces, &budget)
	if n < 2 {
		return pieces, 0
	}
	return pieces, n
}

func (r *Reader) splitFrom(w []byte, h *[maxWord + 1]uint64, from, depth int, pieces *[maxPieces]wordID, budget *int) int {
	if from == len(w) {
		return depth
	}
	if depth == maxPieces || len(w)-from < 3 {
		return 0
	}
	if depth > 0 {
		if id := r.table.find(span(h, from, len(w)), w[from:]); id != 0 && r.table.words[id].flags&isPart != 0 {
			pieces[depth] = r.table.words[id].same
			return depth + 1
		}
		if id := r.stem(w, h, from); id != 0 && r.table.words[id].flags&isPart != 0 {
			pieces[depth] = id
			return depth + 1
		}
	}
	for to := len(w); to >= from+3; to-- {
		id := r.table.find(span(h, from, to), w[from:to])
		if id == 0 || r.table.words[id].flags&isPart == 0 || from == 0 && to == len(w) {
			continue
		}
		if *budget--; *budget < 0 {
			return 0
		}
		pieces[depth] = r.table.words[id].same
		for _, link := range links {
			if at := to + len(link); at <= len(w) && string(w[to:at]) == link && (link == "" || at < len(w)) {
				if n := r.splitFrom(w, h, at, depth+1, pieces, budget); n > 0 {
					return n
				}
			}
		}
	}
	return 0
}

var links = []string{"", "s", "n", "en", "e", "es", "er"}

const (
	minHead    = 6 // letters of a head that is known though the front of its compound is not
	minUnknown = 3 // letters of that front
)

// head reads a compound with an unknown front, as in Außenlautsprecher: where compounds are
// written as one word, the end says what the thing is. Only words that name a part by themselves
// are heads.
func (r *Reader) head(w []byte, h *[maxWord + 1]uint64) wordID {
	for from := minUnknown; len(w)-from >= minHead; from++ {
		id := r.table.find(span(h, from, len(w)), w[from:])
		if id == 0 {
			id = r.stem(w, h, from)
		}
		if id != 0 && r.table.words[id].flags&isHead != 0 {
			return r.table.words[id].same
		}
	}
	return 0
}
