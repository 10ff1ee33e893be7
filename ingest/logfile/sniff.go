package logfile

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
)

// sniffRows is how many records are looked at to settle the dialect.
const sniffRows = 200

var candidates = []byte{',', ';', '\t', '|'}

// sniffDialect settles line end, delimiter and header from the start of the text.
//
// The delimiter is the one under which most records have the same number of cells and the header
// has it too; more cells break a tie, then the order , ; tab |. A first line such as sep=; decides.
// The header is the first record with at least half of that many filled cells, so that a title
// above it is passed over.
func sniffDialect(text []byte, whole bool, want string) (dialect, []string, error) {
	d := dialect{eol: '\n'}
	if bytes.IndexByte(text, '\n') < 0 && bytes.IndexByte(text, '\r') >= 0 {
		d.eol = '\r'
	}
	start, line := 0, int64(1)
	if sep, n := separatorLine(text, d.eol); n > 0 {
		start, line = n, 2
		if want == "" {
			want = string(sep)
		}
	}
	delims := candidates
	if want != "" {
		b, err := parseDelimiter(want)
		if err != nil {
			return d, nil, err
		}
		delims = []byte{b}
	}
	var best score
	for _, b := range delims {
		d.delim = b
		if s := d.score(text[start:], whole); best.delim == 0 || s.beats(best) {
			best = s
		}
	}
	d.delim = best.delim
	c := d.sample(text[start:], whole)
	if c.Rows() == 0 {
		return d, nil, errors.New("no row in it; export the log again")
	}
	h := headerRow(c, best.width)
	names := make([]string, c.Width(h))
	for i := range names {
		names[i] = strings.TrimSpace(strings.ToValidUTF8(string(c.Cell(h, i)), ""))
	}
	if whole && h == c.Rows()-1 {
		return d, nil, errors.New("a header and no row below it; export the log again")
	}
	d.width = len(names) // empty names included: rows have a cell for them
	d.headerLine = line + c.Line(h)
	next := c.rows[h+1]
	d.dataStart = start + int(next.from)
	d.dataLine = line + int64(next.line)
	d.backslash = d.escapes(text[min(d.dataStart, len(text)):], whole)
	return d, names, nil
}

// separatorLine reads the line sep=; that some spreadsheets put first; n is 0 when there is none.
func separatorLine(text []byte, eol byte) (sep byte, n int) {
	e := bytes.IndexByte(text, eol)
	if e < 0 {
		return 0, 0
	}
	rest, ok := strings.CutPrefix(strings.ToLower(strings.TrimRight(string(text[:e]), "\r")), "sep=")
	if !ok || len(rest) != 1 {
		return 0, 0
	}
	return rest[0], e + 1
}

func parseDelimiter(s string) (byte, error) {
	switch strings.ToLower(s) {
	case `\t`, "tab":
		return '\t', nil
	case "semicolon":
		return ';', nil
	case "comma":
		return ',', nil
	case "pipe":
		return '|', nil
	}
	if len(s) != 1 || s[0] >= 0x80 || s[0] == '"' || s[0] == '\n' || s[0] == '\r' || isWord(s[0]) {
		return 0, fmt.Errorf("delimiter %q can't be used, want one sign such as , ; | or tab", s)
	}
	return s[0], nil
}

func isWord(b byte) bool {
	return b >= '0' && b <= '9' || b >= 'a' && b <= 'z' || b >= 'A' && b <= 'Z'
}

// sample splits the first records of the text.
func (d *dialect) sample(text []byte, whole bool) *Chunk {
	c := &Chunk{buf: bytes.Clone(text), text: len(text)}
	rows := sniffRows
	if whole && len(text) < 1<<16 {
		rows = 0
	}
	d.split(c, rows)
	if len(c.rows) > 0 && rows > 0 && len(c.rows) <= rows && !whole {
		c.rows = c.rows[:len(c.rows)-1] // the sample's end has cut the last record
	}
	return c
}

// score says how well a delimiter explains the sample.
type score struct {
	delim byte
	fit   float64 // share of records of the common width; a header that has it counts for as much again
	width int     // the common width
}

// beats says whether s explains the sample better. A delimiter that never occurs explains nothing.
func (s score) beats(o score) bool {
	if (s.width > 1) != (o.width > 1) {
		return s.width > 1
	}
	if s.fit != o.fit {
		return s.fit > o.fit
	}
	return s.width > o.width
}

func (d *dialect) score(text []byte, whole bool) score {
	c := d.sample(text, whole)
	count := map[int]int{}
	for r := range c.Rows() {
		count[c.Width(r)]++
	}
	s := score{delim: d.delim}
	most := 0
	for w, n := range count {
		if n > most || n == most && w > s.width {
			most, s.width = n, w
		}
	}
	if c.Rows() == 0 {
		return s
	}
	s.fit = float64(most) / float64(c.Rows())
	if c.Width(headerRow(c, s.width)) == s.width {
		s.fit++
	}
	return s
}

// headerRow returns the first record with at least half of width cells filled, at least two where
// the records have as many.
func headerRow(c *Chunk, width int) int {
	need := max(min(2, width), (width+1)/2)
	for r := range min(c.Rows(), 20) {
		filled := 0
		for i := range c.Width(r) {
			if len(bytes.TrimSpace(c.Cell(r, i))) > 0 {
				filled++
			}
		}
		if filled >= need {
			return r
		}
	}
	return 0
}
