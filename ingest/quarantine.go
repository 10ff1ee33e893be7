package ingest

import (
	"regexp"
	"strconv"
	"unicode/utf8"
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
