package tally_test

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"faultgrain/analysis/tally"
	"faultgrain/analysis/tally/tallytest"
	"faultgrain/ingest/history"
	"faultgrain/schemas"
)

func day(s string) time.Time {
	t, err := time.Parse("2006-01-02 15:04", s)
	if err != nil {
		panic(err)
	}
	return t
}

func TestOpenReadsCurrentVersions(t *testing.T) {
	first := tallytest.Segment{Visits: []tallytest.Visit{
		{Ticket: "T1", Model: "Corvo 3", Class: "phone", Maker: "Corvo", Opened: day("2026-01-05 10:00"), Faults: []string{"battery"}},
		{Model: "Corvo 3", Class: "phone", Maker: "Corvo", Opened: day("2026-01-06 10:00"), Faults: []string{"display", "liquid"}, Device: "x"},
		{Model: "Corvo 3", Class: "tablet", Maker: "Corvo", Opened: day("2026-02-06 10:00"), Unread: true},
	}}
	second := tallytest.Segment{
		Visits: []tallytest.Visit{
			{Ticket: "T1", Model: "Corvo 3", Class: "phone", Maker: "Corvo", Opened: day("2026-01-05 10:00"), Outcome: schemas.NoFault, Device: "x",
				Parts: []tallytest.Part{{Component: "battery", Lot: "L1", Quantity: schemas.Known(2)}, {Component: ""}}},
		},
		Quality: []schemas.QualityRow{{Topic: "folded", Subject: "corvo3", Count: 2, Note: "n"}},
	}
	log := tallytest.OpenDir(t, tallytest.History(t, first, second), tally.Options{})

	want := tally.Totals{Visits: 3, Diagnosed: 2, Unread: 1, Faults: 2, Parts: 2, Devices: 2, Models: 1, VisitIDs: 4}
	if log.Totals != want {
		t.Errorf("totals %+v, want %+v", log.Totals, want)
	}
	if got := log.AsOf.Format(time.DateOnly); got != "2026-02-06" {
		t.Errorf("as of %s, want the last day in the log", got)
	}
	if m, partial := log.Partial(); m != "2026-02" || !partial {
		t.Errorf("Partial() = %s, %v; want 2026-02, true", m, partial)
	}
	type fault struct {
		Visit     int    `sql:"visit"`
		Component string `sql:"component"`
		Cause     bool   `sql:"is_cause"`
		Model     string `sql:"model"`
	}
	faults, err := tally.Query[fault](t.Context(), log, "SELECT visit, component, is_cause, model FROM fault ORDER BY visit, component")
	if err != nil {
		t.Fatal(err)
	}
	if want := []fault{{1, "display", false, "Corvo 3"}, {1, "liquid", true, "Corvo 3"}}; !slices.Equal(faults, want) {
		t.Errorf("faults %v, want %v", faults, want)
	}
	classes, err := tally.Query[string](t.Context(), log, "SELECT DISTINCT m.class FROM visit v JOIN model m ON m.model = v.model")
	if err != nil || !slices.Equal(classes, []string{"phone"}) {
		t.Errorf("classes %v, %v: want every visit under the class most of them carry", classes, err)
	}
	devices, err := tally.Query[int](t.Context(), log, "SELECT count(DISTINCT device) FROM visit")
	if err != nil || devices[0] != 1 {
		t.Errorf("devices %v, %v: want one device seen twice", devices, err)
	}
	type part struct {
		Visit     int           `sql:"visit"`
		Component string        `sql:"component"`
		Lot       string        `sql:"lot"`
		Quantity  schemas.Float `sql:"quantity"`
		Initial   bool          `sql:"initial"`
		Last      bool          `sql:"last"`
		Single    bool          `sql:"single"`
	}
	parts, err := tally.Query[part](t.Context(), log, "SELECT visit, component, lot, quantity, initial, last, single FROM part WHERE visit = $1 ORDER BY component NULLS FIRST", 3)
	if want := []part{{3, "", "", schemas.Float{}, false, true, true}, {3, "battery", "L1", schemas.Known(2), true, true, true}}; err != nil || !slices.Equal(parts, want) {
		t.Errorf("parts %v, %v; want %v", parts, err, want)
	}
	quality, err := tally.Query[string](t.Context(), log, "SELECT subject FROM quality")
	if err != nil || !slices.Equal(quality, []string{"corvo3"}) {
		t.Errorf("quality %v, %v", quality, err)
	}
}

