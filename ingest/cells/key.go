package cells

import (
	"unicode"
	"unicode/utf8"
)

// AppendKey appends what makes two spellings the same word: lower-case letters without their
// accents, and digits; spaces and signs are left out. "Auftrags-Nr." and "auftragsnr" give one
// key. ß becomes ss, æ ae, œ oe, ø o, å a, ä a: KeyForms adds the spellings ae, oe, ue, aa.
// No allocation when dst has room.
func AppendKey(dst, cell []byte) []byte {
	for i := 0; i < len(cell); {
		c := cell[i]
		if c < utf8.RuneSelf {
			switch {
			case c >= 'a' && c <= 'z' || c >= '0' && c <= '9':
				dst = append(dst, c)
			case c >= 'A' && c <= 'Z':
				dst = append(dst, c+'a'-'A')
			}
			i++
			continue
		}
		r, n := utf8.DecodeRune(cell[i:])
		i += n
		dst = appendPlain(dst, r)
	}
	return dst
}

// AppendWords is AppendKey with one space between words.
func AppendWords(dst, cell []byte) []byte {
	start, gap := len(dst), false
	for i := 0; i < len(cell); {
		n, before := 1, len(dst)
		if c := cell[i]; c >= utf8.RuneSelf {
			_, n = utf8.DecodeRune(cell[i:])
		}
		if gap {
			dst = append(dst, ' ')
		}
		grown := AppendKey(dst, cell[i:i+n])
		if len(grown) == len(dst) {
			dst = dst[:before]
			gap = before > start && (gap || !joins(cell[i:i+n]))
		} else {
			dst, gap = grown, false
		}
		i += n
	}
	return dst
}

// joins tells whether the rune at the start is a combining accent, which parts no word.
func joins(b []byte) bool {
	r, _ := utf8.DecodeRune(b)
	return unicode.Is(unicode.Mn, r)
}

// Key is AppendKey for text that is not hot.
func Key(s string) string { return string(AppendKey(nil, []byte(s))) }

// KeyForms gives the keys under which a dictionary word is to be found: its key, and where it has
// ä, ö, ü, ø or å the key of the spelling without the letter (Gerät, Geraet; række, færdig).
func KeyForms(s string) []string {
	plain := Key(s)
	var long []byte
	for _, r := range s {
		switch unicode.ToLower(r) {
		case 'ä':
			long = append(long, "ae"...)
		case 'ö', 'ø':
			long = append(long, "oe"...)
		case 'ü':
			long = append(long, "ue"...)
		case 'å':
			long = append(long, "aa"...)
		default:
			long = AppendKey(long, utf8.AppendRune(nil, r))
		}
	}
	if string(long) == plain {
		return []string{plain}
	}
	return []string{plain, string(long)}
}

// appendPlain appends the lower-case base letters of a rune above ASCII; nothing for marks and signs.
func appendPlain(dst []byte, r rune) []byte {
	switch {
	case r >= 0xC0 && r <= 0x17F:
		return append(dst, plainLatin(r)...)
	case r == 'ẞ':
		return append(dst, "ss"...)
	case r >= 0xFF10 && r <= 0xFF19: // full-width digits
		return append(dst, byte(r-0xFF10)+'0')
	case r == 'º' || r == 'ª': // N.º, 1.ª
		return dst
	case r == utf8.RuneError:
		return dst
	case unicode.IsLetter(r) || unicode.IsDigit(r):
		return utf8.AppendRune(dst, unicode.ToLower(r))
	}
	return dst
}

func plainLatin(r rune) string {
	switch r {
	case 'Æ', 'æ':
		return "ae"
	case 'Œ', 'œ':
		return "oe"
	case 'ß':
		return "ss"
	case 'Þ', 'þ':
		return "th"
	case 'Ĳ', 'ĳ':
		return "ij"
	case '×', '÷':
		return ""
	}
	if r <= 0xFF {
		const base = "aaaaaa?ceeeeiiiidnooooo?ouuuuy??" // À..ß, the same again for à..ÿ
		i := int(r-0xC0) % 32
		if r == 'ÿ' {
			return "y"
		}
		return base[i : i+1]
	}
	const base = "aaaaaaccccccccddddeeeeeeeeeegggggggghhhhiiiiiiiiii??jjkkk" + // Ā..ĸ
		"llllllllllnnnnnnnnnoooooo??rrrrrrssssssssttttttuuuuuuuuuuuuwwyyyzzzzzzs" // Ĺ..ſ
	i := int(r - 0x100)
	if i >= len(base) || base[i] == '?' {
		return ""
	}
	return base[i : i+1]
}
