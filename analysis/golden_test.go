package analysis

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"faultgrain/analysis/tally/tallytest"
	"faultgrain/schemas"
)

var update = flag.Bool("update", false, "rewrite testdata/*.golden")

// TestHeadlinesGolden holds the sentences of the four questions every log can answer, as a reader sees them:
// what they say about the numbers is tested beside each question.
func TestHeadlinesGolden(t *testing.T) {
	out, _ := runOn(t, tallytest.History(t, tallytest.Segment{Visits: shopLog(1, 1500)}), Options{})
	raw, err := os.ReadFile(filepath.Join(out, "findings.json"))
	if err != nil {
		t.Fatal(err)
	}
	list, err := schemas.ReadFindings(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, f := range list.Findings {
		if slices.Contains([]string{schemas.KindShare, schemas.KindPair, schemas.KindTime, schemas.KindTrend}, f.Kind) {
			for _, line := range []string{f.ID, f.Headline, f.Action, f.Caution, f.Method} {
				b.WriteString(line + "\n")
			}
			b.WriteString("\n")
		}
	}
	golden := filepath.Join("testdata", "headlines.golden")
	if *update {
		if err := os.WriteFile(golden, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if b.String() != strings.ReplaceAll(string(want), "\r\n", "\n") {
		t.Errorf("%s differs: %s\nwhen the new sentences are better: go test ./analysis -run Golden -update", golden, firstDifference(b.String(), string(want)))
	}
}
