package hunch

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"faultgrain/analysis/tally"
	"faultgrain/analysis/tally/tallytest"
	"faultgrain/schemas"
)

// A made-up shop: one Lark Wren 5 a day for weeks, with other phones beside it.
func shop(weeks int, faults func(day int) []string) []tallytest.Visit {
	var list []tallytest.Visit
	first := time.Date(2025, 1, 6, 9, 0, 0, 0, time.UTC)
	for day := range 7 * weeks {
		at := first.AddDate(0, 0, day)
		list = append(list,
			tallytest.Visit{Opened: at, Ready: at.Add(3 * time.Hour), Outcome: "repaired", Class: "phone", Maker: "Lark", Family: "Wren", Model: "Lark Wren 5",
				Minutes: schemas.Known(30), Charge: schemas.Known(80), Currency: "EUR", Faults: faults(day)},
			tallytest.Visit{Opened: at, Outcome: "repaired", Class: "phone", Maker: "Toller", Family: "Coil", Model: "Toller Coil 2", Faults: []string{"battery"}})
	}
	return list
}

func words(t *testing.T) *schemas.Lexicon {
	t.Helper()
	l, err := schemas.BuiltinLexicon()
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Trade rule (common practice, no source): two of the same uncommon fault in a week feels like a pattern; with a usual
// rate of one in eight weeks it is leaning, not firm.
func TestTwoInAWeekIsLeaning(t *testing.T) {
	const weeks = 105
	log := tallytest.Open(t, shop(weeks, func(day int) []string {
		if day%(8*7) == 20 && day < 7*(weeks-1) || day == 7*weeks-2 || day == 7*weeks-5 {
			return []string{"microphone"}
		}
		return []string{"display", "charge-port"}[day%2:][:1]
	}), tally.Options{})
	a, err := Compute(t.Context(), log, words(t), Query{Model: "wren 5", Component: "microphone", Days: 7})
	if err != nil {
		t.Fatal(err)
	}
	if a.Seen != 2 || a.Visits != 7 || a.Usual.Faults != 13 || a.Usual.Visits != 7*(weeks-1) {
		t.Fatalf("seen %d of %d, usual %+v", a.Seen, a.Visits, a.Usual)
	}
	if math.Abs(a.Usual.WeeksPerFault.V-8) > 1e-9 {
		t.Errorf("one in %v weeks, want 8", a.Usual.WeeksPerFault.V)
	}
	// Hypergeometric by hand: P(X >= 2) for 7 drawn from 735 of which 15 are marked
	want := 1 - choose(720, 7)/choose(735, 7) - 15*choose(720, 6)/choose(735, 7)
	if math.Abs(a.Chance.V/want-1) > 1e-6 {
		t.Errorf("chance %v, want %v", a.Chance.V, want)
	}
	if a.Grade != schemas.Leaning {
		t.Errorf("grade %q, want leaning", a.Grade)
	}
	var b strings.Builder
	if err := a.Text(&b); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"leaning, not firm", "Seen in 2 of 7 diagnosed visits", "about one in 8.0 weeks", "Chance of at least as many by luck: 1 in ", "more visits"} {
		if !strings.Contains(strings.ReplaceAll(b.String(), "one in 8 weeks", "one in 8.0 weeks"), want) {
			t.Errorf("no %q in:\n%s", want, b.String())
		}
	}
}

func choose(n, k int) float64 {
	out := 1.0
	for i := range k {
		out *= float64(n-i) / float64(i+1)
	}
	return out
}

func TestAgainstTheClassAndTogether(t *testing.T) {
	log := tallytest.Open(t, shop(52, func(day int) []string {
		switch day % 4 {
		case 0:
			return []string{"earpiece", "loudspeaker"}
		case 1:
			return []string{"earpiece"}
		}
		return []string{"display"}
	}), tally.Options{})
	a, err := Compute(t.Context(), log, words(t), Query{Model: "Lark Wren 5", Component: "earpiece", With: "loudspeaker"})
	if err != nil {
		t.Fatal(err)
	}
	if a.Seen != 182 || a.Visits != 364 || a.Usual.Of != "class" || a.Usual.Faults != 0 || a.Usual.Visits != 364 || a.Grade != schemas.Firm {
		t.Errorf("%+v", a)
	}
	if a.Together == nil || a.Together.Both != 91 || a.Together.Of != 182 || !a.Together.OddsLow.OK || a.Together.OddsLow.V < 1 {
		t.Errorf("together %+v", a.Together)
	}
	if len(a.Check) != 1 || a.Check[0].Component != "loudspeaker" {
		t.Errorf("check %+v", a.Check)
	}
	if a.Minutes.Jobs != 91 || a.Minutes.Median.V != 30 || a.Minutes.Of != "model" {
		t.Errorf("minutes %+v", a.Minutes)
	}
}

