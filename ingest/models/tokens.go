package models

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"faultgrain/ingest/cells"
)

// token is one word or number of a name.
type token struct {
	text    string // as written
	key     string // letters and digits, lower case, without accents
	bracket bool   // stood in brackets
	glued   bool   // stood directly behind a dash or slash: LK700-EU
}

func (t token) digits() bool { return strings.ContainsAny(t.key, "0123456789") }

// number tells a token of digits alone, decimals included (10.1).
func (t token) number() bool {
	return t.key != "" && strings.Trim(t.key, "0123456789") == ""
}

// tokenise parts a name at spaces and signs, and where words meet numbers (Lark7, 7Plus). Codes such
// as G960F, one letter with its number (S9, 7S) and decimals (10.1) stay whole. A plus sign behind a
// word is the word Plus. join puts together what people write apart, once the maker is off.
func tokenise(name string) []token {
	name = apostrophes.Replace(strings.ToValidUTF8(name, " "))
	var out []token
	depth, glue := 0, false
	start := -1
	flush := func(end int) {
		if start >= 0 {
			for _, part := range splitRuns(name[start:end]) {
				out = append(out, token{text: part, key: cells.Key(part), bracket: depth > 0, glued: glue})
				glue = false
			}
		}
		start, glue = -1, false
	}
	for i, r := range name {
		switch {
		case unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.Is(unicode.Mn, r):
			if cells.Key(string(r)) == "" && start < 0 {
				continue
			}
			if start < 0 {
				start = i
			}
		case (r == '.' || r == ',') && start >= 0 && decimalAt(name, start, i):
		case r == '+':
			flush(i)
			glue = true
			if len(out) > 0 && (i+1 == len(name) || name[i+1] != '+') && plusMeansPlus(name[i+1:]) {
				out = append(out, token{text: "Plus", key: "plus", bracket: depth > 0})
			}
		default:
			flush(i)
			switch r {
			case '(', '[', '{':
				depth++
			case ')', ']', '}':
				depth = max(0, depth-1)
			case '-', '/':
				glue = true
			}
		}
	}
	flush(len(name))
	kept := out[:0]
	for _, t := range out {
		if t.key != "" {
			kept = append(kept, t)
		}
	}
	return kept
}

// apostrophes stand inside words and part none.
var apostrophes = strings.NewReplacer("'", "", "’", "", "‘", "", "´", "", "`", "")

// decimalAt tells whether the mark at i stands between the digits of a number: 10.1, 15,6.
func decimalAt(name string, start, i int) bool {
	if strings.Trim(name[start:i], "0123456789") != "" || i+1 >= len(name) {
		return false
	}
	rest := name[i+1:]
	n := len(rest) - len(strings.TrimLeft(rest, "0123456789"))
	if n == 0 || n > 2 {
		return false
	}
	r, _ := utf8.DecodeRuneInString(rest[n:])
	return n == len(rest) || !unicode.IsLetter(r) && r != '.' && r != ','
}

// plusMeansPlus tells 7+ from 8+128.
func plusMeansPlus(rest string) bool {
	rest = strings.TrimLeft(rest, " ")
	return rest == "" || rest[0] < '0' || rest[0] > '9'
}

// splitRuns parts a word of letters and digits: two runs part when the letters are two or more
// (Lark7, 12Pro), more runs are a code and stay (G960F), unless the word is long letters and a tail.
func splitRuns(s string) []string {
	var runs []string
	prev := 0
	class := -1
	for i, r := range s {
		c := 0
		if unicode.IsDigit(r) || r == '.' || r == ',' {
			c = 1
		}
		if class >= 0 && r >= utf8.RuneSelf && unicode.Is(unicode.Mn, r) {
			c = class // an accent belongs to what it stands over
		}
		if class >= 0 && c != class {
			runs = append(runs, s[prev:i])
			prev = i
		}
		class = c
	}
	runs = append(runs, s[prev:])
	switch len(runs) {
	case 2:
		letters := runs[0]
		if unicode.IsDigit(firstRune(letters)) {
			letters = runs[1]
		}
		if utf8.RuneCountInString(letters) >= 2 && !ordinal(runs) && !sizeUnit(runs[1]) {
			return runs
		}
	case 3: // Lark7s, Lark7Plus
		if utf8.RuneCountInString(runs[0]) >= 4 {
			if utf8.RuneCountInString(runs[2]) >= 2 && !sizeUnit(runs[2]) {
				return runs
			}
			return []string{runs[0], runs[1] + runs[2]}
		}
		if utf8.RuneCountInString(runs[2]) >= 4 { // S20Plus, A8Lite, XT20Plus
			return append(splitRuns(runs[0]+runs[1]), runs[2])
		}
	}
	return []string{s}
}

func firstRune(s string) rune { r, _ := utf8.DecodeRuneInString(s); return r }

// ordinal tells 7th, 2nd.
func ordinal(runs []string) bool {
	if !unicode.IsDigit(firstRune(runs[0])) {
		return false
	}
	switch strings.ToLower(runs[1]) {
	case "st", "nd", "rd", "th", "er", "e", "eme", "ème", "ste", "de":
		return true
	}
	return false
}

// join puts together what people write apart: a letter and its number (S 9), a number and its letter
// (7 S). Years stay alone.
func join(in []token) []token {
	var out []token
	for i := 0; i < len(in); i++ {
		t := in[i]
		if i+1 < len(in) {
			next := in[i+1]
			letterFirst := oneLetter(t) && next.short() &&
				!(i+2 < len(in) && storage(next.key, in[i+2].key, true))
			letterLast := t.short() && oneLetter(next) &&
				!(i+2 < len(in) && in[i+2].number())
			if letterFirst || letterLast {
				t = token{text: t.text + next.text, key: t.key + next.key, bracket: t.bracket, glued: t.glued}
				i++
			}
		}
		out = append(out, t)
	}
	return out
}

func oneLetter(t token) bool {
	return utf8.RuneCountInString(t.key) == 1 && !t.number()
}

// short tells a number that a letter may belong to: no year, no decimals.
func (t token) short() bool {
	return t.number() && len(t.key) <= 3 && !strings.ContainsAny(t.text, ".,")
}
