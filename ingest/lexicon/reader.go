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
	owner   []uint64  // by word id: which components' phrases hold it
	scratch sync.Pool // *scratch

	strangers strangers
}

// A component is schemas.Component with ids resolved to indexes.
type component struct {
	cause, vague, accessory bool
	pair                    [2]int16
	unless                  []int16
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
