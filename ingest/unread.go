package ingest

import (
	"bytes"
	"strconv"
	"strings"

	"faultgrain/ingest/cells"
)

// maxValue is the longest value that is listed as it stood, in bytes.
const maxValue = 48

// briefly gives a value as it may be listed: short, one line, nothing that looks personal.
func briefly(cell []byte) string {
	cell = bytes.Join(bytes.Fields(cells.Trim(cell)), []byte{' '})
	digits := 0
	for _, b := range cell {
		if b >= '0' && b <= '9' {
			digits++
		}
	}
	if len(cell) > maxValue || digits > 6 || looksPersonal(cell) {
		return "(a longer text)"
	}
	return string(cell)
}

func unreadNote(column string) string {
	switch column {
	case "part", "found":
		return "no component reads it; add a line to your components file"
	case "outcome":
		return "no known outcome; add it under [outcomes] in columns.toml"
	case "grade":
		return "no known grade; add it under [grades] in columns.toml"
	}
	return ""
}

// minFindings is how often a finding that nothing reads must come before it is listed: rarer ones
// may be sentences about a person.
const minFindings = 3

// findingMark stands before the keyed hash of a finding that nothing reads: its text may say anything, so that it stays in
// memory, and no file but the last has a word of it.
const findingMark = "found \x00"

// maxFindings bounds the findings a lane remembers.
const maxFindings = 20_000

// unreadFinding notes a finding that no component reads.
func (l *lane) unreadFinding(cell []byte) {
	value := briefly(cell)
	mark := findingMark + strconv.FormatUint(l.run.tx.TicketHash(nil, []byte(value)), 36)
	if _, ok := l.findings[mark]; !ok {
		if len(l.findings) >= maxFindings {
			mark = findingMark
		}
		l.findings[mark] = value
	}
	l.line.notices = append(l.line.notices, notice{"unread-value", mark, unreadNote("found")})
}

// findings gives what to list findings as, by their mark: those that come often enough as they stood.
func (r *run) findings() map[string]string {
	often, shown := map[string]int64{}, map[string]string{findingMark: "(a longer text)"}
	for _, l := range r.lanes {
		for _, n := range l.noted {
			for _, th := range n.things {
				if strings.HasPrefix(th.subject, findingMark) {
					often[th.subject] += th.times * n.tickets
				}
			}
		}
	}
	for _, l := range r.lanes {
		for mark, value := range l.findings {
			switch {
			case mark == findingMark:
			case often[mark] < minFindings:
				shown[mark] = "(rare texts)"
			default:
				shown[mark] = value
			}
		}
	}
	return shown
}

// unreadValue notes a cell of words that nothing knows, so that a person can name it.
func (ln *line) unreadValue(column string, cell []byte) {
	ln.notices = append(ln.notices, notice{"unread-value", column + ": " + briefly(cell), unreadNote(column)})
}
