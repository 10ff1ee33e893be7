package evidence

import (
	"regexp"
	"strconv"
	"strings"

	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// A Headline is a finding's sentence as pages and sheets show it: what it is about, and what is so about it.
type Headline struct{ Subject, Rest string }

func (h Headline) String() string { return h.Subject + h.Rest }

var (
	twoEnds = regexp.MustCompile(`(\(|, )(?:95% )?(-?[\d.,]*\d%?) to (-?[\d.,]*\d%?)( [a-z]+)?\)`)
	oneEnd  = regexp.MustCompile(`\(95% (-?[\d.,]*\d%? or more)\)`)
	amount  = regexp.MustCompile(`\b(\d+(?:\.\d+)?) ([A-Z]{3})\b`)
)

// HeadlineOf makes a finding's headline fit to read: its interval in words, money as people write it, and without the
// grade, which stands beside it. currency is the shop's, "" when it is not told.
func HeadlineOf(f schemas.Finding, currency string) Headline {
	text := f.Headline
	for _, end := range []string{"", "."} {
		text = strings.TrimSuffix(text, ", "+f.Grade+end)
	}
	if i := strings.LastIndex(text, ", "+f.Grade+": "); f.Grade != "" && i >= 0 { // thin says what would settle it
		text = text[:i] + ". " + wording.Capital(text[i+len(", "+f.Grade+": "):])
	}
	if !strings.HasSuffix(text, ".") {
		text += "."
	}
	text = twoEnds.ReplaceAllString(text, "${1}between $2 and $3$4)")
	text = oneEnd.ReplaceAllString(text, "($1)")
	text = amount.ReplaceAllStringFunc(text, func(found string) string {
		number, code, _ := strings.Cut(found, " ")
		v, err := strconv.ParseFloat(number, 64)
		if err != nil || code != f.Row.Key["currency"] && code != currency {
			return found
		}
		return wording.Money(v, code)
	})
	if i := strings.Index(text, ": "); i > 0 {
		return Headline{text[:i], text[i:]}
	}
	return Headline{Subject: text}
}
