package lexicon

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Explain tells in plain lines of at most 80 columns what was read from a text and why.
func (r *Reader) Explain(text string, kind Kind) string {
	got := r.Read(text, kind)
	var b strings.Builder
	if len(got.Matches) == 0 {
		b.WriteString("no component is named in this text\n")
		return b.String()
	}
	for _, m := range got.Matches {
		mark := "+"
		if !m.Counted {
			mark = "-"
		}
		fmt.Fprintf(&b, "%s %-18s %s\n", mark, m.Component, quote(m.Surface, 50))
		fmt.Fprintf(&b, "    %s\n", m.Note)
		if e := clip(m.Entry, 50); !strings.EqualFold(e, m.Surface) {
			fmt.Fprintf(&b, "    lexicon: %s\n", e)
		}
	}
	read := strings.Join(got.Components, ", ")
	if read == "" {
		read = "nothing"
	}
	b.WriteString(wrap("read as "+kind.String()+": "+read, 80))
	for _, id := range got.Components {
		for _, class := range slices.Sorted(maps.Keys(r.on[id])) {
			b.WriteString(wrap(fmt.Sprintf("on a %s %s is counted as %s", class, id, r.on[id][class]), 80))
		}
	}
	return b.String()
}

// quote shortens a text to n columns on one line and quotes it; what the quoting escapes counts.
func quote(s string, n int) string {
	r := []rune(strings.Join(strings.Fields(strings.ToValidUTF8(s, "?")), " "))
	q := strconv.Quote(string(r))
	for cut := min(len(r), n); utf8.RuneCountInString(q) > n+2; cut-- {
		q = strconv.Quote(string(r[:max(0, cut-3)]) + "...")
	}
	return q
}

// clip shortens a text to n runes on one line.
func clip(s string, n int) string {
	s = strings.Join(strings.Fields(strings.ToValidUTF8(s, "?")), " ")
	if r := []rune(s); len(r) > n {
		return string(r[:n-3]) + "..."
	}
	return s
}

// wrap breaks a line at blanks so that none is wider than width; following lines are indented.
func wrap(s string, width int) string {
	var b strings.Builder
	at := 0
	for i, w := range strings.Fields(s) {
		switch {
		case i == 0:
		case at+1+len([]rune(w)) > width:
			b.WriteString("\n    ")
			at = 4
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(w)
		at += len([]rune(w))
	}
	b.WriteByte('\n')
	return b.String()
}