func TestZone(t *testing.T) {
	lisbon, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	// Lisbon went from UTC to UTC+1 on 29 March 2026 at 01:00 UTC (IANA time zone database).
	instants := []string{"2026-01-31 23:30", "2026-03-29 00:59", "2026-03-29 01:00", "2026-05-31 23:30", "2026-06-30 22:59"}
	var visits []tallytest.Visit
	for _, s := range instants {
		visits = append(visits, tallytest.Visit{Model: "m", Opened: day(s), Ready: day(s).Add(time.Hour), Faults: []string{"fan"}})
	}
	log := tallytest.Open(t, visits, tally.Options{Zone: lisbon, AsOf: day("2026-06-30 00:00")})
	type row struct {
		Opened time.Time `sql:"opened"`
		Ready  time.Time `sql:"ready"`
		Month  time.Time `sql:"month"`
	}
	rows, err := tally.Query[row](t.Context(), log, "SELECT opened, ready, month FROM visit ORDER BY opened")
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range rows {
		want := visits[i].Opened.In(lisbon).Format(time.DateTime)
		if got := r.Opened.Format(time.DateTime); got != want {
			t.Errorf("%s UTC opened as %s, want %s", instants[i], got, want)
		}
		if got, want := r.Month.Format(time.DateOnly), visits[i].Opened.In(lisbon).Format("2006-01")+"-01"; got != want {
			t.Errorf("%s UTC counted in %s, want %s", instants[i], got, want)
		}
	}
	if last := rows[4]; !last.Ready.IsZero() {
		t.Errorf("ready %v is after the as-of day, want it empty", last.Ready)
	}
	if log.AsOf.Location() != lisbon || log.AsOf.Format(time.DateTime) != "2026-06-30 00:00:00" {
		t.Errorf("as of %v, want 30 June in Lisbon", log.AsOf)
	}
	if _, partial := log.Partial(); partial {
		t.Error("30 June ends June; want a whole month")
	}
}

func TestAsOf(t *testing.T) {
	visits := []tallytest.Visit{
		{Model: "m", Opened: day("2026-01-05 10:00"), Faults: []string{"fan"}},
		{Model: "m", Opened: day("2026-02-05 23:59"), Faults: []string{"fan"}, Parts: []tallytest.Part{{Component: "fan"}}},
		{Model: "m", Opened: day("2026-02-06 00:00"), Faults: []string{"fan", "hinge"}, Parts: []tallytest.Part{{Component: "fan"}}},
	}
	log := tallytest.Open(t, visits, tally.Options{AsOf: day("2026-02-05 00:00")})
	want := tally.Totals{Visits: 2, Diagnosed: 2, Faults: 2, Parts: 1, Models: 1, Later: 1, VisitIDs: 2}
	if log.Totals != want {
		t.Errorf("totals %+v, want %+v", log.Totals, want)
	}
	_, err := tally.Open(t.Context(), tallytest.History(t, tallytest.Segment{Visits: visits}), tally.Options{AsOf: day("2025-02-05 00:00")})
	if !errors.Is(err, tally.ErrEmpty) {
		t.Errorf("as of a day before the log: %v, want ErrEmpty", err)
	}
}

