package cells

// Luhn tells whether the last digit is the Luhn check digit of those before it. Anything but digits
// is false. The formula is that of ISO/IEC 7812-1, annex B, as 3GPP TS 23.003, annex B, uses it.
func Luhn(digits []byte) bool {
	if len(digits) < 2 {
		return false
	}
	sum, double := 0, false
	for i := len(digits) - 1; i >= 0; i-- {
		if !digit(digits[i]) {
			return false
		}
		d := int(digits[i] - '0')
		if double {
			if d *= 2; d > 9 {
				d -= 9
			}
		}
		sum += d
		double = !double
	}
	return sum%10 == 0
}

// IMEI tells whether the cell is a 15-digit IMEI with its check digit, written plainly or in groups
// (35-693803-564380-9, spaces, slashes). 3GPP TS 23.003, clause 6.2.1 and annex B.
func IMEI(cell []byte) bool {
	var buf [20]byte
	d, ok := serialDigits(buf[:0], Trim(cell))
	return ok && len(d) == 15 && Luhn(d) && !oneCharacter(d)
}

// serialDigits collects digits and passes spaces, dashes, slashes and points.
func serialDigits(dst, b []byte) ([]byte, bool) {
	for _, c := range b {
		switch {
		case digit(c):
			if len(dst) == cap(dst) {
				return dst, false
			}
			dst = append(dst, c)
		case c == ' ' || c == '-' || c == '/' || c == '.':
		default:
			return dst, false
		}
	}
	return dst, true
}

// AppendSerial appends what makes two spellings of a serial number the same: upper-case letters and
// digits. An IMEI gives its 14 digits without check digit, and so does an IMEISV (16 digits, 3GPP TS
// 23.003 clause 6.2.2) without its software version, when the 14 make an IMEI: one device, one key.
// ok is false for what identifies no device: placeholders (unknown, 0000, 12345), a single
// character, words without a digit, and numbers a spreadsheet has cut short (3.57E+14), which would make many devices one.
func AppendSerial(dst, cell []byte) (serial []byte, ok bool) {
	b := Trim(cell)
	if lettersAndDigits(b) && len(b) <= 64 { // hot path
		return append(dst, b...), true
	}
	if Blank(b) || len(b) > 64 {
		return dst, false
	}
	var digits [20]byte
	if d, all := serialDigits(digits[:0], b); all {
		if oneCharacter(d) || counting(d) || len(d) < 2 {
			return dst, false
		}
		if len(d) == 15 && Luhn(d) {
			return append(dst, d[:14]...), true
		}
		if len(d) == 16 && likeIMEI(d) {
			return append(dst, d[:14]...), true
		}
		return append(dst, d...), true
	}
	if scientific(b) {
		return dst, false
	}
	start := len(dst)
	dst = AppendKey(dst, b)
	for i := start; i < len(dst); i++ {
		if c := dst[i]; c >= 'a' && c <= 'z' {
			dst[i] = c - 'a' + 'A'
		}
	}
	own := dst[start:]
	if len(own) < 2 || oneCharacter(own) || !hasDigit(own) && len(own) < 8 {
		return dst[:start], false
	}
	return dst, true
}

// lettersAndDigits tells whether there are both, the letters upper case, and nothing else.
func lettersAndDigits(b []byte) bool {
	letters, digits := false, false
	for _, c := range b {
		switch {
		case c >= 'A' && c <= 'Z':
			letters = true
		case digit(c):
			digits = true
		default:
			return false
		}
	}
	return letters && digits
}

// likeIMEI tells whether 16 digits start with a reporting body that IMEIs are given out under (01, 35,
// 86, 98, 99 and their like); other 16-digit numbers are taken whole.
func likeIMEI(d []byte) bool {
	switch string(d[:2]) {
	case "01", "35", "86", "91", "98", "99":
		return true
	}
	return false
}

func scientific(b []byte) bool {
	for i := 1; i < len(b); i++ {
		if (b[i] == 'E' || b[i] == 'e') && i+1 < len(b) && (b[i+1] == '+' || b[i+1] == '-') && digit(b[i-1]) {
			_, ok := Number(b, Point)
			return ok
		}
	}
	return false
}

func oneCharacter(b []byte) bool {
	for _, c := range b {
		if c != b[0] {
			return false
		}
	}
	return true
}

// counting tells 12345, 0123456789 and 54321; short numbers are a shop's own.
func counting(b []byte) bool {
	if len(b) < 5 {
		return false
	}
	up, down := true, true
	for i := 1; i < len(b); i++ {
		next, prev := (b[i-1]-'0'+1)%10, (b[i-1]-'0'+9)%10
		up = up && b[i]-'0' == next
		down = down && b[i]-'0' == prev
	}
	return up || down
}

func hasDigit(b []byte) bool {
	for _, c := range b {
		if digit(c) {
			return true
		}
	}
	return false
}
