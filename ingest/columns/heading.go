package columns

import (
	"strings"

	"faultgrain/ingest/cells"
)

// heading is a header taken apart.
type heading struct {
	words    []string // of the header without what stands in brackets
	bare     string   // key of the words
	full     string   // key of everything
	currency string   // ISO code named in it
	unit     string   // word for a unit of time named in it
}

// takeApart finds units and currencies in a header: "cost EUR", "Arbeitszeit (h)", "Preis in €", "minutes [min]".
func takeApart(header string) heading {
	h := heading{full: cells.Key(header)}
	outside, inside := brackets(spaceCamel(header))
	h.words = strings.Fields(string(cells.AppendWords(nil, []byte(outside))))
	for _, field := range strings.FieldsFunc(outside+" "+inside, func(r rune) bool { return strings.ContainsRune(" _./,:;-()[]", r) }) {
		if c := currencyWord(field); c != "" && h.currency == "" {
			h.currency = c
		}
	}
	for _, w := range append(strings.Fields(string(cells.AppendWords(nil, []byte(inside)))), h.words...) {
		if timeUnit(w) != 0 && h.unit == "" {
			h.unit = w
		}
	}
	h.bare = strings.Join(h.words, "")
	return h
}

// brackets parts a header into what stands outside and inside of ( ) [ ].
func brackets(s string) (outside, inside string) {
	depth := 0
	var out, in strings.Builder
	for _, r := range s {
		switch {
		case r == '(' || r == '[':
			depth++
			out.WriteByte(' ')
			in.WriteByte(' ')
		case (r == ')' || r == ']') && depth > 0:
			depth--
		case depth > 0:
			in.WriteRune(r)
		default:
			out.WriteRune(r)
		}
	}
	return out.String(), in.String()
}

// spaceCamel puts spaces into unitCost, and around signs that AppendWords would swallow.
func spaceCamel(s string) string {
	var out strings.Builder
	prev := ' '
	for _, r := range s {
		if r >= 'A' && r <= 'Z' && prev >= 'a' && prev <= 'z' {
			out.WriteByte(' ')
		}
		out.WriteRune(r)
		prev = r
	}
	return out.String()
}

// currencyWord gives the code of a currency's sign or code in a header. Rare codes count in capitals
// only, for "all" and "try" are words.
func currencyWord(field string) string {
	switch strings.ToLower(field) {
	case "eur", "euro", "usd", "gbp", "chf", "dkk", "sek", "nok", "kr":
		return cells.Currency(field, "")
	}
	if strings.ContainsAny(field, "€$£¥₹") || field == strings.ToUpper(field) && cells.ISOCurrency([]byte(field)) != "" {
		return cells.Currency(field, "")
	}
	return ""
}

// timeUnit gives the minutes in a unit named in a header; 0 when the word names none.
func timeUnit(word string) float64 {
	switch word {
	case "h", "hr", "hrs", "std", "stdn":
		return 60
	case "min", "mins":
		return 1
	case "sec", "secs", "sek":
		return 1.0 / 60
	}
	for _, u := range []struct {
		ending  string
		minutes float64
	}{
		{"hours", 60}, {"stunden", 60}, {"heures", 60}, {"uren", 60}, {"horas", 60}, {"timer", 60},
		{"minutes", 1}, {"minuten", 1}, {"minutos", 1}, {"minutter", 1},
		{"seconds", 1.0 / 60}, {"sekunden", 1.0 / 60}, {"secondes", 1.0 / 60},
	} {
		if strings.HasSuffix(word, u.ending) {
			return u.minutes
		}
	}
	return 0
}
