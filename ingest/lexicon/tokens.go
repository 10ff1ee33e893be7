package lexicon

import (
	"unicode"
	"unicode/utf8"

	"faultgrain/schemas"
)

// A token is one word of a text, or one piece of a compound.
type token struct {
	start, end int32 // bytes of the text
	word       wordID
	gap        gap  // what stands between it and the token before
	digit      bool // a strange word that holds a digit
}

// A gap says how strongly two words are parted.
type gap uint8

const (
	gapSpace gap = iota // blank, hyphen, apostrophe, nothing
	gapSlash
	gapBreak // from here on no phrase reaches across
	gapPlus
	gapComma
	gapColon
	gapDash // " - "
	gapStop // full stop, semicolon, bracket, line end
)

// small holds ASCII letters as small ones, digits as they are, and 0 for the rest.
var small = func() (t [256]byte) {
	for c := range byte(utf8.RuneSelf) {
		if f := schemas.AppendFolded(nil, rune(c)); len(f) == 1 {
			t[c] = f[0]
		}
	}
	return t
}()

// tokenise appends the words of the text to toks.
func (r *Reader) tokenise(text string, toks []token) []token {
	var buf [maxWord + 8]byte
	g, tails := gapSpace, false
	for i := 0; i < len(text); {
		c, n := letterAt(text, i)
		folded := schemas.AppendFolded(buf[:0], c)
		if len(folded) == 0 {
			if c == '%' && len(toks) > 0 {
				toks = append(toks, token{start: int32(i), end: int32(i + n), word: r.percent, gap: g})
				g, i = gapSpace, i+n
				continue
			}
			g = max(g, gapOf(text, i, n, c, toks))
			i += n
			continue
		}
		start, w := i, folded
		camel, last := 0, c
		for i += n; i < len(text); i += n {
			c, n = rune(text[i]), 1
			if f := small[text[i]]; f != 0 && len(w) <= maxWord {
				if camel == 0 && c < 'a' && c > '9' && len(w) >= 2 && unicode.IsLower(last) {
					camel = i
				}
				w, last = append(w, f), c
				continue
			}
			c, n = letterAt(text, i)
			before := len(w)
			if len(w) <= maxWord {
				w = schemas.AppendFolded(w, c)
			} else if unicode.IsLetter(c) || unicode.IsDigit(c) {
				last = c
				continue
			}
			if len(w) == before {
				if isApostrophe(c) {
					if elided(w) || !isLetterAt(text, i+n) {
						break
					}
					continue // doesn't, phone's
				}
				if unicode.Is(unicode.Mn, c) {
					continue
				}
				break
			}
			if camel == 0 && unicode.IsUpper(c) && unicode.IsLower(last) && before >= 2 {
				camel = i
			}
			last = c
		}
		toks = r.appendWord(toks, text, start, i, w, g, camel)
		g, tails = gapSpace, tails || dangles(text, i)
	}
	if tails {
		r.giveTails(text, toks)
	}
	return toks
}

func isApostrophe(c rune) bool { return c == '\'' || c == '’' || c == '`' || c == '´' }

func isLetterAt(text string, i int) bool {
	c, _ := utf8.DecodeRuneInString(text[i:])
	return unicode.IsLetter(c)
}

// elided says whether a French article or pronoun has lost its vowel: l'écran, n'allume, qu'il.
func elided(w []byte) bool {
	switch len(w) {
	case 1:
		return true
	case 2:
		return w[0] == 'q' && w[1] == 'u'
	}
	return false
}

func gapOf(text string, i, n int, c rune, toks []token) gap {
	switch c {
	case ' ', '\t', '\r', '_', '"', '«', '»', '“', '”', '„', '*', '~', '^', '%', '#', '@', '\u00a0':
		return gapSpace
	case '/', '\\', '|':
		return gapSlash
	case '+', '&':
		if i > 0 && text[i-1] != ' ' && i+n < len(text) && text[i+n] != ' ' {
			return gapSlash // LCD+digitizer
		}
		return gapPlus
	case ',', '、':
		return gapComma
	case ':', '=':
		return gapColon
	case '-', '–', '—', '>':
		if i > 0 && text[i-1] == ' ' && i+n < len(text) && text[i+n] == ' ' || c == '—' || c == '>' {
			return gapDash
		}
		return gapSpace
	case '.':
		return stopGap(text, i, toks)
	case ';', '!', '?', '\n', '(', ')', '[', ']', '{', '}', '•', '·', '…', '¿', '¡':
		return gapStop
	}
	return gapSpace
}

// stopGap tells the full stop of a sentence from those of i.O., 3.5 and z.B.
func stopGap(text string, i int, toks []token) gap {
	if i+1 < len(text) && text[i+1] != ' ' && text[i+1] != '\n' && len(toks) > 0 {
		if last := toks[len(toks)-1]; last.end == int32(i) && (last.end-last.start < 3 || '0' <= text[i-1] && text[i-1] <= '9') {
			return gapSpace
		}
	}
	return gapStop
}

// appendWord looks the folded word w of text[start:end] up, also as a plural, a compound or a
// misspelling, and appends its token or tokens.
func (r *Reader) appendWord(toks []token, text string, start, end int, w []byte, g gap, camel int) []token {
	t := token{start: int32(start), end: int32(end), gap: g}
	if len(w) > maxWord {
		return append(toks, t)
	}
	if len(w) > 2 && w[len(w)-1] == 's' && end-start > 2 { // phone's
		if c, n := utf8.DecodeLastRuneInString(text[start : end-1]); isApostrophe(c) && n > 0 {
			w = w[:len(w)-1]
		}
	}
	var h [maxWord + 1]uint64
	prefixHashes(w, &h)
	if t.word = r.table.find(h[len(w)], w); t.word != 0 {
		t.word = r.table.words[t.word].same
		return append(toks, t)
	}
	if digits(w) {
		t.word = r.number
		return append(toks, t)
	}
	t.digit = hasDigit(w)
	if len(w) < 4 {
		return append(toks, t)
	}
	s := r.resolve(w, &h)
	if camel > 0 && !s.sure {
		return r.camel(toks, text, start, camel, end, g)
	}
	if s.n == 0 {
		return append(toks, t)
	}
	for k, p := range s.pieces[:s.n] {
		t.word = p
		if k > 0 {
			t.gap = gapSpace
		}
		toks = append(toks, t)
	}
	return toks
}

// digits says whether a word is a number.
func digits[T string | []byte](w T) bool {
	for i := range len(w) {
		if w[i] < '0' || w[i] > '9' {
			return false
		}
	}
	return len(w) > 0
}

// camel reads "kaputtDisplay" as two words with a stop between them: exports that lose their line
// breaks glue sentences together.
func (r *Reader) camel(toks []token, text string, start, at, end int, g gap) []token {
	var buf [maxWord + 8]byte
	for _, part := range [2][2]int{{start, at}, {at, end}} {
		w := buf[:0]
		for _, c := range text[part[0]:part[1]] {
			w = schemas.AppendFolded(w, c)
		}
		toks = r.appendWord(toks, text, part[0], part[1], w, g, 0)
		g = gapStop
	}
	return toks
}
