package models

import "faultgrain/ingest/cells"

// reduce parts a model's name and drops what tells nothing. Where models.toml keeps the beginning of
// the name and only noise follows, that beginning stays: "7 Red EU" is "7 Red".
func (f *Folder) reduce(maker, model string) (kept []token, dropped []string) {
	tokens := f.withoutMaker(tokenise(model), maker)
	kept, dropped = f.dropAll(maker, tokens)
	if len(f.keep) > 0 {
		for n := len(tokens); n > 0; n-- {
			if f.kept(maker, tokens[:n]) && within(kept, tokens[:n]) {
				return tokens[:n], texts(tokens[n:])
			}
		}
	}
	return kept, dropped
}

// dropAll drops until the spelling of what is left settles: what stood between may have hidden more, and a word once
// spelled may part anew.
func (f *Folder) dropAll(maker string, tokens []token) (kept []token, dropped []string) {
	var seen spellings
	for {
		var gone []string
		kept, gone = dropStorage(tokens)
		dropped = append(dropped, gone...)
		kept, gone = f.dropTrailing(inches(kept))
		dropped = append(dropped, gone...)
		kept = f.withoutMaker(generations(kept), maker)
		spelled := phrase(kept, maker == "")
		if seen.settled(spelled) {
			return kept, dropped
		}
		tokens = f.withoutMaker(tokenise(f.accented(join2(maker, spelled))), maker)
	}
}

// within tells whether all of a stand in b, in the same order.
func within(a, b []token) bool {
	for _, t := range b {
		if len(a) > 0 && a[0].key == t.key {
			a = a[1:]
		}
	}
	return len(a) == 0
}

// kept tells a spelling that models.toml forbids to fold.
func (f *Folder) kept(maker string, tokens []token) bool {
	if len(f.keep) == 0 {
		return false
	}
	key := cells.Key(words(tokens))
	return f.keep[key] || f.keep[cells.Key(maker)+key]
}
