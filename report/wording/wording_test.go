package wording

import (
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestWords(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, tc := range []struct{ got, want string }{
		{Share(0.2295), "23%"}, {Share(0), "0%"}, {Share(1), "100%"}, {Share(0.004), "0.4%"}, {Share(0.0002), "<0.1%"},
		{Share(0.9971), "99.7%"}, {Share(0.99999), ">99.9%"}, {Share(0.995), "99.5%"}, {Share(0.0099), "1.0%"}, {Share(0.01), "1%"}, {Share(0.99), "99%"},
		{Share(nan), Unknown}, {Share(inf), Unknown}, {Share(-0.12), "-12%"},
		{ShareRange(0.14, 0.35), "14% to 35%"}, {ShareRange(0.2295, 0.2305), "23%"}, {ShareRange(nan, nan), Unknown},
		{OfN(14, 61), "14 of 61"}, {ShareOfN(14, 61), "23% (14 of 61)"}, {ShareOfN(0, 0), "none seen yet"}, {ShareOfN(0, 1200), "0% (0 of 1,200)"},
		{Count(0), "0"}, {Count(999), "999"}, {Count(1000), "1,000"}, {Count(-1234567), "-1,234,567"},
		{Number(0.4213), "0.42"}, {Number(4.2345), "4.2"}, {Number(42), "42"}, {Number(4211.3), "4,211"}, {Number(0.00123), "0.0012"}, {Number(math.Copysign(0, -1)), "0"}, {Number(99.7), "100"}, {Number(inf), Unknown},
		{Times(2.41), "2.4 times"}, {Times(0.5), "0.50 times"}, {TimesRange(1.2, 3.4), "1.2 to 3.4 times"}, {TimesRange(1.2, inf), "1.2 times or more"},
		{Minutes(45.2), "45 min"}, {Minutes(0), "0 min"}, {Minutes(0.4), "under 1 min"}, {Minutes(119.4), "119 min"}, {Minutes(135), "2 h 15 min"}, {Minutes(180), "3 h"}, {Minutes(nan), Unknown},
		{MinutesRange(38, 52), "38 to 52 min"}, {MinutesRange(90, 140), "90 min to 2 h 20 min"},
		{Hours(5), "5 h"}, {Hours(0.5), "under 1 h"}, {Hours(47), "47 h"}, {Hours(76), "3.2 days"}, {Hours(48), "2 days"},
		{Days(1), "1 day"}, {Days(90), "90 days"},
		{Money(1234.5, "EUR"), "€1,234.50"}, {Money(12, "GBP"), "£12.00"}, {Money(900, "JPY"), "JPY 900"}, {Money(-3, "EUR"), "-€3.00"}, {Money(-0.001, "EUR"), "€0.00"},
		{Money(5, ""), "5.00"}, {Money(5, "coins"), "5.00"}, {Money(7.5, "DKK"), "DKK 7.50"}, {Money(nan, "EUR"), Unknown},
		{MoneyRound(1234.5, "EUR"), "€1,235"}, {MoneyRound(900, "JPY"), "JPY 900"}, {MoneyRound(nan, "EUR"), Unknown},
		{PValue(0.031), "0.03"}, {PValue(0.0031), "0.003"}, {PValue(0.0001), "<0.001"}, {PValue(1), "1.00"},
		{Date(time.Date(2026, 5, 31, 23, 0, 0, 0, time.UTC)), "31 May 2026"}, {Date(time.Time{}), Unknown},
		{Month("2026-05"), "May 2026"}, {Month("*"), "*"},
	} {
		if tc.got != tc.want {
			t.Errorf("got %q, want %q", tc.got, tc.want)
		}
	}
}

// Whatever the number, words never say NaN or Inf, and a share above 0 is never
// written as 0%.
func TestWordsProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64().Draw(t, "v")
		for _, text := range []string{Share(v), Number(v), Times(v), Minutes(math.Mod(v, 1e6)), Hours(v), Money(v, "EUR"), PValue(v)} {
			if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") || text == "" {
				t.Fatalf("%v is written %q", v, text)
			}
		}
		n := rapid.IntRange(1, 1e7).Draw(t, "n")
		k := rapid.IntRange(1, n).Draw(t, "k")
		text := Share(float64(k) / float64(n))
		if text == "0%" || text == "0.0%" || k < n && text == "100%" {
			t.Fatalf("%d of %d is written %q", k, n, text)
		}
		back, err := strconv.Atoi(strings.ReplaceAll(Count(n), ",", ""))
		if err != nil || back != n {
			t.Fatalf("%d is written %q", n, Count(n))
		}
	})
}
