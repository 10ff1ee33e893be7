package lexicon

import "sync"

// A Reader reads texts with one lexicon. It is immutable and safe for concurrent use.
type Reader struct {
	ids     []string // component ids, sorted
	comps   []component
	entries []entry
	table   wordTable
	trie    phraseTrie
	typos   typoIndex
	owner   []uint64                     // by word id: which components' phrases hold it
	number  wordID                       // a number the lexicon does not have
	percent wordID                       // the word "percent", which the sign is read as
	on      map[string]map[string]string // id, class, the id it is there; to explain
	scratch sync.Pool                    // *scratch

	strangers strangers
}

// A component is schemas.Component with ids resolved to indexes.
type component struct {
	cause, vague, accessory bool
	pair                    [2]int16 // what its phrases of both name; -1
	sides                   bool     // the pair are its two sides, so that it stands for either
	unless, beside          []int16
}

// scratch is the room one Read needs.
type scratch struct {
	toks  []token
	items []item
	segs  []segment
	sure  []bool // by component: read for certain
	fine  []bool // by component: said to be in order
	firm  bool   // some segment is firm
}
