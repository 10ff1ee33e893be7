package logfile

// Chunk is a run of whole records. Its cells are valid until the function it was handed to returns.
type Chunk struct {
	Seq      int // place in the file, from 0
	Repaired int // rows that were no valid UTF-8 and were read as Windows-1252
	Bytes    int // bytes of text this chunk stands for
	file     *File
	buf      []byte // the text; unescaped cells are appended behind it
	text     int    // bytes of buf that are the text
	line     int64  // line of the first record
	cells    []span
	rows     []rowAt // one more than there are rows: the last closes the one before
}

type span struct{ from, to uint32 }

type rowAt struct {
	cell     uint32 // index of its first cell
	line     uint32 // lines below Chunk.line
	from, to uint32 // the record in buf, without its line end
}

// Rows returns how many records the chunk holds. Records whose cells are all empty are none.
func (c *Chunk) Rows() int { return max(0, len(c.rows)-1) }

// Line returns the line the record starts on, from 1.
func (c *Chunk) Line(row int) int64 { return c.line + int64(c.rows[row].line) }

// Width returns how many cells the record has; more or fewer than the header is a ragged row.
func (c *Chunk) Width(row int) int { return int(c.rows[row+1].cell - c.rows[row].cell) }

// Cell returns a cell as UTF-8 without its quotes; empty when the record is too short or col is negative.
func (c *Chunk) Cell(row, col int) []byte {
	r := c.Row(row)
	return r.Cell(col)
}

// A Row is one record of a chunk, for who looks at many of its cells.
type Row struct {
	buf   []byte
	cells []span
}

// Row returns a record.
func (c *Chunk) Row(row int) Row {
	return Row{buf: c.buf, cells: c.cells[c.rows[row].cell:c.rows[row+1].cell]}
}

// Width returns how many cells the record has.
func (r *Row) Width() int { return len(r.cells) }

// Cell is that of Chunk.
func (r *Row) Cell(col int) []byte {
	if uint(col) >= uint(len(r.cells)) {
		return nil
	}
	s := r.cells[col]
	return r.buf[s.from:s.to:s.to]
}

// Raw returns the record as it stood, without its line end.
func (c *Chunk) Raw(row int) []byte {
	r := c.rows[row]
	return c.buf[r.from:r.to:r.to]
}

// reset empties the chunk and keeps its memory.
func (c *Chunk) reset() {
	*c = Chunk{file: c.file, buf: c.buf[:0], cells: c.cells[:0], rows: c.rows[:0]}
}
