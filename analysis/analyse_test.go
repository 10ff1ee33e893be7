package analysis

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"faultgrain/analysis/tally"
	"faultgrain/analysis/tally/tallytest"
	"faultgrain/ingest/history"
	"faultgrain/schemas"
)

// shopLog is a small shop of ours: four phones and two tablets over 18 months. On the Corvo 3 the charge
// port and the microphone fail together, its battery fails often, and hinges of the tablets rise.
func shopLog(seed uint64, n int) []tallytest.Visit {
	rng := rand.New(rand.NewPCG(seed, 1))
	models := []struct{ class, maker, family, model string }{
		{"phone", "Corvo", "Corvo", "Corvo 3"}, {"phone", "Corvo", "Corvo", "Corvo 4"}, {"phone", "Tindra", "Tindra One", "Tindra One 12"},
		{"phone", "Tindra", "Tindra One", "Tindra One 14"}, {"tablet", "Corvo", "Corvo Tab", "Corvo Tab 8"}, {"tablet", "Ostel", "Ostel Pad", "Ostel Pad 2"},
	}
	var list []tallytest.Visit
	start := time.Date(2024, 12, 2, 8, 0, 0, 0, time.UTC)
	for i := range n {
		m := models[rng.IntN(len(models))]
		v := tallytest.Visit{
			Ticket: fmt.Sprintf("T%05d", i), Class: m.class, Maker: m.maker, Family: m.family, Model: m.model,
			Opened:  start.Add(time.Duration(float64(i) / float64(n) * 545 * 24 * float64(time.Hour))).Truncate(time.Minute),
			Outcome: schemas.Repaired, Device: fmt.Sprintf("D%d", rng.IntN(n*3/4)),
		}
		add := func(c string, chance float64) bool {
			if rng.Float64() < chance {
				v.Faults = append(v.Faults, c)
				return true
			}
			return false
		}
		battery := 0.1
		if m.model == "Corvo 3" {
			battery = 0.4
		}
		add("battery", battery)
		if port := add("charge-port", 0.15); port && m.model == "Corvo 3" {
			add("microphone", 0.6)
		} else {
			add("microphone", 0.05)
		}
		if m.class == "tablet" {
			add("hinge", 0.05+0.4*float64(i)/float64(n))
		}
		if len(v.Faults) == 0 || rng.Float64() < 0.2 {
			v.Faults = append(v.Faults, "display")
		}
		minutes := 0.0
		for range v.Faults {
			minutes += 15 + float64(rng.IntN(30))
		}
		v.Minutes = schemas.Known(minutes - 8*float64(len(v.Faults)-1))
		if rng.Float64() < 0.9 {
			v.Ready = v.Opened.Add(time.Duration(4+rng.IntN(90)) * time.Hour)
		} else {
			v.Outcome = schemas.Open
		}
		list = append(list, v)
	}
	return list
}

func runOn(t *testing.T, dir string, opt Options) (string, Summary) {
	t.Helper()
	opt.History, opt.Out = dir, t.TempDir()
	s, err := Run(t.Context(), opt)
	if err != nil {
		t.Fatal(err)
	}
	return opt.Out, s
}

func TestFindingsFollowTheirSchema(t *testing.T) {
	out, s := runOn(t, tallytest.History(t, tallytest.Segment{Visits: shopLog(1, 1500)}), Options{})
	raw, err := os.ReadFile(filepath.Join(out, "findings.json"))
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(schemas.FindingsJSONSchema))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("findings.schema.json", doc); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("findings.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	found, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	if err := schema.Validate(found); err != nil {
		t.Errorf("findings.json: %v", err)
	}
	list, err := schemas.ReadFindings(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	ids := map[string]bool{}
	for _, f := range list.Findings {
		if ids[f.ID] {
			t.Errorf("id %s stands twice", f.ID)
		}
		ids[f.ID] = true
	}
	if s.Findings[schemas.Firm] == 0 || s.Visits != 1500 {
		t.Errorf("summary %+v, want firm findings in 1500 visits", s)
	}
}

