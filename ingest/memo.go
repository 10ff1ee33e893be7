package ingest

import "github.com/zeebo/xxh3"

// A memo remembers what the cells of a column were read as, for logs repeat themselves: few shops, models, parts and grades
// come again and again. It forgets all when it knows too many, so that memory is bounded; what is read does not depend on
// what is remembered. An empty cell is read as the zero value.
type memo[T any] struct {
	read  func(cell []byte) T // what it returns must not lie in the cell
	seen  []remembered[T]
	table []uint32 // open addressing by hash: 1 + index into seen, 0 is free; at most half full
	most  int      // cells it knows at once
}

type remembered[T any] struct {
	cell string
	as   T
}

// maxRemembered bounds the cells of most memos.
const maxRemembered = 4096

func newMemo[T any](read func([]byte) T) memo[T] {
	return memo[T]{read: read, table: make([]uint32, 16), most: maxRemembered}
}

func (m *memo[T]) get(cell []byte) (as T) {
	if len(cell) == 0 {
		return as
	}
	mask := uint64(len(m.table) - 1)
	for at := xxh3.Hash(cell) & mask; ; at = (at + 1) & mask {
		id := m.table[at]
		if id == 0 {
			break
		}
		if r := &m.seen[id-1]; r.cell == string(cell) {
			return r.as
		}
	}
	as = m.read(cell)
	m.remember(string(cell), as)
	return as
}

// remember adds a cell that is not known yet.
func (m *memo[T]) remember(cell string, as T) {
	if len(m.seen) == m.most {
		clear(m.table)
		clear(m.seen)
		m.seen = m.seen[:0]
	}
	m.seen = append(m.seen, remembered[T]{cell, as})
	if 2*len(m.seen) <= len(m.table) {
		m.place(len(m.seen) - 1)
		return
	}
	m.table = make([]uint32, 2*len(m.table))
	for i := range m.seen {
		m.place(i)
	}
}

// place enters a remembered cell into the table.
func (m *memo[T]) place(i int) {
	mask := uint64(len(m.table) - 1)
	at := xxh3.HashString(m.seen[i].cell) & mask
	for m.table[at] != 0 {
		at = (at + 1) & mask
	}
	m.table[at] = uint32(i + 1)
}
