package batches

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/tally"
	"faultgrain/analysis/tally/tallytest"
	"faultgrain/schemas"
)

var firstDay = time.Date(2025, 1, 6, 9, 0, 0, 0, time.UTC) // a Monday

// A made-up shop of six phone models, four visits a week each, for 70 weeks: half of them for the display, a fifth each for
// the charge port and the battery, a tenth for the microphone, by turns of chance. extra are added.
//
// The excesses put in here are plain ones, each said beside its test: tests look at names, weeks and words. How weak an
// excess may be is measured in analysis/calibrate.
func shop(seed uint64, extra ...tallytest.Visit) []tallytest.Visit {
	rng := rand.New(rand.NewPCG(seed, 1))
	var list []tallytest.Visit
	for day := range 70 * 7 {
		for m := range 6 {
			if rng.IntN(7) > 3 {
				continue
			}
			v := visit(day, m, []string{"display", "display", "display", "display", "display", "charge-port", "charge-port", "battery", "battery", "microphone"}[rng.IntN(10)])
			v.MadeWeek = fmt.Sprintf("2024-W%02d", 1+rng.IntN(40))
			list = append(list, v)
		}
	}
	return append(list, extra...)
}

func visit(day, model int, component string) tallytest.Visit {
	at := firstDay.AddDate(0, 0, day)
	name := fmt.Sprintf("Lark Wren %d", model)
	return tallytest.Visit{Opened: at, Ready: at.AddDate(0, 0, 1), Outcome: "repaired", Class: "phone", Maker: "Lark", Family: "Wren" + string(rune('A'+model/2)), Model: name, Faults: []string{component}}
}

