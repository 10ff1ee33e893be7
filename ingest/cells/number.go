package cells

import (
	"math"
	"strconv"
	"unicode/utf8"
)

// Mark is the sign between a number's whole and its decimals. The zero value is "not settled":
// numbers that could be read both ways (1.234) are refused then.
type Mark byte

// Marks.
const (
	Point Mark = '.'
	Comma Mark = ','
)

// ParseMark reads "." or "," of columns.toml; empty leaves it to the column.
func ParseMark(word string) (Mark, bool) {
	switch word {
	case "", "auto":
		return 0, true
	case ".", "point", "dot":
		return Point, true
	case ",", "comma":
		return Comma, true
	}
	return 0, false
}

// numberKind is what one cell tells about its column's decimal mark.
type numberKind uint8

const (
	noNumber numberKind = iota
	plainNumber
	pointNumber // the decimal mark can only be a point
	commaNumber
	openNumber // 1.234 or 1,234
)

// Number reads a decimal number: sign in front, behind or as parentheses, groups of three parted by
// points, commas, apostrophes, underscores or spaces, decimal point or comma, an exponent (1.5E+03),
// and a dash for no decimals (12,-). mark settles only what the cell itself leaves open.
// The result is finite; a number of more than 18 digits is read to the nearest float.
func Number(cell []byte, mark Mark) (float64, bool) {
	v, kind := scanNumber(Trim(cell), mark)
	switch kind {
	case noNumber:
		return 0, false
	case openNumber:
		return v, mark != 0
	}
	return v, true
}

func scanNumber(b []byte, mark Mark) (float64, numberKind) {
	if v, kind := shortNumber(b); kind != noNumber {
		return v, kind
	}
	neg := false
	if len(b) > 64 {
		return 0, noNumber
	}
	if len(b) > 2 && b[0] == '(' && b[len(b)-1] == ')' {
		neg, b = true, Trim(b[1:len(b)-1])
	}
	if n := minusAt(b); n > 0 && !neg {
		neg, b = true, Trim(b[n:])
	} else if len(b) > 1 && b[0] == '+' {
		b = b[1:]
	}
	b, dash := cutPriceDash(b)
	if len(b) > 1 && b[len(b)-1] == '-' && !neg && !dash {
		neg, b = true, Trim(b[:len(b)-1])
	}
	v, kind := scanUnsigned(b, mark)
	if neg {
		v = -v
	}
	return v, kind
}

// shortNumber reads what nearly every cell of numbers is: digits, with one or two decimals or none. It is silent about others.
func shortNumber(b []byte) (float64, numberKind) {
	if len(b) > 15 {
		return 0, noNumber
	}
	n, at := 0, -1 // the mark's place
	for i, c := range b {
		switch {
		case digit(c):
			n = n*10 + int(c-'0')
		case (c == '.' || c == ',') && at < 0 && i > 0:
			at = i
		default:
			return 0, noNumber
		}
	}
	switch decimals := len(b) - 1 - at; {
	case len(b) == 0:
		return 0, noNumber
	case at < 0:
		return float64(n), plainNumber
	case decimals == 1 || decimals == 2:
		return float64(n) / pow10[decimals], kindOf(b[at])
	}
	return 0, noNumber
}

func minusAt(b []byte) int {
	switch {
	case len(b) > 1 && b[0] == '-':
		return 1
	case len(b) > 3 && b[0] == 0xE2 && b[1] == 0x88 && b[2] == 0x92: // U+2212
		return 3
	}
	return 0
}

// cutPriceDash cuts the ",-" or ".–" that stands for no decimals.
func cutPriceDash(b []byte) ([]byte, bool) {
	end := len(b)
	for end > 0 {
		r, n := utf8.DecodeLastRune(b[:end])
		if r != '-' && r != '–' && r != '—' {
			break
		}
		end -= n
	}
	if end == len(b) {
		return b, false
	}
	end = len(Trim(b[:end]))
	if end > 1 && (b[end-1] == ',' || b[end-1] == '.') && digit(b[end-2]) {
		return b[:end-1], true
	}
	return b, false
}