func TestAsOfIgnoresSlipsOfThePen(t *testing.T) {
	log := tallytest.Open(t, []tallytest.Visit{
		{Model: "m", Opened: day("2026-01-05 10:00"), Ready: day("2062-01-07 10:00")},
		{Model: "m", Opened: day("2026-01-06 10:00"), Ready: day("2026-01-09 10:00")},
	}, tally.Options{})
	if got := log.AsOf.Format(time.DateOnly); got != "2026-01-09" {
		t.Errorf("as of %s, want 2026-01-09", got)
	}
}

func TestNoHistory(t *testing.T) {
	if _, err := tally.Open(t.Context(), t.TempDir(), tally.Options{}); !errors.Is(err, history.ErrNoHistory) {
		t.Errorf("empty folder: %v, want history.ErrNoHistory", err)
	}
	if _, err := tally.Open(t.Context(), tallytest.History(t, tallytest.Segment{}), tally.Options{}); !errors.Is(err, tally.ErrEmpty) {
		t.Errorf("no visit: %v, want ErrEmpty", err)
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "manifest.json"), []byte("{"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := tally.Open(t.Context(), dir, tally.Options{}); err == nil || !strings.Contains(err.Error(), "manifest.json") {
		t.Errorf("broken manifest: %v, want an error that names it", err)
	}
}

func TestDoorsAreShut(t *testing.T) {
	visits := []tallytest.Visit{{Model: "m", Opened: day("2026-01-05 10:00")}}
	log := tallytest.Open(t, visits, tally.Options{})
	secret := filepath.Join(t.TempDir(), "secret.csv")
	if err := os.WriteFile(secret, []byte("a\n1\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{
		"SELECT count(*) FROM read_csv('" + filepath.ToSlash(secret) + "')",
		"COPY (SELECT 1) TO '" + filepath.ToSlash(secret) + "'",
		"INSTALL httpfs", "LOAD httpfs", "SET enable_external_access = true", "SET memory_limit = '1GB'",
		"ATTACH '" + filepath.ToSlash(secret) + ".db'",
	} {
		if _, err := tally.Query[string](t.Context(), log, text); err == nil {
			t.Errorf("%s: want it refused once the history is loaded", text)
		}
	}
}

func TestQueryRefusesWhatDoesNotFit(t *testing.T) {
	log := tallytest.Open(t, []tallytest.Visit{{Model: "m", Opened: day("2026-01-05 10:00")}}, tally.Options{})
	type one struct {
		Model string `sql:"model"`
	}
	if _, err := tally.Query[one](t.Context(), log, "SELECT month FROM visit"); err == nil {
		t.Error("a column without a field: want an error")
	}
	if _, err := tally.Query[one](t.Context(), log, "SELECT model, month FROM visit"); err == nil {
		t.Error("more columns than fields: want an error")
	}
	if _, err := tally.Query[float64](t.Context(), log, "SELECT charge FROM visit"); err == nil {
		t.Error("NULL in a float64: want an error")
	}
	if v, err := tally.Query[schemas.Float](t.Context(), log, "SELECT charge FROM visit"); err != nil || v[0].OK {
		t.Errorf("NULL in a schemas.Float: %v, %v; want unknown", v, err)
	}
}

func TestLogWithoutFaultsOrParts(t *testing.T) {
	log := tallytest.Open(t, []tallytest.Visit{{Model: "m", Opened: day("2026-01-05 10:00")}}, tally.Options{})
	for _, table := range []string{"visit", "fault", "part", "model", "count_visit", "count_fault", "repeat_visit", "repeat_fault", "quality"} {
		if _, err := tally.Query[int](t.Context(), log, "SELECT count(*) FROM "+table); err != nil {
			t.Errorf("%s: %v", table, err)
		}
	}
	none, err := tally.Query[string](t.Context(), log, "SELECT f.component FROM fault f JOIN visit v ON v.component = f.component AND f.component < v.component_b")
	if err != nil || len(none) != 0 {
		t.Errorf("words of an empty table: %v, %v", none, err)
	}
}