// tablesOf reads all files of OUT but those that count ingests.
func tablesOf(t *testing.T, out string) map[string]string {
	t.Helper()
	files := map[string]string{}
	err := filepath.WalkDir(out, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || d.Name() == "quality.csv" {
			return err
		}
		raw, err := os.ReadFile(path)
		files[d.Name()] = string(raw)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

func TestTablesDoNotDependOnHowTheHistoryCameAbout(t *testing.T) {
	visits := shopLog(2, 1200)
	whole, _ := runOn(t, tallytest.History(t, tallytest.Segment{Visits: visits}), Options{})
	want := tablesOf(t, whole)

	shuffled := append([]tallytest.Visit(nil), visits...)
	rand.New(rand.NewPCG(9, 9)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
	wrong := append([]tallytest.Visit(nil), visits[300:700]...) // an early export of the same tickets, since corrected
	for i := range wrong {
		wrong[i].Faults, wrong[i].Model = []string{"fan"}, "Corvo 9"
	}
	for name, segments := range map[string][]tallytest.Segment{
		"shuffled":        {{Visits: shuffled}},
		"split":           {{Visits: shuffled[:100]}, {Visits: shuffled[100:101]}, {Visits: shuffled[101:]}},
		"exported twice":  {{Visits: visits}, {Visits: shuffled}},
		"corrected later": {{Visits: wrong}, {Visits: visits}},
	} {
		t.Run(name, func(t *testing.T) {
			out, _ := runOn(t, tallytest.History(t, segments...), Options{})
			got := tablesOf(t, out)
			if len(got) != len(want) {
				t.Errorf("%d files, want %d", len(got), len(want))
			}
			for file, text := range want {
				if got[file] != text {
					t.Errorf("%s differs: %s", file, firstDifference(got[file], text))
				}
			}
		})
	}
}

func firstDifference(got, want string) string {
	a, b := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return fmt.Sprintf("line %d\ngot  %s\nwant %s", i+1, a[i], b[i])
		}
	}
	return fmt.Sprintf("%d lines, want %d", len(a), len(b))
}

func TestRunLeavesOutAsItWasWhenItFails(t *testing.T) {
	dir := tallytest.History(t, tallytest.Segment{Visits: shopLog(3, 200)})
	out, _ := runOn(t, dir, Options{})
	before := tablesOf(t, out)
	_, err := Run(t.Context(), Options{History: dir, Out: out, Fleet: filepath.Join(out, "no-such-fleet.csv")})
	if err == nil || !strings.Contains(err.Error(), "no-such-fleet.csv") {
		t.Errorf("missing fleet: %v, want an error that names it", err)
	}
	after := tablesOf(t, out)
	if len(after) != len(before) {
		t.Errorf("%d files after a failed run, %d before", len(after), len(before))
	}
	for name, text := range before {
		if after[name] != text {
			t.Errorf("%s changed by a failed run", name)
		}
	}
}

func TestRunReplacesAnEarlierRun(t *testing.T) {
	dir := tallytest.History(t, tallytest.Segment{Visits: shopLog(3, 200)})
	out, _ := runOn(t, dir, Options{})
	stale := filepath.Join(out, "tables", "gone.csv")
	if err := os.WriteFile(stale, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Run(t.Context(), Options{History: dir, Out: out}); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(stale); !errors.Is(err, fs.ErrNotExist) {
		t.Error("a table of an earlier version survived the new run")
	}
	entries, err := os.ReadDir(out)
	if err != nil || len(entries) != 2 {
		t.Errorf("OUT holds %v, %v; want tables and findings.json alone", entries, err)
	}
}

func TestRunWithoutAHistory(t *testing.T) {
	out := filepath.Join(t.TempDir(), "brief")
	if _, err := Run(t.Context(), Options{History: t.TempDir(), Out: out}); !errors.Is(err, history.ErrNoHistory) {
		t.Errorf("%v, want history.ErrNoHistory", err)
	}
	if _, err := Run(t.Context(), Options{History: tallytest.History(t, tallytest.Segment{}), Out: out}); !errors.Is(err, tally.ErrEmpty) {
		t.Errorf("%v, want tally.ErrEmpty", err)
	}
	if _, err := os.Stat(out); !errors.Is(err, fs.ErrNotExist) {
		t.Error("an output folder was made for nothing")
	}
}

func TestRunOnALogThatTellsLittle(t *testing.T) {
	start := time.Date(2026, 1, 5, 9, 0, 0, 0, time.UTC)
	for name, visits := range map[string][]tallytest.Visit{
		"one visit":          {{Model: "m", Opened: start}},
		"one fault":          {{Model: "m", Opened: start, Faults: []string{"battery"}}},
		"only causes":        {{Model: "m", Opened: start, Faults: []string{"liquid"}}, {Model: "n", Opened: start, Faults: []string{"drop"}}},
		"only no-fault":      {{Model: "m", Opened: start, Outcome: schemas.NoFault}, {Model: "n", Opened: start, Outcome: schemas.NoFault}},
		"one model":          {{Model: "m", Opened: start, Faults: []string{"battery", "display"}}, {Model: "m", Opened: start.AddDate(2, 0, 0), Faults: []string{"battery", "display"}}},
		"one day, no spread": {{Model: "m", Opened: start, Ready: start, Faults: []string{"fan"}, Minutes: schemas.Known(20)}, {Model: "m", Opened: start, Ready: start, Faults: []string{"fan"}, Minutes: schemas.Known(20)}},
	} {
		t.Run(name, func(t *testing.T) { runOn(t, tallytest.History(t, tallytest.Segment{Visits: visits}), Options{}) })
	}
}
