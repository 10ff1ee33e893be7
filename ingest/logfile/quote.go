package logfile

import "bytes"

// dialect is how a text file separates its cells and records.
type dialect struct {
	delim byte
	eol   byte // '\n', or '\r' in files of very old programs
	width int  // cells in the header; 0 while it is not known

	backslash bool // in a quoted cell \" is a quote and \\ a backslash

	headerLine int64 // where the header starts, from 1
	dataLine   int64 // line of the first record below it
	dataStart  int   // bytes of text before that record
}

// maxQuoted is the longest quoted cell, in bytes. A quote that finds no partner within it is a
// stray one and stands for itself.
const maxQuoted = 1 << 20

// Outcomes of looking at an opening quote.
type quoting int

const (
	quoted   quoting = iota // the cell is quoted
	stray                   // the quote stands for itself, as in 7" screen
	needMore                // the text at hand ends too early to tell
)

// closing finds the quote that closes the one at q: one followed by a delimiter, a record's end or
// the text's end, spaces allowed between. A doubled quote is an escaped one, and so is one behind a
// backslash where the file escapes them so; a quote followed by
// anything else stands for itself. after is where the delimiter or end is.
//
// last says that no text follows buf.
func (d *dialect) closing(buf []byte, q int, last bool) (end, after int, how quoting) {
	limit := min(len(buf), q+maxQuoted)
	for i := q + 1; ; {
		j := bytes.IndexByte(buf[i:limit], '"')
		if j < 0 {
			if last || limit == q+maxQuoted {
				return 0, 0, stray
			}
			return 0, 0, needMore
		}
		j += i
		if d.backslash && escaped(buf[q+1:j]) {
			i = j + 1
			continue
		}
		if j+1 < len(buf) && buf[j+1] == '"' {
			if i = j + 2; i > limit {
				return 0, 0, stray
			}
			continue
		}
		k := j + 1
		for k < len(buf) && buf[k] == ' ' {
			k++
		}
		switch {
		case k == len(buf):
			if !last {
				return 0, 0, needMore
			}
			return j, k, quoted
		case buf[k] == d.delim || buf[k] == d.eol:
			return j, k, quoted
		case buf[k] == '\r' && d.eol == '\n':
			if k+1 == len(buf) && !last {
				return 0, 0, needMore
			}
			if k+1 == len(buf) || buf[k+1] == '\n' {
				return j, k, quoted
			}
		}
		i = j + 1
	}
}

