package batches

import "math/bits"

// A tray takes what is drawn, by cell, and knows which cells that went into: of a component that seldom shows they are few.
type tray struct {
	counts []int32
	filled []uint64 // a bit per cell
}

func newTray(cells int) tray {
	return tray{counts: make([]int32, cells), filled: make([]uint64, (cells+63)/64)}
}

func (t *tray) put(cell int, n int32) {
	t.counts[cell] += n
	t.filled[cell>>6] |= 1 << (cell & 63)
}

// each tells the cells that hold something, in order, and empties them.
func (t *tray) each(tell func(cell int, n int32)) {
	for i, word := range t.filled {
		for ; word != 0; word &= word - 1 {
			cell := i<<6 | bits.TrailingZeros64(word)
			tell(cell, t.counts[cell])
			t.counts[cell] = 0
		}
		t.filled[i] = 0
	}
}

func (t *tray) empty() { t.each(func(int, int32) {}) }
