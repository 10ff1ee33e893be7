package findings

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"faultgrain/schemas"
)

func TestGrade(t *testing.T) {
	known := schemas.Known
	for _, tc := range []struct {
		name string
		e    Evidence
		want string
	}{
		{"clears everything", Evidence{P: known(.001), Q: known(.01), Effect: 4, Low: 2, Threshold: 1.5, Cases: 14}, schemas.Firm},
		{"interval touches the threshold", Evidence{P: known(.001), Q: known(.01), Effect: 4, Low: 1.5, Threshold: 1.5, Cases: 14}, schemas.Leaning},
		{"not after correction", Evidence{P: known(.01), Q: known(.05), Effect: 4, Low: 2, Threshold: 1.5, Cases: 14}, schemas.Leaning},
		{"sure but small", Evidence{P: known(1e-9), Q: known(1e-8), Effect: 1.2, Low: 1.1, Threshold: 1.5, Cases: 900}, ""},
		{"too few", Evidence{P: known(.2), Q: known(.9), Effect: 4, Low: .7, Threshold: 1.5, Cases: 3}, schemas.Thin},
		{"four cases are not firm", Evidence{P: known(.001), Q: known(.01), Effect: 4, Low: 2, Threshold: 1.5, Cases: 4}, schemas.Leaning},
		{"nothing notable", Evidence{P: known(.2), Q: known(.9), Effect: 2.9, Low: .7, Threshold: 1.5, Cases: 8}, ""},
		{"two cases are no pattern", Evidence{P: known(.01), Q: known(.9), Effect: 9, Low: 2, Threshold: 1.5, Cases: 2}, ""},
		{"no test, interval clears", Evidence{Effect: 12, Low: 6, Threshold: 5, Cases: 30}, schemas.Firm},
		{"no test, interval nearly clears", Evidence{Effect: 12, Low: 3, Threshold: 5, Cases: 30}, schemas.Leaning},
		{"no test, interval holds 0", Evidence{Effect: 12, Low: -3, Threshold: 5, Cases: 30}, schemas.Thin},
	} {
		if got := tc.e.Grade(); got != tc.want {
			t.Errorf("%s: %q, want %q", tc.name, got, tc.want)
		}
	}
}

func TestIDsAreStableAndApart(t *testing.T) {
	if a, b := ID("share", "Corvo 3", "battery"), ID("share", "Corvo 3", "battery"); a != b {
		t.Errorf("%s then %s", a, b)
	}
	for _, pair := range [][2]string{{"Corvo 3", "corvo 3"}, {"Corvo 3+", "Corvo 3"}, {"ñ", "n"}} {
		if ID("share", pair[0]) == ID("share", pair[1]) {
			t.Errorf("%q and %q share an id", pair[0], pair[1])
		}
	}
	if ID("share", "ab", "c") == ID("share", "a", "bc") {
		t.Error("subjects run together")
	}
	if id := ID("pair", "Corvo 3", "charge-port", "microphone"); !strings.HasPrefix(id, "pair-corvo-3-charge-port-microphone-") {
		t.Errorf("id %s, want it readable", id)
	}
}

func TestBatteriesAreToldFirstAndOrdersLast(t *testing.T) {
	f := func(kind, grade, component string, strength float64) schemas.Finding {
		return schemas.Finding{ID: kind + component, Kind: kind, Grade: grade, Subject: schemas.Subject{Component: component},
			Numbers: map[string]schemas.Float{StrengthKey: schemas.Known(strength)}}
	}
	list := []schemas.Finding{
		f(schemas.KindStock, schemas.Firm, "hinge", 9), f(schemas.KindShare, schemas.Firm, "display", 2), f(schemas.KindBatch, schemas.Firm, "display", 3),
		f(schemas.KindShare, schemas.Firm, "battery", 5), f(schemas.KindBatch, schemas.Leaning, "battery", 0), f(schemas.KindShare, schemas.Leaning, "hinge", 8),
	}
	Rank(list)
	var got []string
	for _, f := range list {
		got = append(got, f.ID)
	}
	want := []string{"batchbattery", "sharebattery", "batchdisplay", "sharedisplay", "stockhinge", "sharehinge"}
	if !slices.Equal(got, want) {
		t.Errorf("order %v, want %v", got, want)
	}
}