// escaped says whether what stands behind the text is escaped: an odd number of backslashes ends it.
func escaped(text []byte) bool {
	n := len(text) - len(bytes.TrimRight(text, `\`))
	return n%2 == 1
}

// escapes says whether the text escapes quotes by backslashes, as some programs do that should double them. Backslashes of
// other meaning stand before quotes, too: "C:\". So it does where fewer rows miss the header's width when read so, and where
// as many do, the same number fits, and some such quote stands in the middle of a cell.
func (d dialect) escapes(text []byte, whole bool) bool {
	if !bytes.Contains(text, []byte(`\"`)) {
		return false
	}
	read := func(backslash bool) (fit, miss int) {
		d.backslash = backslash
		c := &Chunk{buf: bytes.Clone(text), text: len(text)}
		d.split(c, 0)
		for r := range c.Rows() {
			switch {
			case !whole && r == c.Rows()-1: // the sample's end has cut the last record
			case c.Width(r) == d.width:
				fit++
			default:
				miss++
			}
		}
		return fit, miss
	}
	doubled, missed := read(false)
	escaped, missedEscaped := read(true)
	return missedEscaped < missed || missedEscaped == missed && escaped == doubled && d.quotesInside(text)
}

// quotesInside says whether a quote behind a backslash has more of its cell behind it.
func (d dialect) quotesInside(text []byte) bool {
	for i := 0; ; {
		j := bytes.Index(text[i:], []byte(`\"`))
		if j < 0 {
			return false
		}
		i += j + 2
		rest := bytes.TrimLeft(text[i:], " ")
		if len(rest) > 0 && rest[0] != '"' && rest[0] != d.delim && rest[0] != d.eol && rest[0] != '\r' && escaped(text[:i-1]) {
			return true
		}
	}
}

// opens says whether the quote at q begins a cell: only spaces stand between it and the delimiter
// or end of record before it. floor is where the record or the text after the last cell starts.
func (d *dialect) opens(buf []byte, floor, q int) bool {
	for q--; q >= floor; q-- {
		switch buf[q] {
		case ' ':
			if d.delim == ' ' {
				return true
			}
		case d.delim, d.eol:
			return true
		default:
			return false
		}
	}
	return true
}

// quotes decides about opening quotes, one record after the other. It remembers the width of the
// record it last measured, so that a record with many line breaks in its cells is measured once.
type quotes struct {
	*dialect
	record  int // start of the record measured, -1 for none
	width   int // its width when every quoted cell is taken as such; -1 when it has no end
	doubted int // cells of it that were weighed
}

// maxDoubts bounds the work on one malformed record.
const maxDoubts = 64

// at decides about the quote at q, which opens a cell of the record that starts at start.
//
// A quoted cell may span lines. But someone who starts a cell with a quote and never closes it makes
// the next quoted cell, rows below, look like the end of this one. Such a quote is stray: cut at the
// first line's end, the record has the header's width, and read as quoted it either does not or
// holds a quote that would open a cell of its own.
//
// The decision depends on the text alone, never on where a chunk ends: where a later part of the
// text is missing because a chunk was cut there, the cut itself proves that the quote was stray.
func (s *quotes) at(buf []byte, start, q int, last bool) (end, after int, how quoting) {
	end, after, how = s.closing(buf, q, last)
	if how != quoted || s.dialect.width == 0 {
		return end, after, how
	}
	line := bytes.IndexByte(buf[q:end], s.eol)
	if line < 0 {
		return end, after, quoted
	}
	if s.record != start {
		width, how := s.count(buf, start, -1, len(buf), last)
		if how == needMore {
			return 0, 0, needMore
		}
		s.record, s.width, s.doubted = start, width, 0
	}
	if s.width == s.dialect.width && !s.reopens(buf[:end], q+line+1) || s.doubted >= maxDoubts {
		return end, after, quoted
	}
	s.doubted++
	if width, _ := s.count(buf, start, q, q+line, true); width == s.dialect.width {
		return 0, 0, stray
	}
	return end, after, quoted
}

// reopens says whether a single quote below from would open a cell if it stood outside of one.
func (d *dialect) reopens(buf []byte, from int) bool {
	for i := from; ; {
		j := bytes.IndexByte(buf[i:], '"')
		if j < 0 {
			return false
		}
		j += i
		if j+1 < len(buf) && buf[j+1] == '"' {
			i = j + 2
			continue
		}
		if d.opens(buf, from, j) {
			return true
		}
		i = j + 1
	}
}

// count returns the cells of the record at start, whose text ends at stop at the latest; the quote
// at literal stands for itself. A record that does not end before the text does has width -1.
func (d *dialect) count(buf []byte, start, literal, stop int, last bool) (width int, how quoting) {
	buf = buf[:stop]
	width = 1
	cell := start // where the current cell starts
	for i := start; i < len(buf); {
		switch b := buf[i]; {
		case b == '"' && i != literal && d.opens(buf, cell, i):
			_, after, how := d.closing(buf, i, last)
			if how == needMore {
				return 0, needMore
			}
			if how == stray {
				i++
				continue
			}
			i = after
			cell = i
		case b == d.eol:
			return width, quoted
		case b == d.delim:
			width++
			i++
			cell = i
		default:
			i++
		}
	}
	if !last {
		return 0, needMore
	}
	return width, quoted
}
