package columns

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"faultgrain/ingest/cells"
)

// shownFrom is how many rows must share a text before it is shown: what three rows share is no
// customer's own.
const shownFrom = 3

// sample describes a column's cells.
func (d *draft) sample(i int, m Meaning) string {
	p := d.p[i]
	head := fmt.Sprintf("column %d: ", i+1)
	if p.filled == 0 {
		return head + "empty in every row"
	}
	filled := ""
	if p.filled < p.rows {
		filled = fmt.Sprintf(" (%.0f%% filled)", 100*float64(p.filled)/float64(p.rows))
	}
	switch m {
	case Personal, Serial, Technician:
		return head + "hidden, for it is personal" + filled
	}
	rare := m == Unknown || m == Ignore || m == Fault || m == Found || m == Notes || m == Part || m == Outcome || m == Shop || m == Supplier
	if (m == Unknown || m == Ignore) && (p.overflow || len(p.values) > maxSamples) {
		return head + "hidden, for it may be personal" + filled
	}
	var shown []string
	for _, v := range p.first {
		if len(shown) == 3 {
			break
		}
		if rare && (p.values[v] < shownFrom || personLike(strings.Fields(v))) || personal(v) {
			continue
		}
		shown = append(shown, tomlString(clip(v, 40)))
	}
	if len(shown) == 0 {
		return head + fmt.Sprintf("texts of about %s, hidden%s", count(max(1, int(p.wordiness()+0.5)), "word"), filled)
	}
	return head + "such as " + strings.Join(shown, ", ") + filled
}

// personal tells a text that holds a mail address, a phone number or a long run of digits.
func personal(s string) bool {
	if strings.ContainsRune(s, '@') || phoneNumber(s) {
		return true
	}
	run := 0
	for _, r := range s {
		if unicode.IsDigit(r) {
			run++
		} else if r != ' ' && r != '-' && r != '/' {
			run = 0
		}
		if run >= 9 && !dateLike(s) {
			return true
		}
	}
	return false
}

func dateLike(s string) bool {
	for _, o := range []cells.Order{cells.Unsettled, cells.DayFirst, cells.MonthFirst} {
		if _, ok := (cells.Dates{Order: o}).Parse([]byte(s)); ok {
			return true
		}
	}
	return false
}

func clip(s string, n int) string {
	if utf8.RuneCountInString(s) <= n {
		return s
	}
	return string([]rune(s)[:n-1]) + "…"
}
