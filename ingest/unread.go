package ingest

import (
	"bytes"

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

// unreadFinding counts a finding that no component reads. It stays in memory, for it may say anything.
func (l *lane) unreadFinding(cell []byte) {
	value := briefly(cell)
	if _, ok := l.findings[value]; !ok && len(l.findings) >= maxNotices {
		value = "(a longer text)"
	}
	l.findings[value]++
}

// unreadFindings adds up the lanes' findings that nothing reads.
func (r *run) unreadFindings() map[notice]int64 {
	sum := map[string]int64{}
	for _, l := range r.lanes {
		for value, n := range l.findings {
			sum[value] += n
		}
	}
	out := map[notice]int64{}
	for value, n := range sum {
		if n < minFindings {
			value = "(rare texts)"
		}
		out[notice{"unread-value", "found: " + value, unreadNote("found")}] += n
	}
	return out
}
