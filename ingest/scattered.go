package ingest

import (
	"slices"
	"sync"
)

// runHashes collects one hash per run of neighbouring rows that carry the same ticket. A hash that
// comes twice belongs to a ticket whose rows do not stand together, in one file or over several.
type runHashes struct {
	full [][]uint64
	open []uint64
}

// Blocks grow from the first to the full size: a run may have thousands of small logs.
const (
	firstHashBlock = 1 << 6
	fullHashBlock  = 1 << 16
)

func (r *runHashes) add(hash uint64) {
	if len(r.open) == cap(r.open) {
		if r.open != nil {
			r.full = append(r.full, r.open)
		}
		r.open = make([]uint64, 0, min(fullHashBlock, max(firstHashBlock, 4*len(r.open))))
	}
	r.open = append(r.open, hash)
}

// maxScattered is how many scattered tickets are told apart, in hashes. Where there are more, as
// with tickets and part lines in two files, all rows are held back until their ticket is whole.
const maxScattered = 4 << 20

// scattered finds the hashes that were added more than once, over all collectors. all says that
// there are too many to list.
func scattered(collected []*runHashes, workers int) (set hashSet, all bool) {
	const parts = 256 // by the hash's first byte
	var sizes [parts]int
	total := 0
	each := func(visit func([]uint64)) {
		for _, r := range collected {
			for _, b := range r.full {
				visit(b)
			}
			visit(r.open)
		}
	}
	each(func(b []uint64) {
		total += len(b)
		for _, h := range b {
			sizes[h>>56]++
		}
	})
	sorted := make([]uint64, total)
	var next [parts]int
	for p, at := 0, 0; p < parts; p++ {
		next[p] = at
		at += sizes[p]
	}
	each(func(b []uint64) {
		for _, h := range b {
			sorted[next[h>>56]] = h
			next[h>>56]++
		}
	})
	var wg sync.WaitGroup
	twice := make([][]uint64, parts)
	turn := make(chan struct{}, max(1, workers))
	for p := range parts {
		part := sorted[next[p]-sizes[p] : next[p]]
		turn <- struct{}{}
		wg.Go(func() {
			twice[p] = repeated(part)
			<-turn
		})
	}
	wg.Wait()
	n := 0
	for _, t := range twice {
		n += len(t)
	}
	if n > maxScattered {
		return hashSet{}, true
	}
	set = newHashSet(n)
	for _, t := range twice {
		for _, h := range t {
			set.add(h)
		}
	}
	return set, false
}

// repeated sorts the hashes and returns those that occur more than once, once each.
func repeated(hashes []uint64) []uint64 {
	slices.Sort(hashes)
	var out []uint64
	for i := 1; i < len(hashes); i++ {
		if hashes[i] == hashes[i-1] && (len(out) == 0 || out[len(out)-1] != hashes[i]) {
			out = append(out, hashes[i])
		}
	}
	return out
}

// hashSet is a set of well-mixed hashes: open addressing, at most half full.
type hashSet struct {
	slots []uint64 // 0 is free
	zero  bool     // the hash 0 is in the set
	n     int
}

func newHashSet(n int) hashSet {
	if n == 0 {
		return hashSet{}
	}
	size := 8
	for size < 2*n {
		size *= 2
	}
	return hashSet{slots: make([]uint64, size)}
}

func (s *hashSet) add(h uint64) {
	if h == 0 {
		s.zero = true
		return
	}
	for i := h & uint64(len(s.slots)-1); ; i = (i + 1) & uint64(len(s.slots)-1) {
		switch s.slots[i] {
		case 0:
			s.slots[i] = h
			s.n++
			return
		case h:
			return
		}
	}
}

func (s *hashSet) has(h uint64) bool {
	if h == 0 {
		return s.zero
	}
	if len(s.slots) == 0 {
		return false
	}
	for i := h & uint64(len(s.slots)-1); ; i = (i + 1) & uint64(len(s.slots)-1) {
		switch s.slots[i] {
		case 0:
			return false
		case h:
			return true
		}
	}
}