func TestRankIsTotalAndShortenKeepsEveryFirm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 30).Draw(t, "n")
		var list []schemas.Finding
		firm := 0
		for i := range n {
			f := schemas.Finding{
				ID:      ID("x", string(rune('a'+i))),
				Kind:    rapid.SampledFrom(kinds).Draw(t, "kind"),
				Grade:   rapid.SampledFrom([]string{"firm", "leaning", "thin", ""}).Draw(t, "grade"),
				Numbers: map[string]schemas.Float{StrengthKey: schemas.Known(float64(rapid.IntRange(-3, 3).Draw(t, "s")))},
			}
			if f.Grade == schemas.Firm {
				firm++
			}
			list = append(list, f)
		}
		ids := func(l []schemas.Finding) (out []string) {
			for _, f := range l {
				out = append(out, f.ID)
			}
			return out
		}
		shuffled := rapid.Permutation(list).Draw(t, "shuffled")
		short := Shorten(list, 2, 1)
		if again := Shorten(shuffled, 2, 1); !slices.Equal(ids(short), ids(again)) {
			t.Fatalf("order of input decides: %v and %v", ids(short), ids(again))
		}
		got := map[string]int{}
		for _, f := range short {
			got[f.Grade]++
		}
		if got["firm"] != firm || got["leaning"] > 2 || got["thin"] > 1 || got[""] > 0 {
			t.Fatalf("kept %v of %d firm", got, firm)
		}
	})
}

func TestWords(t *testing.T) {
	for got, want := range map[string]string{
		ShareOf(14, 61, "diagnosed visit", 0.1411, 0.3500): "14 of 61 diagnosed visits (23%, 95% 14 to 35%)",
		ShareOf(1, 1, "visit", 0.2065, 1):                  "1 of 1 visit (100%, 95% 21 to 100%)",
		Percent(0.0004):                                    "<0.1%",
		Percent(0):                                         "0%",
		Percent(0.004):                                     "0.4%",
		Percent(0.996):                                     "99.6%",
		PercentRange(0.231, 0.232):                         "23%",
		Number(3.84):                                       "3.8",
		Number(12.6):                                       "13",
		Number(0.5):                                        "0.50",
		Number(1234567):                                    "1,234,567",
		RangeUp(2.14, 0, false):                            "2.1 or more",
		RangeUp(2.14, 6.4, true):                           "2.1 to 6.4",
		Minutes(44.6):                                      "45 min",
		Minutes(135):                                       "2 h 15 min",
		Money(1234.5, "EUR"):                               "1,234.50 EUR",
		Counted(1, "visit"):                                "1 visit",
		Counted(1200, "visit"):                             "1,200 visits",
		Others("watch"):                                    "other watches",
		Others("pc accessory"):                             "other pc accessories",
		Others("toy"):                                      "other toys",
		Others(""):                                         "other models",
		Capital("état"):                                    "État",
		Verdict(schemas.Firm, 7):                           ", firm.",
		Verdict(schemas.Thin, 123):                         ", thin: about 130 more visits like these would settle it.",
		Verdict(schemas.Thin, 0):                           ", thin: more visits will tell.",
		Caution([]string{"hinge"}, Door):                   Door,
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if c := Caution([]string{"display", "battery"}, Door); !strings.HasPrefix(c, "Lithium") || !strings.HasSuffix(c, Door) {
		t.Errorf("battery caution: %q", c)
	}
}

func TestSettle(t *testing.T) {
	if got := Settle(10, func(total int) bool { return total >= 47 }); got != 37 {
		t.Errorf("Settle = %d, want 37", got)
	}
	if got := Settle(10, func(int) bool { return false }); got != 0 {
		t.Errorf("never settled: %d, want 0", got)
	}
}
