package charts

import (
	"strings"
	"unicode"

	"faultgrain/report/wording"
)

// maxText bounds any one text in a chart, in characters; the table has it whole.
const maxText = 200

// Clean makes text from a log fit to show in a drawing: control characters, line
// and paragraph separators and the marks that turn the reading direction are
// dropped, white space is folded, and 200 characters are kept.
func Clean(text string) string {
	var b strings.Builder
	n, space := 0, false
	for _, r := range text {
		switch {
		case unicode.IsSpace(r) || r == '\u2028' || r == '\u2029':
			space = b.Len() > 0
			continue
		case unicode.IsControl(r) || r == unicode.ReplacementChar || unicode.Is(unicode.Bidi_Control, r) || r == '\ufeff':
			continue
		}
		if n >= maxText {
			b.WriteString("…")
			break
		}
		if space {
			b.WriteByte(' ')
			n, space = n+1, false
		}
		b.WriteRune(r)
		n++
	}
	return b.String()
}

// tipLines makes tooltip lines safe: the drawing library reads {name|text} as a
// style there, so braces become round brackets.
func tipLines(lines ...string) []string {
	var safe []string
	for _, line := range lines {
		line = strings.NewReplacer("{", "(", "}", ")").Replace(clip(line, 90))
		if line != "" {
			safe = append(safe, line)
		}
	}
	return safe
}

// clip cleans text and shortens it to the given number of columns.
func clip(text string, columns int) string {
	text = Clean(text)
	cut := wording.Clip(text, columns, "…")
	if cut == text {
		return text
	}
	return strings.TrimRight(strings.TrimSuffix(cut, "…"), " ") + "…"
}

// columnPx estimates the width of the widest text in a drawing set in 13 px.
func columnPx(texts []string) int {
	most := 0
	for _, t := range texts {
		most = max(most, wording.Columns(t))
	}
	return most * 7
}
