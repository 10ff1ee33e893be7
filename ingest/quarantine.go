package ingest

import (
	"bytes"
	"regexp"
	"strconv"
	"unicode/utf8"

	"faultgrain/ingest/cells"
	"faultgrain/ingest/columns"
	"faultgrain/ingest/logfile"
)

// A Reason says in a word why a row was quarantined. It is written to the history and counted in
// the report: add, never rename.
type Reason string

// Reasons.
const (
	ReasonMissing     Reason = "missing"       // a cell that every row needs is empty
	ReasonBadDate     Reason = "bad-date"      // opened can't be read as a date
	ReasonRagged      Reason = "ragged"        // more cells than the header has names, or one alone
	ReasonNoTicketRow Reason = "no-ticket-row" // a part line whose ticket no log of the run has
)

// refusal is a row that was not accepted, personal data masked.
type refusal struct {
	ticket, shop string // as the row names them; empty ticket for none
	column       string
	reason       Reason
	found, want  string
	raw          string
}

const mask = "***"

// maxShown bounds a cell shown in the quarantine, in bytes.
const maxShown = 80

// appendShown appends a cell of a column that holds nothing personal. A row may have slipped, so
// that another column's content stands in it: what looks like a mail address or a telephone number
// is masked, and long cells are cut.
func appendShown(b, cell []byte) []byte {
	if looksPersonal(cell) {
		return append(b, mask...)
	}
	if len(cell) <= maxShown {
		return append(b, cell...)
	}
	cut := maxShown
	for cut > 0 && !utf8.RuneStart(cell[cut]) {
		cut--
	}
	return append(append(b, cell[:cut]...), "..."...)
}

// looksPersonal tells a mail address by its sign and a telephone number by a leading plus or by
// nine digits with nothing but spaces, brackets and dashes between them.
func looksPersonal(cell []byte) bool {
	digits, first := 0, true
	plain := true
	for _, c := range cell {
		switch {
		case c == '@':
			return true
		case c == '+' && first, c == ' ', c == '-', c == '(', c == ')', c == '/':
			if c == '+' {
				digits += 3
			}
		case c >= '0' && c <= '9':
			digits++
		default:
			plain = false
		}
		if c != ' ' {
			first = false
		}
	}
	return plain && digits >= 9
}

// dateLike is three groups of digits parted by the same sign, with or without a time of day.
var dateLike = regexp.MustCompile(`^(?:\d{1,2}|\d{4})(?:\.\d{1,2}\.|/\d{1,2}/|-\d{1,2}-)(?:\d{1,2}|\d{4})(?:[ T,]+\d{1,2}(?::\d{1,2}){1,2}(?:[.,]\d+)?Z?)?$`)

// shownDate gives a cell that should have been a date as it stood if it is built like one; else
// only its length, for it may be anything.
func shownDate(cell []byte) string {
	if dateLike.Match(cell) {
		return string(cell)
	}
	return hiddenText(cell)
}

// ticketLike is a number with at most some letters and signs before, in and behind it: no words.
var ticketLike = regexp.MustCompile(`^[\pL]{0,8}[-_/#. ]?[\pL]{0,4}[-_/#.]?\d[\pL\d_/#.-]{0,30}$`)

// shownTicket gives a ticket as it stood if it is built like one; else only its length.
func shownTicket(cell []byte) string {
	if ticketLike.Match(cell) && !looksPersonal(cell) {
		return string(cell)
	}
	return hiddenText(cell)
}

func hiddenText(cell []byte) string {
	return "a text of " + strconv.Itoa(utf8.RuneCount(cell)) + " characters"
}

// maskedRow is a row as it stood, with columns masked that hold personal data or may. A row whose
// ticket is none, or that has something other than a date where its date should be, may have slipped:
// then all of it is masked.
func (l *lane) maskedRow(s *source, row *logfile.Row) string {
	if ticket := l.line.ticket; ticket != "" && shownTicket(bytesOf(ticket)) != ticket {
		return mask
	}
	if col := s.layout.at[columns.Opened]; col >= 0 {
		if cell := cells.Trim(row.Cell(col)); len(cell) > 0 && !dateLike.Match(cell) {
			return mask
		}
	}
	delimiter := byte(',')
	if s.file.Delimiter != "" {
		delimiter = s.file.Delimiter[0]
	}
	b := l.shown[:0]
	for col := range s.layout.width {
		if col > 0 {
			b = append(b, delimiter)
		}
		cell := cells.Trim(row.Cell(col))
		of := s.columns.Of[col]
		switch {
		case len(cell) == 0:
		case of.Masked(), of.Date() && !dateLike.Match(cell):
			b = append(b, mask...)
		default:
			from := len(b)
			if b = appendShown(b, cell); bytes.IndexByte(b[from:], delimiter) >= 0 || bytes.IndexByte(b[from:], '\n') >= 0 {
				quoted := append([]byte{'"'}, bytes.ReplaceAll(b[from:], []byte{'"'}, []byte(`""`))...)
				b = append(append(b[:from], quoted...), '"')
			}
		}
	}
	l.shown = b
	return view(b)
}