func compute(t *testing.T, visits []tallytest.Visit, opt Options) []schemas.Batch {
	t.Helper()
	opt.Seed, opt.Warranty = 1, 90
	rows, err := Compute(t.Context(), tallytest.Open(t, visits, tally.Options{}), opt)
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

func TestNothingInIt(t *testing.T) {
	for seed := range uint64(3) {
		if rows := compute(t, shop(seed+20), Options{}); len(rows) > 0 {
			t.Errorf("seed %d: %+v", seed, rows)
		}
	}
}

// Batteries of one lot, fitted to two models of a family, come back in the last four weeks: 30 beside the 10 that are
// usual in four weeks of these two with what was fitted, which makes three in five visits in place of one in four.
func TestBadLotIsNamed(t *testing.T) {
	var extra []tallytest.Visit
	for i := range 45 {
		model := i % 2
		fit := visit(40+9*i, model, "battery")
		fit.Device = fmt.Sprint("device ", i)
		fit.Parts = []tallytest.Part{{Component: "battery", Lot: "GOOD-1", Supplier: "Ferrule", Grade: "original"}}
		if i%3 > 0 {
			fit.Parts[0].Lot = "BAD-7"
			back := visit(463+i%26, model, "battery")
			back.Device = fit.Device
			extra = append(extra, back)
		}
		extra = append(extra, fit)
	}
	rows := compute(t, shop(7, extra...), Options{OnShelf: func(lot string) (float64, bool) { return 5, lot == "BAD-7" }})
	if len(rows) == 0 {
		t.Fatal("no alarm")
	}
	r := rows[0]
	if r.Component != "battery" || r.Models != "Lark Wren 0;Lark Wren 1" || r.Level != "family" || r.WindowEnd != "2026-05-11" {
		t.Errorf("alarm %+v", r)
	}
	if start, err := time.Parse(time.DateOnly, r.WindowStart); err != nil || start.Sub(firstDay.AddDate(0, 0, 462)).Abs() > 8*24*time.Hour {
		t.Errorf("window from %s, want about %s", r.WindowStart, firstDay.AddDate(0, 0, 462).Format(time.DateOnly))
	}
	if r.Link != EarlierLot || r.LinkValue != "BAD-7" || !(r.LinkQ.V < 0.05) || r.LinkCases != 30 || r.LinkVisits != 30 || r.OnShelf.V != 5 {
		t.Errorf("link %+v", r)
	}
	list := Findings(rows, findings.Frame{})
	if len(list) == 0 {
		t.Fatal("no finding")
	}
	f := list[0]
	if f.Grade != schemas.Firm || f.Subject.Lot != "BAD-7" || !strings.HasPrefix(f.Caution, "Lithium") || !strings.Contains(f.Caution, "not a recall") {
		t.Errorf("%+v", f)
	}
	for _, want := range []string{"Lark Wren 0 and Lark Wren 1", "30 of 30 devices fitted with lot BAD-7 came back"} {
		if !strings.Contains(f.Headline, want) {
			t.Errorf("headline %q lacks %q", f.Headline, want)
		}
	}
	for _, want := range []string{"5 parts on the shelf", "under your own warranty", "Tell the supplier"} {
		if !strings.Contains(f.Action, want) {
			t.Errorf("action %q lacks %q", f.Action, want)
		}
	}
}

// Devices of one model made in three weeks of 2024 lose their microphones: 15 in the last four weeks beside the 1.6 that
// are usual, which makes half of the visits in place of a tenth.
func TestBadWeeksAreNamed(t *testing.T) {
	var extra []tallytest.Visit
	for i := range 15 {
		v := visit(462+2*i-i/8, 3, "microphone")
		v.MadeWeek = fmt.Sprintf("2024-W%02d", 20+i%3)
		extra = append(extra, v)
	}
	rows := compute(t, shop(8, extra...), Options{})
	for _, r := range rows {
		if r.Component == "microphone" && r.Link == MadeWeek {
			if r.LinkValue != "2024-W20..2024-W22" || r.Models != "Lark Wren 3" || r.LinkCases < 10 {
				t.Errorf("%+v", r)
			}
			return
		}
	}
	t.Errorf("no made-week is linked: %+v", rows)
}

func TestShortHistoryRaisesNothing(t *testing.T) {
	if rows := compute(t, []tallytest.Visit{visit(0, 0, "battery"), visit(3, 0, "battery"), visit(60, 1, "battery")}, Options{}); len(rows) > 0 {
		t.Errorf("%+v", rows)
	}
}

// Microphones of one model fail from week 46 on for four weeks: 14 beside the 1.6 that are usual, which makes half of the
// visits in place of a tenth.
func TestLookBackTellsWhen(t *testing.T) {
	var extra []tallytest.Visit
	for i := range 14 {
		extra = append(extra, visit(7*45+2*i, 4, "microphone"))
	}
	log := tallytest.Open(t, shop(9, extra...), tally.Options{})
	past, looks, err := LookBack(t.Context(), log, 1)
	if err != nil || looks != 70-minWeeks+1 {
		t.Fatalf("%d looks, %v", looks, err)
	}
	for _, r := range past {
		if r.Component == "microphone" && strings.Contains(r.Models, "Lark Wren 4") {
			raised, err := time.Parse(time.DateOnly, r.Raised)
			if late := raised.Sub(firstDay.AddDate(0, 0, 7*45)).Hours() / 24 / 7; err != nil || late < 0 || late > 3 {
				t.Errorf("raised %s, %.0f weeks after the start", r.Raised, late)
			}
			return
		}
	}
	t.Errorf("not found among %+v", past)
}

// ISO 8601 weeks: 2020 has 53, and 1 January 2021 lies in the last of them.
func TestWeeksOfManufacture(t *testing.T) {
	list, first, err := weekNumbers([]string{"2020-W52", "2020-W53", "2021-W01"})
	if err != nil || first.Format(time.DateOnly) != "2020-12-21" || list[1] != 1 || list[2] != 2 {
		t.Errorf("%v from %s, %v", list, first, err)
	}
	if got := weekName(time.Date(2021, 1, 1, 0, 0, 0, 0, time.UTC)); got != "2020-W53" {
		t.Errorf("1 January 2021 in %s", got)
	}
	if _, _, err := weekNumbers([]string{"spring"}); err == nil {
		t.Error("spring is a week")
	}
}
