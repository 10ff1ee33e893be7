package cells

import "unicode/utf8"

// Trim cuts white space (also no-break, narrow and zero-width spaces) from both ends.
func Trim(cell []byte) []byte {
	if n := len(cell); n > 0 && int8(cell[0]) > ' ' && int8(cell[n-1]) > ' ' { // ASCII at both ends, and no space; inlined
		return cell
	}
	return trimSpaces(cell)
}

func trimSpaces(cell []byte) []byte {
	for len(cell) > 0 {
		n := leadingSpace(cell)
		if n == 0 {
			break
		}
		cell = cell[n:]
	}
	for len(cell) > 0 {
		n := trailingSpace(cell)
		if n == 0 {
			break
		}
		cell = cell[:len(cell)-n]
	}
	return cell
}

func leadingSpace(b []byte) int {
	if b[0] < utf8.RuneSelf {
		if b[0] <= ' ' {
			return 1
		}
		return 0
	}
	if r, n := utf8.DecodeRune(b); wideSpace(r) {
		return n
	}
	return 0
}

func trailingSpace(b []byte) int {
	if c := b[len(b)-1]; c < utf8.RuneSelf {
		if c <= ' ' {
			return 1
		}
		return 0
	}
	if r, n := utf8.DecodeLastRune(b); wideSpace(r) {
		return n
	}
	return 0
}

func wideSpace(r rune) bool {
	switch r {
	case 0xA0, 0x2007, 0x2008, 0x2009, 0x200A, 0x200B, 0x202F, 0x2060, 0x3000, 0xFEFF:
		return true
	}
	return false
}

// Blank tells whether a cell of a typed column (a date, a number, a serial) says nothing: it is
// empty, a dash, a question mark, or a word such as n/a, null or unknown in six languages, or a
// database's zero date.
func Blank(cell []byte) bool {
	b := Trim(cell)
	if len(b) == 0 {
		return true
	}
	if len(b) > 24 || b[0] > '0' && b[0] <= '9' || noBlankWord(b) {
		return false
	}
	var buf [32]byte
	key := AppendKey(buf[:0], b)
	if len(key) == 0 {
		return onlyDashes(b)
	}
	if isBlankWord[string(key)] {
		return true
	}
	switch string(key) {
	case "ka", "nc", "nv", "nb": // k.A., N.C., n.v.: with their points only, for they may be codes
		return len(b) > len(key)
	}
	return false
}

// blankWords say nothing, as keys.
var blankWords = []string{
	"na", "nan", "null", "nil", "none", "tbd", "tba", "undefined", "valuena",
	"unknown", "notknown", "notgiven", "notavailable", "notapplicable", "missing",
	"unbekannt", "keine", "keiner", "keinangabe", "keineangabe", "ohne",
	"inconnu", "inconnue", "aucun", "aucune", "nonrenseigne",
	"onbekend", "geen", "nvt", "desconocido", "desconocida", "ninguno", "ninguna", "sindatos",
	"ukendt", "ingen", "uoplyst",
	"00000000", "00000000000000",
}

var isBlankWord = func() map[string]bool {
	m := make(map[string]bool, len(blankWords))
	for _, w := range blankWords {
		m[w] = true
	}
	return m
}()

// noBlankWord tells most words from those of Blank by their first letter and length, without folding
// them; it is silent about words with anything but ASCII letters and digits in them.
func noBlankWord(b []byte) bool {
	first := b[0] | 0x20
	if first < 'a' || first > 'z' || blankLengths[first-'a']>>uint(len(b))&1 != 0 {
		return false
	}
	for _, c := range b {
		if l := c | 0x20; (l < 'a' || l > 'z') && (c < '0' || c > '9') {
			return false
		}
	}
	return true
}

// blankLengths has, by first letter, a bit for the length of each word of blankWords.
var blankLengths = func() (lengths [26]uint32) {
	for _, w := range blankWords {
		if w[0] >= 'a' {
			lengths[w[0]-'a'] |= 1 << uint(len(w))
		}
	}
	return lengths
}()

func onlyDashes(b []byte) bool {
	for len(b) > 0 {
		r, n := utf8.DecodeRune(b)
		switch r {
		case '-', '–', '—', '−', '?', '.', '_', '/', '*', '#', ' ':
		default:
			return false
		}
		b = b[n:]
	}
	return true
}
