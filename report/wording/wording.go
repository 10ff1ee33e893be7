// Package wording writes numbers the way people say them: 23%, 14 of 61, 45 min,
// €12.50. Every function returns plain text; none returns "NaN", "Inf" or a bare
// 0 for something unknown. What is unknown is the text Unknown.
package wording

import (
	"math"
	"strconv"
	"strings"
	"time"

	"golang.org/x/text/currency"
)

// Unknown stands where a figure could not be worked out.
const Unknown = "–"

// known is false for NaN, for infinities, and where a hundredfold would be one.
func known(v float64) bool { return math.Abs(v) < 1e300 }

// Capital starts a sentence: the first letter large.
func Capital(text string) string {
	for i, r := range text {
		return strings.ToUpper(string(r)) + text[i+len(string(r)):]
	}
	return text
}

// Share writes a share in [0, 1] as a percentage: 0.2295 is "23%". Close to the
// ends it keeps a decimal, so that rare is not written as never: 0.004 is "0.4%",
// 0.9971 is "99.7%", 0.0002 is "<0.1%". Only exactly 0 is "0%" and exactly 1 "100%".
func Share(v float64) string {
	switch {
	case !known(v):
		return Unknown
	case v == 0 || v == 1:
		return fixed(v*100, 0) + "%"
	case v > 0 && v < 0.0005:
		return "<0.1%"
	case v > 0.9995 && v < 1:
		return ">99.9%"
	case math.Abs(v) < 0.00995 || v > 0.99 && v < 1:
		return fixed(v*100, 1) + "%"
	}
	return fixed(v*100, 0) + "%"
}

// ShareRange writes an interval of shares: "14% to 35%".
func ShareRange(low, high float64) string { return span(Share(low), Share(high)) }

// OfN writes a count against its whole: "14 of 61".
func OfN(count, whole int) string { return Count(count) + " of " + Count(whole) }

// ShareOfN writes a share with the counts behind it: "23% (14 of 61)"; with a
// whole of 0 there is no share and it writes "none seen yet".
func ShareOfN(count, whole int) string {
	if whole == 0 {
		return "none seen yet"
	}
	return Share(float64(count)/float64(whole)) + " (" + OfN(count, whole) + ")"
}

// Count writes a whole number with thousands separators: "12,345".
func Count(n int) string { return group(strconv.Itoa(n)) }

// Number writes v with as many digits as a reader can use: "0.42", "4.2", "42", "4,200".
func Number(v float64) string {
	switch a := math.Abs(v); {
	case !known(v):
		return Unknown
	case v == math.Trunc(v) || a >= 9.95:
		return fixed(v, 0)
	case a >= 0.995:
		return fixed(v, 1)
	case a >= 0.00995:
		return fixed(v, 2)
	}
	return group(strconv.FormatFloat(v, 'g', 2, 64))
}

// NumberRange writes an interval of numbers: "1.2 to 3.4".
func NumberRange(low, high float64) string { return span(Number(low), Number(high)) }

// Times writes a ratio: "2.4 times". Below one it stays a ratio: "0.5 times".
func Times(v float64) string {
	if !known(v) {
		return Unknown
	}
	return Number(v) + " times"
}

// TimesRange writes an interval of ratios: "1.2 to 3.4 times". An infinite high
// end, which an odds ratio can have, is "1.2 times or more".
func TimesRange(low, high float64) string {
	if math.IsInf(high, 1) && known(low) {
		return Times(low) + " or more"
	}
	return suffix(span(Number(low), Number(high)), " times")
}

// Minutes writes bench time: "45 min" below two hours, then "2 h 15 min".
func Minutes(v float64) string {
	if !known(v) {
		return Unknown
	}
	if v > 0 && v < 1 {
		return "under 1 min"
	}
	m := int(math.Round(v))
	if m < 120 {
		return strconv.Itoa(m) + " min"
	}
	if m%60 == 0 {
		return Count(m/60) + " h"
	}
	return Count(m/60) + " h " + strconv.Itoa(m%60) + " min"
}

// MinutesRange writes an interval of bench times: "38 to 52 min".
func MinutesRange(low, high float64) string {
	if known(low) && known(high) && low >= 1 && math.Round(high) < 120 {
		return span(fixed(low, 0), fixed(high, 0)) + " min"
	}
	return span(Minutes(low), Minutes(high))
}

// Hours writes elapsed time given in hours: "5 h" below two days, then "3.2 days".
func Hours(v float64) string {
	switch {
	case !known(v):
		return Unknown
	case v > 0 && v < 1:
		return "under 1 h"
	case v < 48:
		return fixed(v, 0) + " h"
	}
	return Number(math.Round(v/24*10)/10) + " days"
}

// Days writes a number of days: "1 day", "90 days".
func Days(v float64) string {
	switch {
	case !known(v):
		return Unknown
	case v == 1:
		return "1 day"
	}
	return Number(v) + " days"
}

// Money writes an amount in an ISO 4217 currency with that currency's decimals:
// "€1,234.50", "¥900" as "JPY 900", "-€3.00". An empty or unknown code leaves the
// amount bare with two decimals.
func Money(v float64, code string) string {
	if !known(v) {
		return Unknown
	}
	decimals, prefix := 2, ""
	if unit, err := currency.ParseISO(code); err == nil {
		decimals, _ = currency.Standard.Rounding(unit)
		prefix = unit.String() + " "
	}
	switch prefix {
	case "EUR ":
		prefix = "€"
	case "GBP ":
		prefix = "£"
	case "USD ":
		prefix = "$"
	}
	text := fixed(math.Abs(v), decimals)
	if v < 0 && strings.Trim(text, "0.,") != "" {
		return "-" + prefix + text
	}
	return prefix + text
}

// MoneyRound writes an amount without cents, for headlines: "€1,235".
func MoneyRound(v float64, code string) string {
	text := Money(math.Round(v), code)
	if i := strings.LastIndexByte(text, '.'); i >= 0 && known(v) {
		return text[:i]
	}
	return text
}

// PValue writes a p or q value: "0.03", "0.003", "<0.001".
func PValue(p float64) string {
	switch {
	case !known(p):
		return Unknown
	case p < 0.001:
		return "<0.001"
	case p < 0.01:
		return fixed(p, 3)
	}
	return fixed(p, 2)
}

// Date writes a day: "31 May 2026". The zero time is unknown.
func Date(t time.Time) string {
	if t.IsZero() {
		return Unknown
	}
	return t.Format("2 January 2006")
}

// Month writes a month key such as "2026-05" as "May 2026"; other text is returned as it is.
func Month(key string) string {
	t, err := time.Parse("2006-01", key)
	if err != nil {
		return key
	}
	return t.Format("January 2006")
}

// fixed writes v with the given decimals, thousands separated, and never "-0".
func fixed(v float64, decimals int) string {
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	return group(text)
}

// group puts commas between thousands of a plain decimal number.
func group(text string) string {
	sign := ""
	if strings.HasPrefix(text, "-") {
		sign, text = "-", text[1:]
	}
	whole, rest := text, ""
	if i := strings.IndexAny(text, ".e"); i >= 0 {
		whole, rest = text[:i], text[i:]
	}
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	return sign + whole + rest
}

// span joins the two ends of an interval; ends that read alike are written once.
func span(low, high string) string {
	switch {
	case low == Unknown && high == Unknown:
		return Unknown
	case low == high:
		return low
	}
	return low + " to " + high
}

func suffix(text, unit string) string {
	if text == Unknown {
		return text
	}
	return text + unit
}
