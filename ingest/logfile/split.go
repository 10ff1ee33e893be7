package logfile

import (
	"bytes"
	"encoding/binary"
	"math/bits"
	"unicode/utf8"
)

// split finds the rows and cells of a chunk's text; at most limit rows when limit is above 0.
//
// Cells end at a delimiter or line end, which are found eight bytes at a time: the byte that is
// looked for is turned to zero by exclusive or, and zero bytes are marked by an addition that
// carries into the top bit of every other byte. The marks are exact.
func (d *dialect) split(c *Chunk, limit int) {
	c.toUTF8(d)
	s := splitter{d: d, c: c, quotes: quotes{dialect: d, record: -1}}
	buf := c.buf[:c.text]
	delims, eols, marks := spread(d.delim), spread(d.eol), spread('"')
	i := 0
words:
	for i+8 <= len(buf) {
		w := binary.LittleEndian.Uint64(buf[i:])
		hits := zeros(w^delims) | zeros(w^eols) | zeros(w^marks)
		for hits != 0 {
			at := i + bits.TrailingZeros64(hits)/8
			hits &= hits - 1
			if buf[at] == d.delim && !s.done && !s.stray {
				s.plainCell(buf, at)
				continue
			}
			if next := s.mark(buf, at); next != at+1 {
				i = next
				continue words
			}
			if limit > 0 && s.rows >= limit {
				s.close(s.record)
				return
			}
		}
		i += 8
	}
	for i < len(buf) {
		if b := buf[i]; b == d.delim || b == d.eol || b == '"' {
			i = s.mark(buf, i)
		} else {
			i++
		}
		if limit > 0 && s.rows >= limit {
			s.close(s.record)
			return
		}
	}
	if s.record < len(buf) {
		s.endCell(buf, len(buf))
		s.endRow(buf, len(buf), len(buf))
	}
	s.close(len(buf))
}

func spread(b byte) uint64 { return 0x0101010101010101 * uint64(b) }

// zeros sets the top bit of every byte of x that is zero, and no other bit.
func zeros(x uint64) uint64 {
	const low = 0x7f7f7f7f7f7f7f7f
	return ^(((x & low) + low) | x | low)
}

// splitter holds where the cell, record and line at hand start.
type splitter struct {
	d      *dialect
	c      *Chunk
	quotes quotes
	cell   int    // start of the cell at hand
	record int    // start of the record at hand
	first  int    // index of the record's first cell
	line   uint32 // lines above the record at hand
	breaks uint32 // line ends inside its cells
	filled bool   // some cell of it is not blank
	rows   int
	done   bool // the cell at hand was quoted and is stored
	stray  bool // the cell at hand starts with a stray quote
}

// mark handles the delimiter, line end or quote at i and returns where to go on.
func (s *splitter) mark(buf []byte, i int) int {
	switch buf[i] {
	case s.d.eol:
		end := i
		if end > s.record && buf[end-1] == '\r' {
			end--
		}
		s.endCell(buf, end)
		s.endRow(buf, end, i+1)
		return i + 1
	case s.d.delim:
		s.endCell(buf, i)
		s.cell = i + 1
		return i + 1
	}
	if s.done || !s.d.opens(buf, s.cell, i) {
		return i + 1
	}
	end, after, how := s.quotes.at(buf, s.record, i, true)
	if how == stray {
		s.stray = true
		return i + 1
	}
	s.quotedCell(buf, i+1, end)
	return after
}

// quotedCell stores buf[from:to] without the doubling or the escaping of its quotes.
func (s *splitter) quotedCell(buf []byte, from, to int) {
	s.done = true
	cell := buf[from:to]
	s.breaks += uint32(bytes.Count(cell, []byte{s.d.eol}))
	s.filled = s.filled || !blank(cell)
	if s.d.backslash && bytes.IndexByte(cell, '\\') >= 0 {
		s.escapedCell(cell)
		return
	}
	if bytes.IndexByte(cell, '"') < 0 {
		s.c.cells = append(s.c.cells, span{uint32(from), uint32(to)})
		return
	}
	start := len(s.c.buf)
	for {
		q := bytes.IndexByte(cell, '"')
		if q < 0 {
			break
		}
		s.c.buf = append(s.c.buf, cell[:q+1]...)
		if cell = cell[q+1:]; len(cell) > 0 && cell[0] == '"' {
			cell = cell[1:]
		}
	}
	s.c.buf = append(s.c.buf, cell...)
	s.c.cells = append(s.c.cells, span{uint32(start), uint32(len(s.c.buf))})
}

