package logfile

import "bytes"

// records gives the rows of a file a chunk at a time; io.EOF follows the last. There is one of them per format.
type records interface {
	next(c *Chunk) error
}

// A filler builds chunks cell by cell, for the formats whose cells are not found in the text by splitting it. The raw form of
// its rows is their cells with tabs between them.
type filler struct {
	c     *Chunk
	row   rowAt
	first int  // index of the row's first cell
	blank bool // no cell of the row holds anything
}

func (f *filler) begin(c *Chunk, line int64) {
	c.reset()
	c.line = line
	f.c = c
}

// start begins a row; lines never go back.
func (f *filler) start(line int64) {
	at := uint32(len(f.c.buf))
	f.row = rowAt{cell: uint32(len(f.c.cells)), line: uint32(line - f.c.line), from: at, to: at}
	f.first, f.blank = len(f.c.cells), true
}

func (f *filler) cell(text string) {
	if len(f.c.cells) > f.first {
		f.c.buf = append(f.c.buf, '\t')
	}
	from := uint32(len(f.c.buf))
	f.c.buf = append(f.c.buf, text...)
	f.c.cells = append(f.c.cells, span{from, uint32(len(f.c.buf))})
	f.blank = f.blank && blankText(text)
}

// end keeps the row unless all its cells are empty.
func (f *filler) end() {
	if f.blank {
		f.c.cells = f.c.cells[:f.first]
		f.c.buf = f.c.buf[:f.row.from]
		return
	}
	f.row.to = uint32(len(f.c.buf))
	f.c.rows = append(f.c.rows, f.row)
}

// bad keeps a row that could not be read: it has one cell, what there was.
func (f *filler) bad(line int64, text []byte) {
	const shown = 200
	f.start(line)
	f.cell(string(bytes.TrimSpace(text[:min(len(text), shown)])))
	f.end()
}

// finish closes the chunk.
func (f *filler) finish() {
	f.c.text = len(f.c.buf)
	f.c.rows = append(f.c.rows, rowAt{cell: uint32(len(f.c.cells))})
}

func blankText(s string) bool {
	for i := range len(s) {
		if s[i] != ' ' && s[i] != '\t' {
			return false
		}
	}
	return true
}
