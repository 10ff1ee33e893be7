package report

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"faultgrain/report/evidence"
)

func TestNoTables(t *testing.T) {
	err := Build(t.Context(), Options{Out: t.TempDir()})
	if !errors.Is(err, evidence.ErrNone) || !strings.Contains(err.Error(), "run faultgrain analyse first") {
		t.Errorf("got %v, want a hint to run analyse", err)
	}
}

func TestQuietMonth(t *testing.T) {
	out := t.TempDir()
	if err := errors.Join(os.Mkdir(filepath.Join(out, "tables"), 0o755),
		os.WriteFile(filepath.Join(out, "findings.json"), []byte(`{"version":1,"as_of":"2026-05-31","findings":[]}`), 0o644)); err != nil {
		t.Fatal(err)
	}
	if err := Build(t.Context(), Options{Out: out}); err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile(filepath.Join(out, "index.html"))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(raw), "quiet month") {
		t.Error("a month without findings does not say so")
	}
	left, err := filepath.Glob(filepath.Join(out, ".new-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v %v", left, err)
	}
}
