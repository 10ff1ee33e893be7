package analysis

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

// What a killed run left is removed a day later; what another run is writing now is not.
func TestLeftoversAreSwept(t *testing.T) {
	out := t.TempDir()
	old, busy, own := filepath.Join(out, ".new-1"), filepath.Join(out, ".new-2"), filepath.Join(out, "tables")
	for _, dir := range []string{old, busy, own} {
		if err := os.MkdirAll(filepath.Join(dir, "tables"), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	yesterday := time.Now().Add(-25 * time.Hour)
	for _, dir := range []string{old, own} {
		if err := os.Chtimes(dir, yesterday, yesterday); err != nil {
			t.Fatal(err)
		}
	}
	a, err := newAside(out)
	if err != nil {
		t.Fatal(err)
	}
	defer a.discard()
	if _, err := os.Stat(old); !os.IsNotExist(err) {
		t.Errorf("%s is still there: %v", old, err)
	}
	for _, dir := range []string{busy, own, a.dir} {
		if _, err := os.Stat(dir); err != nil {
			t.Error(err)
		}
	}
}
