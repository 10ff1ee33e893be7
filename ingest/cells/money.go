package cells

import "bytes"

// Money reads an amount with or without its currency, before or behind: €12.50, 12,50 EUR, DKK 99,-,
// $1,200.00. currency is an ISO 4217 code, empty when the cell names none. Signs that several
// currencies share ($, kr, ¥, £) mean home where home uses the sign, else USD, DKK, JPY and GBP.
func Money(cell []byte, mark Mark, home string) (value float64, currency string, ok bool) {
	b := Trim(cell)
	if v, ok := Number(b, mark); ok { // hot path
		return v, "", true
	}
	num, sign := cutCurrency(b)
	v, ok := Number(num, mark)
	if !ok {
		return 0, "", false
	}
	return v, Currency(sign, home), true
}

// cutCurrency parts a cell into its number and the currency's key; both may be empty.
func cutCurrency(b []byte) (num []byte, sign string) {
	neg := false
	if len(b) > 2 && b[0] == '(' && b[len(b)-1] == ')' {
		neg, b = true, Trim(b[1:len(b)-1])
	} else if n := minusAt(b); n > 0 { // -€5, -5 €
		neg, b = true, b[n:]
	}
	start, end := 0, len(b)
	for start < end && !numberByte(b[start]) {
		start++
	}
	for end > start && !numberByte(b[end-1]) {
		end--
	}
	if start == end {
		return b, ""
	}
	// A price dash (12,-) and parentheses belong to the number.
	before, behind := Trim(b[:start]), Trim(b[end:])
	num = Trim(b[start:end])
	if start > 0 && letter(b[start-1]) && len(num) > 1 && num[0] == '.' { // "kr.99": the full stop is the sign's
		num = num[1:]
	}
	if len(behind) > 0 && (num[len(num)-1] == ',' || num[len(num)-1] == '.') {
		if rest := bytes.TrimLeft(behind, "-–—"); len(rest) < len(behind) {
			num, behind = num[:len(num)-1], Trim(rest)
		}
	}
	switch {
	case len(before) == 0:
		sign = currencyKey(behind)
	case len(behind) == 0:
		for _, minus := range []string{"-", "−"} {
			if rest, ok := bytes.CutSuffix(before, []byte(minus)); ok {
				neg, before = true, Trim(rest)
				break
			}
		}
		sign = currencyKey(before)
	}
	if sign == "" {
		return b, ""
	}
	if neg {
		num = append([]byte{'-'}, num...)
	}
	return num, sign
}

// numberByte tells the bytes a number starts and ends with.
func numberByte(c byte) bool { return digit(c) || c == '.' || c == ',' }
