package main

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"faultgrain/demo"
	"faultgrain/ingest/history"
)

// Of two runs at once into one history, one is told who writes; what is left is whole.
func TestTwoIngestsAtOnce(t *testing.T) {
	dir := t.TempDir()
	const logs = 4
	var all []*process
	for i := range logs {
		name := fmt.Sprintf("log%d.csv", i)
		bulkLog(t, filepath.Join(dir, name), demo.BulkOptions{Tickets: 3000 * torture(t), Models: 20, Seed: uint64(i)})
		all = append(all, start(t, dir, "ingest", name, "--quiet"))
	}
	in := 0
	for _, p := range all {
		switch err := p.Wait(); {
		case err == nil:
			in++
		case !strings.Contains(p.err.String(), "history is in use"):
			t.Errorf("%v: %s", err, p.err.String())
		}
	}
	h, err := history.Open(filepath.Join(dir, "history"))
	if err != nil {
		t.Fatal(err)
	}
	if got := len(h.Manifest.Sources); in == 0 || got != in {
		t.Errorf("%d of %d got through, the history holds %d", in, logs, got)
	}
	if problems, err := history.Verify(t.Context(), h.Dir); err != nil || len(problems) > 0 {
		t.Errorf("verify: %v, %v", problems, err)
	}
	if _, err := os.Stat(filepath.Join(h.Dir, "lock")); err == nil {
		t.Error("the lock was left")
	} else if !os.IsNotExist(err) {
		t.Error(err)
	}
	_ = filepath.WalkDir(h.Dir, func(path string, d fs.DirEntry, err error) error {
		if d != nil && strings.HasPrefix(d.Name(), ".age-") {
			t.Errorf("left %s", path)
		}
		return nil
	})
	t.Logf("%d of %d got through", in, logs)
}
