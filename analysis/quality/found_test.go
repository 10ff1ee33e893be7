package quality

import (
	"os"
	"path/filepath"
	"testing"

	"faultgrain/analysis/tally"
	"faultgrain/ingest"
)

// What ingest sums up of a visit's faults is what the faults say, one by one.
func TestVisitsSumUpTheirFaults(t *testing.T) {
	dir := t.TempDir()
	log := filepath.Join(dir, "log.csv")
	text := "ticket,opened,model,found,part,outcome\n" +
		"1,2026-01-05,Corvo 3,display cracked,display,repaired\n" +
		"2,2026-01-06,Corvo 3,liquid inside,,uneconomic\n" +
		"3,2026-01-07,Corvo 3,\"liquid, battery swollen\",,uneconomic\n" +
		"4,2026-01-08,Corvo 3,\"microphone, earpiece, display\",battery,repaired\n" +
		"4,2026-01-08,Corvo 3,,earpiece,repaired\n" +
		"5,2026-01-09,Corvo 3,,,no-fault\n"
	if err := os.WriteFile(log, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	history := filepath.Join(dir, "history")
	if _, err := ingest.Run(t.Context(), []string{log}, ingest.Options{History: history}); err != nil {
		t.Fatal(err)
	}
	l, err := tally.Open(t.Context(), history, tally.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	type row struct {
		Visit      int    `sql:"visit"`
		Diagnosed  bool   `sql:"diagnosed"`
		Components int    `sql:"components"`
		Component  string `sql:"component"`
		ComponentB string `sql:"component_b"`
	}
	got, err := tally.Query[row](t.Context(), l, "SELECT visit, diagnosed, components, component, component_b FROM visit ORDER BY visit")
	if err != nil {
		t.Fatal(err)
	}
	want, err := tally.Query[row](t.Context(), l, `
		SELECT v.visit, coalesce(v.outcome = 'no-fault', false) OR f.visit IS NOT NULL AS diagnosed, coalesce(f.components, 0) AS components,
		       f.component, CASE WHEN f.components > 1 THEN f.component_b END AS component_b
		FROM visit v
		LEFT JOIN (SELECT visit, count(CASE WHEN NOT is_cause THEN 1 END) AS components, min(CASE WHEN NOT is_cause THEN component END) AS component,
		                  max(CASE WHEN NOT is_cause THEN component END) AS component_b
		           FROM fault GROUP BY visit) f ON f.visit = v.visit
		ORDER BY v.visit`)
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 5 || len(want) != 5 {
		t.Fatalf("%d and %d visits, want 5", len(got), len(want))
	}
	most := 0
	for i := range got {
		if got[i] != want[i] {
			t.Errorf("visit %d: %+v, its faults say %+v", i, got[i], want[i])
		}
		most = max(most, got[i].Components)
	}
	if most < 4 {
		t.Errorf("the fullest visit shows %d components, want 4", most)
	}
}
