package ingest

import (
	"os"
	"path/filepath"
	"testing"

	"faultgrain/ingest/history/historytest"
)

// FuzzRun: whatever a log holds, the run fails with a message or every row is accounted for, and the
// same log again is nothing new.
func FuzzRun(f *testing.F) {
	f.Add([]byte(ticketsLog))
	f.Add([]byte(linesLog))
	f.Add([]byte(firstExport))
	f.Add([]byte("ticket;opened;model\n1;\"03.04.2026;x\n2;13.04.2026;y\n;;\n1;03.04.2026;x\n"))
	f.Fuzz(func(t *testing.T, content []byte) {
		dir := historytest.MemoryDir(t)
		log := filepath.Join(dir, "log.csv")
		if err := os.WriteFile(log, content, 0o600); err != nil {
			t.Fatal(err)
		}
		opt := Options{History: filepath.Join(dir, "history"), ChunkBytes: 16, HoldBytes: 64, Workers: 1}
		first, err := Run(t.Context(), []string{log}, opt)
		if err != nil {
			if _, err := os.Stat(opt.History); err == nil {
				t.Error("the run failed and left a history")
			}
			return
		}
		for _, f := range first.Files {
			if f.Accepted+f.Quarantined+f.Duplicate != f.Read {
				t.Errorf("%+v", f)
			}
		}
		again, err := Run(t.Context(), []string{log}, opt)
		if err != nil || again.Visits != first.Visits || again.Files[0].Duplicate != first.Files[0].Read {
			t.Errorf("again: %+v, %v", again, err)
		}
	})
}
