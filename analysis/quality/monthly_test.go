package quality

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"faultgrain/analysis/tally"
	"faultgrain/ingest"
)

// Monthly full exports leave the counts of one ingest of the last month: what was noticed of a ticket's earlier version
// goes with it, and so does what was noticed of an earlier file of the same name. The history is merged on the way.
func TestMonthlyExportsDoNotPileUp(t *testing.T) {
	month := func(n int) string {
		var b strings.Builder
		b.WriteString("ticket;opened;model;found;part;outcome;charge\n")
		for i := range 10 * n {
			// tickets are worked on from month to month, so that most have a new version in each export
			fmt.Fprintf(&b, "%d;2026-01-%02d;Lark 7 64GB black;wobblestick %d;gromblefitz;status%d;%s\n", i, 1+i%28, i%4, n*(1+i%2), []string{"12,50", "abc"}[i%2])
		}
		fmt.Fprintf(&b, "x;2026-01-05;Lark 7;only in month %d;;repaired;1\nx;2026-01-06;Lark 7;only in month %d;display;repaired;1\n", n, n)
		return b.String()
	}
	counts := func(dir string) []string {
		log, err := tally.Open(t.Context(), dir, tally.Options{})
		if err != nil {
			t.Fatal(err)
		}
		defer log.Close()
		rows, err := tally.Query[string](t.Context(), log, "SELECT topic || ' | ' || subject || ' | ' || CAST(count AS VARCHAR) || ' | ' || note FROM quality")
		if err != nil {
			t.Fatal(err)
		}
		slices.Sort(rows)
		return rows
	}
	feed := func(dir string, n int) {
		log := filepath.Join(t.TempDir(), "export.csv")
		if err := os.WriteFile(log, []byte(month(n)), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := ingest.Run(t.Context(), []string{log}, ingest.Options{History: dir}); err != nil {
			t.Fatal(err)
		}
	}
	const months = 12 // enough for segments to be merged
	every, last := t.TempDir(), t.TempDir()
	for n := 1; n <= months; n++ {
		feed(every, n)
	}
	feed(last, months)
	got, want := counts(every), counts(last)
	if !slices.Equal(got, want) || len(want) < 6 {
		t.Errorf("every month read:\n%s\nthe last alone:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}