// escapedCell stores a cell without the backslashes before its quotes and backslashes.
func (s *splitter) escapedCell(cell []byte) {
	start := len(s.c.buf)
	for i := 0; i < len(cell); i++ {
		if i+1 < len(cell) && (cell[i] == '\\' && (cell[i+1] == '"' || cell[i+1] == '\\') || cell[i] == '"' && cell[i+1] == '"') {
			i++
		}
		s.c.buf = append(s.c.buf, cell[i])
	}
	s.c.cells = append(s.c.cells, span{uint32(start), uint32(len(s.c.buf))})
}

// endCell stores the plain cell that ends at end, unless it was quoted.
func (s *splitter) endCell(buf []byte, end int) {
	if s.done {
		s.done = false
		return
	}
	from := min(s.cell, end)
	if s.stray {
		s.stray = false
		from, end = bare(buf, from, end)
	}
	s.filled = s.filled || !blank(buf[from:end])
	s.c.cells = append(s.c.cells, span{uint32(from), uint32(end)})
}

// plainCell stores the cell at hand, which no quote starts and a delimiter at end ends.
func (s *splitter) plainCell(buf []byte, end int) {
	s.filled = s.filled || !blank(buf[s.cell:end])
	s.c.cells = append(s.c.cells, span{uint32(s.cell), uint32(end)})
	s.cell = end + 1
}

// blank tells whether a cell holds nothing but white space: a line of such cells is no row.
func blank(cell []byte) bool {
	for _, b := range cell {
		if b > ' ' {
			return false
		}
	}
	return true
}

// bare drops the quotes around a cell whose inner quotes were not doubled, as in "says "hot"".
func bare(buf []byte, from, to int) (int, int) {
	cell := bytes.Trim(buf[from:to], " ")
	if len(cell) < 2 || cell[0] != '"' || cell[len(cell)-1] != '"' {
		return from, to
	}
	from += bytes.IndexByte(buf[from:to], '"') + 1
	return from, from + len(cell) - 2
}

// endRow stores the record that ends at end; the next starts at next.
func (s *splitter) endRow(buf []byte, end, next int) {
	if s.filled {
		s.c.rows = append(s.c.rows, rowAt{cell: uint32(s.first), line: s.line, from: uint32(s.record), to: uint32(end)})
		s.rows++
		s.first = len(s.c.cells)
	} else {
		s.c.cells = s.c.cells[:s.first]
	}
	s.line += 1 + s.breaks
	s.breaks, s.filled = 0, false
	s.cell, s.record = next, next
}

// close ends the last row.
func (s *splitter) close(end int) {
	s.c.rows = append(s.c.rows, rowAt{cell: uint32(s.first), line: s.line, from: uint32(end), to: uint32(end)})
}

// toUTF8 makes sure that every byte of the text can be shown: a chunk that is valid, as nearly all
// are, is left alone; in others the lines that are not valid are read as Windows-1252.
func (c *Chunk) toUTF8(d *dialect) {
	if utf8.Valid(c.buf[:c.text]) {
		return
	}
	out := make([]byte, 0, len(c.buf)+len(c.buf)/8)
	for rest := c.buf[:c.text]; len(rest) > 0; {
		line := rest
		if e := bytes.IndexByte(rest, d.eol); e >= 0 {
			line = rest[:e+1]
		}
		rest = rest[len(line):]
		if utf8.Valid(line) {
			out = append(out, line...)
			continue
		}
		out = repair(out, line)
		c.Repaired++
	}
	c.buf, c.text = out, len(out)
}
