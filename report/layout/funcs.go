package layout

import (
	"fmt"
	"html/template"
	"strings"
	"unicode"

	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// Funcs are the functions page templates may call. Figures may be float64, int,
// schemas.Float, or a pointer to a float64 or int, nil being unknown:
//
//	share .X              23%                  shareRange .L .H     14% to 35%
//	ofN .K .N             14 of 61             shareOfN .K .N       23% (14 of 61)
//	count .N              12,345               number .X            4.2
//	times .X              2.4 times            timesRange .L .H     1.2 to 3.4 times
//	minutes .X            45 min               minutesRange .L .H   38 to 52 min
//	hours .X              31 h, 3.2 days       days .X              90 days
//	money .X .Currency    €12.50               moneyRound .X .C     €1,235
//	p .X                  0.003, <0.001        month "2026-05"      May 2026
//	plural .N "visit"     1 visit, 14 visits   clean .S             without control characters
func Funcs() template.FuncMap {
	one := func(words func(float64) string) func(any) (string, error) {
		return func(v any) (string, error) {
			f, ok, err := figure(v)
			if err != nil || !ok {
				return wording.Unknown, err
			}
			return words(f), nil
		}
	}
	two := func(words func(a, b float64) string) func(any, any) (string, error) {
		return func(a, b any) (string, error) {
			x, okX, err := figure(a)
			if err != nil || !okX {
				return wording.Unknown, err
			}
			y, okY, err := figure(b)
			if err != nil || !okY {
				return wording.Unknown, err
			}
			return words(x, y), nil
		}
	}
	money := func(words func(float64, string) string) func(any, string) (string, error) {
		return func(v any, code string) (string, error) {
			return one(func(f float64) string { return words(f, code) })(v)
		}
	}
	return template.FuncMap{
		"share": one(wording.Share), "shareRange": two(wording.ShareRange),
		"ofN": wording.OfN, "shareOfN": wording.ShareOfN,
		"count": wording.Count, "number": one(wording.Number),
		"times": one(wording.Times), "timesRange": two(wording.TimesRange),
		"minutes": one(wording.Minutes), "minutesRange": two(wording.MinutesRange),
		"hours": one(wording.Hours), "days": one(wording.Days),
		"money": money(wording.Money), "moneyRound": money(wording.MoneyRound),
		"p": one(wording.PValue), "month": wording.Month, "plural": plural,
		"clean": clean, "tableHTML": tableHTML, "rows": rows, "shape": shape, "gradeClass": gradeClass,
	}
}

// figure reads a number a template was given; ok is false when it is unknown.
func figure(v any) (f float64, ok bool, err error) {
	switch v := v.(type) {
	case nil:
		return 0, false, nil
	case float64:
		return v, true, nil
	case int:
		return float64(v), true, nil
	case int64:
		return float64(v), true, nil
	case schemas.Float:
		return v.V, v.OK, nil
	case *float64:
		if v == nil {
			return 0, false, nil
		}
		return *v, true, nil
	case *int:
		if v == nil {
			return 0, false, nil
		}
		return float64(*v), true, nil
	}
	return 0, false, fmt.Errorf("%T is not a figure: want float64, int, schemas.Float or a pointer to a number", v)
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return wording.Count(n) + " " + noun + "s"
}

// clean drops what text from a log could do to the lines around it: control
// characters and the marks that turn the reading direction. The length stays: a
// table shows a name in full.
func clean(s string) string {
	if !strings.ContainsFunc(s, unclean) {
		return s
	}
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t' || r == '\u2028' || r == '\u2029':
			return ' '
		case unclean(r):
			return -1
		}
		return r
	}, s)
}

func unclean(r rune) bool {
	return r < ' ' || r >= 0x7f && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == '\u2028' || r == '\u2029' || r == '\ufeff')
}