// scanUnsigned reads digits, groups and one decimal mark.
func scanUnsigned(b []byte, mark Mark) (float64, numberKind) {
	var (
		digits [64]byte
		n      int    // digits so far
		points int    // '.' seen
		commas int    // ',' seen
		others byte   // the other grouping sign seen
		last   int    // digits before the last sign
		lead   int    // digits before the first sign
		bySize = true // every group behind a sign but the last has three digits
		after  = -1   // digits before the last point or comma
		exp    int
	)
	sign := func() {
		if points+commas == 0 && others == 0 {
			lead = n
		} else if n-last != 3 {
			bySize = false
		}
		last = n
	}
	lastMark := byte(0)
	for i := 0; i < len(b); i++ {
		switch c := b[i]; {
		case digit(c):
			digits[n] = c
			n++
		case c == '.' || c == ',':
			sign()
			if c == '.' {
				points++
			} else {
				commas++
			}
			lastMark, after = c, n
		case (c == 'e' || c == 'E') && n > 0 && i+1 < len(b):
			e, err := strconv.Atoi(string(b[i+1:]))
			if err != nil || e < -30 || e > 30 {
				return 0, noNumber
			}
			exp, i = e, len(b)
		default:
			r, size := utf8.DecodeRune(b[i:])
			g := groupSign(r)
			if g == 0 || n == 0 || after >= 0 || others != 0 && others != g {
				return 0, noNumber
			}
			sign()
			others = g
			i += size - 1
		}
	}
	if n == 0 {
		return 0, noNumber
	}
	tail := n - last // digits behind the last sign
	switch {
	case points == 0 && commas == 0:
		if others != 0 && (!bySize || tail != 3 || lead > 3) {
			return 0, noNumber
		}
		return toFloat(digits[:n], exp), plainNumber
	case points > 0 && commas > 0:
		if lastMark == '.' && points > 1 || lastMark == ',' && commas > 1 || !bySize || lead > 3 || others != 0 {
			return 0, noNumber
		}
		if k := kindOf(lastMark); n > after {
			return toFloat(digits[:n], exp-(n-after)), k
		}
		return 0, noNumber
	case points+commas > 1: // 1.234.567: groups
		if !bySize || tail != 3 || lead > 3 || lead == 0 || others != 0 {
			return 0, noNumber
		}
		if lastMark == '.' {
			return toFloat(digits[:n], exp), commaNumber
		}
		return toFloat(digits[:n], exp), pointNumber
	}
	if others != 0 && (!bySize || lead > 3) {
		return 0, noNumber
	}
	decimals := n - after
	value := toFloat(digits[:n], exp-decimals)
	if decimals != 3 || after == 0 || after > 3 || digits[0] == '0' || others != 0 || exp != 0 {
		if decimals == 0 {
			return value, plainNumber
		}
		return value, kindOf(lastMark)
	}
	if mark != 0 && byte(mark) != lastMark {
		value = toFloat(digits[:n], 0)
	}
	return value, openNumber
}

func kindOf(mark byte) numberKind {
	if mark == '.' {
		return pointNumber
	}
	return commaNumber
}

// groupSign gives one byte per kind of sign that may part thousands besides point and comma.
func groupSign(r rune) byte {
	switch {
	case r == '\'' || r == '’' || r == '‘' || r == '´':
		return '\''
	case r == ' ' || wideSpace(r):
		return ' '
	case r == '_':
		return '_'
	}
	return 0
}

// toFloat gives digits times ten to the exponent, correctly rounded.
func toFloat(digits []byte, exp int) float64 {
	if len(digits) <= 15 && exp >= -22 && exp <= 0 { // both exact, so one division rounds once
		v := 0.0
		for _, c := range digits {
			v = v*10 + float64(c-'0')
		}
		if exp == 0 {
			return v
		}
		return v / pow10[-exp]
	}
	var buf [80]byte
	s := append(buf[:0], digits...)
	s = append(s, 'e')
	s = strconv.AppendInt(s, int64(exp), 10)
	v, err := strconv.ParseFloat(string(s), 64)
	if err != nil || math.IsInf(v, 0) {
		return 0
	}
	return v
}

var pow10 = [23]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14,
	1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}
