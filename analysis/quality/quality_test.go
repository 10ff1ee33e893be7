package quality

import (
	"testing"
	"time"

	"faultgrain/analysis/tally"
	"faultgrain/analysis/tally/tallytest"
	"faultgrain/schemas"
)

func TestEveryVisitThatIsLeftOutIsCounted(t *testing.T) {
	at := func(day int) time.Time { return time.Date(2026, 1, day, 9, 0, 0, 0, time.UTC) }
	visits := []tallytest.Visit{
		{Model: "m", Opened: at(1), Ready: at(2), Outcome: schemas.Repaired, Faults: []string{"fan"}, Device: "x", Minutes: schemas.Known(20), Charge: schemas.Known(50),
			Parts: []tallytest.Part{{Component: "fan", Supplier: "s", UnitCost: schemas.Known(3)}, {Grade: schemas.GradeUnknown}}},
		{Model: "m", Opened: at(1), Outcome: schemas.Repaired, Unread: true},
		{Model: "m", Opened: at(1)},
		{Model: "m", Opened: at(9), Faults: []string{"fan"}},
	}
	for i := range 21 {
		visits = append(visits, tallytest.Visit{Model: "m", Opened: at(1 + i%5), Faults: []string{"fan"}, Device: "0000", Outcome: schemas.Open})
	}
	dir := tallytest.History(t, tallytest.Segment{Visits: visits, Quality: []schemas.QualityRow{{Topic: "folded", Subject: "M", Count: 2, Note: "read as m"}}})
	log := tallytest.OpenDir(t, dir, tally.Options{AsOf: at(8)})
	rows, err := Compute(t.Context(), log, schemas.Settings{Zone: "Europe/Lisbon"}, Given{Stock: true})
	if err != nil {
		t.Fatal(err)
	}
	got := map[[2]string]int{}
	for i, r := range rows {
		got[[2]string{r.Topic, r.Subject}] = r.Count
		if r.Note == "" {
			t.Errorf("%s, %s: no note", r.Topic, r.Subject)
		}
		if i > 0 && rows[i-1].Topic > r.Topic {
			t.Errorf("%s after %s: want rows in order", r.Topic, rows[i-1].Topic)
		}
	}
	for key, want := range map[[2]string]int{
		{"read", "log.csv"}: 25, {"accepted", "log.csv"}: 25, {"folded", "M"}: 2,
		{"unread", "visits"}: 1, {"undiagnosed", "visits"}: 1, {"later", "visits"}: 1,
		{"unknown", "serial"}: 23, {"unknown", "serial placeholder"}: 21, {"unknown", "outcome"}: 1,
		{"unknown", "ready"}: 1, {"unknown", "minutes"}: 1, {"unknown", "charge"}: 1,
		{"unknown", "part"}: 1, {"unknown", "unit_cost"}: 1, {"unknown", "supplier, lot and grade"}: 1,
	} {
		if got[key] != want {
			t.Errorf("%v counted %d, want %d", key, got[key], want)
		}
	}
	if _, ok := got[[2]string{"missing-key", "fleet"}]; !ok {
		t.Error("no word about the fleet file that was not given")
	}
	for _, given := range []string{"stock", "zone"} {
		if _, ok := got[[2]string{"missing-key", given}]; ok {
			t.Errorf("%s was given and is said to be missing", given)
		}
	}
}
