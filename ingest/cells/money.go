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
	} else if n := minusAt(b); n > 0 && n < len(b) && !digit(b[n]) { // -€5
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
		if before[len(before)-1] == '-' {
			neg, before = true, Trim(before[:len(before)-1])
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

// currencyKey gives the canonical sign or code of a currency as it is written; empty when unknown.
func currencyKey(b []byte) string {
	switch string(b) {
	case "€":
		return "EUR"
	case "£":
		return "£"
	case "$":
		return "$"
	case "¥", "￥":
		return "¥"
	case "₹":
		return "INR"
	case "₺":
		return "TRY"
	case "₽":
		return "RUB"
	case "₩":
		return "KRW"
	case "₪":
		return "ILS"
	case "₴":
		return "UAH"
	case "zł":
		return "PLN"
	case "US$", "$US":
		return "USD"
	case "C$", "CA$", "$CA":
		return "CAD"
	case "A$", "AU$":
		return "AUD"
	case "NZ$":
		return "NZD"
	case "R$":
		return "BRL"
	case "Kč":
		return "CZK"
	case ",-", ".-":
		return ""
	}
	var buf [16]byte
	if len(b) > 12 {
		return ""
	}
	switch key := AppendKey(buf[:0], b); string(key) {
	case "euro", "euros", "eur", "eu":
		return "EUR"
	case "dollar", "dollars", "dolar", "dolares":
		return "$"
	case "pound", "pounds", "quid":
		return "£"
	case "kr", "krone", "kroner", "kronor":
		return "kr"
	case "fr", "sfr", "franken":
		return "CHF"
	case "zl", "zloty":
		return "PLN"
	case "kc":
		return "CZK"
	case "lei":
		return "RON"
	case "ft":
		return "HUF"
	default:
		if code := ISOCurrency(key); code != "" {
			return code
		}
	}
	return ""
}

// Currency settles a currency word or sign to an ISO 4217 code; empty when it is none. home is the
// shop's own currency.
func Currency(sign, home string) string {
	key := currencyKey([]byte(sign))
	shared := func(fallback string, codes ...string) string {
		for _, c := range codes {
			if c == home {
				return home
			}
		}
		return fallback
	}
	switch key {
	case "$":
		return shared("USD", "CAD", "AUD", "NZD", "MXN", "SGD", "HKD", "ARS", "CLP", "COP", "TWD")
	case "kr":
		return shared("DKK", "SEK", "NOK", "ISK")
	case "¥":
		return shared("JPY", "CNY")
	case "£":
		return shared("GBP", "EGP", "GIP")
	}
	return key
}

// currencies are the ISO 4217 codes a repair log may name, three letters each.
const currencies = "AED AFN ALL AMD ARS AUD AZN BAM BDT BGN BHD BOB BRL BYN CAD CHF CLP CNY COP CRC CZK DKK DOP DZD " +
	"EGP ETB EUR GBP GEL GHS GIP GTQ HKD HNL HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KRW KWD KZT LBP LKR MAD MDL " +
	"MKD MNT MOP MUR MXN MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PHP PKR PLN PYG QAR RON RSD RUB RWF SAR SEK SGD " +
	"THB TND TRY TTD TWD TZS UAH UGX USD UYU UZS VES VND XAF XCD XOF XPF ZAR ZMW "

// ISOCurrency gives the upper-case code when the three letters are an ISO 4217 currency; else empty.
func ISOCurrency(code []byte) string {
	if len(code) != 3 {
		return ""
	}
	var up [4]byte
	for i, c := range code {
		if c|0x20 < 'a' || c|0x20 > 'z' {
			return ""
		}
		up[i] = c &^ 0x20
	}
	up[3] = ' '
	for i := 0; i < len(currencies); i += 4 {
		if currencies[i:i+4] == string(up[:]) {
			return currencies[i : i+3]
		}
	}
	return ""
}