// Names in the log may be hostile, periods empty and models alone in their class: an answer is given all the same.
func TestEdges(t *testing.T) {
	at := time.Date(2026, 1, 1, 12, 0, 0, 0, time.UTC)
	log := tallytest.Open(t, []tallytest.Visit{
		{Opened: at, Class: "watch", Model: "Only one", Outcome: "repaired", Faults: []string{"battery"}},
		{Opened: at.AddDate(0, 1, 0), Class: "phone", Model: "Other", Outcome: "open"},
	}, tally.Options{})
	for _, q := range []Query{
		{Model: "only one", Component: "battery"},
		{Model: "only one", Component: "battery", Days: 3, With: "display"},
		{Model: "only one", Component: "display", Days: 10000},
		{Model: "other", Component: "battery"},
	} {
		a, err := Compute(t.Context(), log, words(t), q)
		if err != nil {
			t.Errorf("%+v: %v", q, err)
			continue
		}
		if a.Grade == schemas.Firm || a.Grade == schemas.Leaning {
			t.Errorf("%+v: %s of one visit", q, a.Grade)
		}
		var b strings.Builder
		if err := a.Text(&b); err != nil || strings.Contains(b.String(), "NaN") {
			t.Errorf("%+v: %v\n%s", q, err, b.String())
		}
	}
	if _, err := Compute(t.Context(), log, words(t), Query{Model: "only one", Component: "battery", With: "akku"}); err == nil {
		t.Error("a component was compared with itself")
	}
}

// What the log doesn't tell is said to be unknown, and what few visits can't rule out is not called usual.
func TestAnswerSaysWhatIsMissing(t *testing.T) {
	log := tallytest.Open(t, append(shop(52, func(day int) []string {
		if day%10 == 3 {
			return []string{"microphone"}
		}
		return []string{"display"}
	}), tallytest.Visit{Opened: time.Date(2025, 12, 30, 9, 0, 0, 0, time.UTC), Class: "phone", Maker: "Lark", Model: "Lark Wren 5", Outcome: "open", Unread: true}), tally.Options{})
	for _, tc := range []struct {
		q           Query
		told        int
		want, never []string
	}{
		{q: Query{Model: "wren 5", Component: "microphone", Days: 10}, want: []string{"Lark Wren 5, microphone: nothing out of the ordinary so far.",
			"Seen in 1 of 10 diagnosed visits", "The words of 1 more visit could not be read", "would rule out 1.5 times the usual", "nothing else is known to go with the microphone",
			"Usual time: 30 min", "Usual price of the part: not known"}},
		{q: Query{Model: "wren 5", Component: "hinge"}, want: []string{"never seen", "Usual time: not known"}, never: []string{"luck", "100%", "would be usual"}},
		{q: Query{Model: "wren 5", Component: "microphone"}, told: 3, want: []string{"3 of them only by the words of the ticket"}},
		{q: Query{Model: "coil", Component: "microphone"}, want: []string{"None seen"}, never: []string{"Chance of at least"}},
	} {
		a, err := Compute(t.Context(), log, words(t), tc.q)
		if err != nil {
			t.Fatal(err)
		}
		a.Told = tc.told
		var b strings.Builder
		if err := a.Text(&b); err != nil {
			t.Fatal(err)
		}
		for _, want := range tc.want {
			if !strings.Contains(b.String(), want) {
				t.Errorf("%+v: no %q in:\n%s", tc.q, want, b.String())
			}
		}
		for _, never := range tc.never {
			if strings.Contains(b.String(), never) {
				t.Errorf("%+v: %q in:\n%s", tc.q, never, b.String())
			}
		}
	}
}

func BenchmarkHunch(b *testing.B) {
	var list []tallytest.Visit
	first := time.Date(2021, 1, 1, 9, 0, 0, 0, time.UTC)
	for i := range 100_000 {
		list = append(list, tallytest.Visit{Opened: first.Add(time.Duration(i) * 25 * time.Minute), Outcome: "repaired", Class: "phone", Maker: "Lark",
			Model: fmt.Sprintf("Lark Wren %d", i%97), Device: fmt.Sprint(i / 2), Minutes: schemas.Known(float64(20 + i%31)), Faults: []string{"display", "battery", "charge-port", "earpiece"}[i%4:][:1]})
	}
	dir := tallytest.History(b, tallytest.Segment{Visits: list})
	l, err := schemas.BuiltinLexicon()
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		log, err := tally.Open(b.Context(), dir, tally.Options{})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := Compute(b.Context(), log, l, Query{Model: "Wren 12", Component: "battery", With: "display", Days: 60}); err != nil {
			b.Fatal(err)
		}
		if err := log.Close(); err != nil {
			b.Fatal(err)
		}
	}
}
