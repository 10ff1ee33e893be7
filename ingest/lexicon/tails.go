package lexicon

import "faultgrain/schemas"

// minTail is the least that two compounds share at their end.
const minTail = 4

// giveTails completes words that share the end of a compound after an "and": the "Home-" of "Home- und Powertaste"
// is a Hometaste.
func (r *Reader) giveTails(text string, toks []token) {
	for i := 0; i+2 < len(toks); i++ {
		if !dangles(text, int(toks[i].end)) || r.table.words[toks[i+1].word].flags&isJoin == 0 {
			continue
		}
		if w := r.shareTail(text[toks[i].start:toks[i].end], text[toks[i+2].start:toks[i+2].end]); w != 0 {
			toks[i].word = w
		}
	}
}

// dangles says whether a hyphen with a blank after it stands at text[end:].
func dangles(text string, end int) bool {
	return end+1 < len(text) && text[end] == '-' && text[end+1] == ' '
}

// shareTail finds the name that head makes with the longest end of the compound.
func (r *Reader) shareTail(head, compound string) wordID {
	var room, more [2 * maxWord]byte
	w, c := room[:0], more[:0]
	for _, x := range head {
		w = schemas.AppendFolded(w, x)
	}
	for _, x := range compound {
		c = schemas.AppendFolded(c, x)
	}
	for k := 1; k+minTail <= len(c); k++ {
		whole := append(w, c[k:]...)
		if len(whole) > maxWord {
			continue
		}
		var h [maxWord + 1]uint64
		prefixHashes(whole, &h)
		if id := r.table.find(h[len(whole)], whole); id != 0 && r.table.words[id].flags&isName != 0 {
			return r.table.words[id].same
		}
	}
	return 0
}
