package cells

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
