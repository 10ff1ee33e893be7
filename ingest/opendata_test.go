package ingest

import (
	"os"
	"path/filepath"
	"testing"
)

// Real logs of the Open Repair Data Standard are read without a column map, and every row is
// accounted for.
func TestOpenData(t *testing.T) {
	folder := os.Getenv("FAULTGRAIN_OPENDATA")
	if folder == "" {
		t.Skip("FAULTGRAIN_OPENDATA is not set")
	}
	logs, err := filepath.Glob(filepath.Join(folder, "ords_*.csv"))
	if err != nil || len(logs) == 0 {
		t.Fatalf("no ords_*.csv in %s (%v)", folder, err)
	}
	for _, log := range logs {
		t.Run(filepath.Base(log), func(t *testing.T) {
			sum := ingest(t, t.TempDir(), Options{}, log)
			f := sum.Files[0]
			if f.Read < 1000 || f.Accepted*10 < f.Read*9 {
				t.Errorf("%d read, %d accepted, %d quarantined, %d duplicate; %d visits, %d faults", f.Read, f.Accepted, f.Quarantined, f.Duplicate, sum.Visits, sum.Faults)
			}
			t.Logf("%d read, %d accepted, %d quarantined, %d duplicate; %d visits, %d faults, %d repaired, %d ragged", f.Read, f.Accepted, f.Quarantined, f.Duplicate, sum.Visits, sum.Faults, f.Repaired, f.Ragged)
		})
	}
}
