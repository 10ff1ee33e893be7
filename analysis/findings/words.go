package findings

import (
	"math"
	"strconv"
	"strings"
)

// Percent writes a share in [0, 1]: "23%"; near the ends it keeps a decimal, so that rare is not never.
func Percent(v float64) string { return percentDigits(v) + "%" }

// PercentRange writes an interval of shares: "14 to 35%".
func PercentRange(low, high float64) string {
	a, b := percentDigits(low), percentDigits(high)
	if a == b {
		return a + "%"
	}
	return a + " to " + b + "%"
}

func percentDigits(v float64) string {
	switch p := v * 100; {
	case v == 0 || v == 1:
		return decimals(p, 0)
	case v < 0.0005:
		return "<0.1"
	case v > 0.9995:
		return ">99.9"
	case v < 0.00995 || v > 0.9905:
		return decimals(p, 1)
	default:
		return decimals(p, 0)
	}
}

// OfN writes a count against its whole: "14 of 61".
func OfN(count, whole int) string { return Count(count) + " of " + Count(whole) }

// ShareOf writes counts, share and interval: "14 of 61 visits (23%, 95% 14 to 35%)".
func ShareOf(count, whole int, noun string, low, high float64) string {
	return Count(count) + " of " + Counted(whole, noun) + " (" + Percent(float64(count)/float64(whole)) + ", 95% " + PercentRange(low, high) + ")"
}

// Count writes a whole number with thousands separators: "12,345".
func Count(n int) string { return group(strconv.Itoa(n)) }

// Counted writes a number with its noun: "1 visit", "2 visits".
func Counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return Count(n) + " " + noun + "s"
}

// Number writes v with as many digits as a reader can use: "0.42", "4.2", "42", "4,200".
func Number(v float64) string {
	switch a := math.Abs(v); {
	case v == math.Trunc(v) || a >= 9.95:
		return decimals(v, 0)
	case a >= 0.995:
		return decimals(v, 1)
	case a >= 0.00995:
		return decimals(v, 2)
	}
	return strconv.FormatFloat(v, 'g', 2, 64)
}

// Range writes an interval: "2.1 to 6.4".
func Range(low, high float64) string {
	a, b := Number(low), Number(high)
	if a == b {
		return a
	}
	return a + " to " + b
}

// RangeUp writes an interval whose upper end may be unbounded: "2.1 or more".
func RangeUp(low, high float64, bounded bool) string {
	if !bounded {
		return Number(low) + " or more"
	}
	return Range(low, high)
}

// Minutes writes bench time: "45 min", from two hours on "2 h 15 min".
func Minutes(v float64) string {
	m := int(math.Round(v))
	switch {
	case v > 0 && v < 1:
		return "under 1 min"
	case m < 120:
		return strconv.Itoa(m) + " min"
	case m%60 == 0:
		return Count(m/60) + " h"
	}
	return Count(m/60) + " h " + strconv.Itoa(m%60) + " min"
}

// Money writes an amount: "41.00 EUR"; without a currency the bare amount.
func Money(v float64, currency string) string {
	return strings.TrimSpace(decimals(v, 2) + " " + currency)
}

// Others names the rest of a class: "other phones"; without a class "other models".
func Others(class string) string { return "other " + Plural(class) }

// Plural names the devices of a class: "phones"; without a class "models".
func Plural(class string) string {
	switch {
	case class == "":
		return "models"
	case class == "audio":
		return "audio devices"
	case strings.HasSuffix(class, "s"):
		return class
	case strings.HasSuffix(class, "ch"), strings.HasSuffix(class, "sh"), strings.HasSuffix(class, "x"):
		return class + "es"
	case len(class) > 1 && strings.HasSuffix(class, "y") && !strings.ContainsRune("aeiou", rune(class[len(class)-2])):
		return strings.TrimSuffix(class, "y") + "ies"
	}
	return class + "s"
}

// Capital starts a sentence.
func Capital(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// decimals writes v with n decimals, thousands separated, and never "-0".
func decimals(v float64, n int) string {
	text := strconv.FormatFloat(v, 'f', n, 64)
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	return group(text)
}

func group(text string) string {
	sign := ""
	if strings.HasPrefix(text, "-") {
		sign, text = "-", text[1:]
	}
	whole, rest, _ := strings.Cut(text, ".")
	if rest != "" {
		rest = "." + rest
	}
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	return sign + whole + rest
}
