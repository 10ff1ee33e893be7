package evidence

import (
	"testing"

	"faultgrain/schemas"
)

func TestHeadline(t *testing.T) {
	for _, tc := range []struct{ grade, headline, subject, rest string }{
		{"firm", "Lark P3: hinge in 39 of 153 diagnosed visits (25%, 95% 19 to 33%); other laptops 6%: 4.5 times as often (3.1 to 6.5), firm.",
			"Lark P3", ": hinge in 39 of 153 diagnosed visits (25%, between 19 and 33%); other laptops 6%: 4.5 times as often (between 3.1 and 6.5)."},
		{"firm", "Lark P3: 16 min saved (95% -9.1 to 23 min), firm.", "Lark P3", ": 16 min saved (between -9.1 and 23 min)."},
		{"thin", "Lark P3: 15 min saved (95% 2 to 39 min), thin: about 69 more visits like these would settle it.",
			"Lark P3", ": 15 min saved (between 2 and 39 min). About 69 more visits like these would settle it."},
		{"firm", "Lark P3: the loudspeaker costs 20.38 EUR (24 lines) and 1204.5 GBP, firm.", "Lark P3", ": the loudspeaker costs €20.38 (24 lines) and £1,204.50."},
		{"leaning", "Battery on Lark P3 is rising: 4 of 95 (4%) in June to November 2025: 4.5 times as often (95% 2.2 or more), leaning.",
			"Battery on Lark P3 is rising", ": 4 of 95 (4%) in June to November 2025: 4.5 times as often (2.2 or more)."},
		{"firm", "Lark 12 USB is loose, firm.", "Lark 12 USB is loose.", ""},
		{"", "", ".", ""},
	} {
		h := HeadlineOf(schemas.Finding{Grade: tc.grade, Headline: tc.headline, Row: schemas.RowRef{Key: map[string]string{"currency": "GBP"}}}, "EUR")
		if h.Subject != tc.subject || h.Rest != tc.rest {
			t.Errorf("%s\nis told as %q, %q\nwant        %q, %q", tc.headline, h.Subject, h.Rest, tc.subject, tc.rest)
		}
	}
}
