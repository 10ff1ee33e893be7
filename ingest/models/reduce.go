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

// dropAll drops again until nothing more goes: what stood between may have hidden it.
func (f *Folder) dropAll(maker string, tokens []token) (kept []token, dropped []string) {
	for {
		next, gone := dropStorage(tokens)
		dropped = append(dropped, gone...)
		next, gone = f.dropTrailing(inches(next))
		dropped = append(dropped, gone...)
		next = f.withoutMaker(tokenise(words(generations(next))), maker)
		if words(next) == words(tokens) {
			return next, dropped
		}
		tokens = next
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
