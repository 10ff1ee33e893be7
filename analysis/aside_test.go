package analysis

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"faultgrain/schemas"
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

// Whichever of the moves was the last before the process died: findings.json stands beside its own tables, or tells that it does not.
func TestStoppedBetweenMoves(t *testing.T) {
	write := func(out, tables string) *aside {
		t.Helper()
		a, err := newAside(out)
		if err != nil {
			t.Fatal(err)
		}
		text := func(s string) func(io.Writer) error {
			return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
		}
		err = errors.Join(a.write("tables/shares.csv", text(tables)), a.write("tables/orders/x.csv", text("part\n")))
		if err == nil {
			err = a.write("findings.json", func(w io.Writer) error {
				return schemas.WriteFindings(w, schemas.Findings{Version: 1, AsOf: "2026-05-31", Tables: a.written()})
			})
		}
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	for n := range 4 {
		out := t.TempDir()
		if err := write(out, "old").place(); err != nil {
			t.Fatal(err)
		}
		a := write(out, "new")
		moves := a.moves()
		for _, m := range moves[:n] {
			if err := os.Rename(m.from, m.to); err != nil {
				t.Fatal(err)
			}
		}
		text, err := os.ReadFile(filepath.Join(out, "findings.json"))
		if err != nil {
			t.Fatal(err)
		}
		found, err := schemas.ReadFindings(bytes.NewReader(text))
		if err != nil || len(found.Tables) != 2 {
			t.Fatalf("after %d moves: %v, %v; want the sums of two tables", n, found.Tables, err)
		}
		table, err := os.ReadFile(filepath.Join(out, "tables", "shares.csv"))
		own := err == nil && fmt.Sprintf("%x", sha256.Sum256(table)) == found.Tables["tables/shares.csv"]
		if want := n == 0 || n == len(moves); own != want {
			t.Errorf("after %d moves: findings.json knows its tables: %v, want %v", n, own, want)
		}
		if err := write(out, "newer").place(); err != nil {
			t.Errorf("after %d moves the next run: %v", n, err)
		}
	}
}

// A move that fails is taken back with those before it.
func TestFailedMove(t *testing.T) {
	out := t.TempDir()
	if err := os.MkdirAll(filepath.Join(out, "tables", "old"), 0o755); err != nil {
		t.Fatal(err)
	}
	a, err := newAside(out)
	if err != nil {
		t.Fatal(err)
	}
	if err := a.place(); err == nil { // there is no findings.json to place
		t.Fatal("no error")
	}
	if _, err := os.Stat(filepath.Join(out, "tables", "old")); err != nil {
		t.Errorf("the old tables are gone: %v", err)
	}
	if _, err := os.Stat(filepath.Join(a.dir, "tables")); err != nil {
		t.Errorf("the new tables are not where they were written: %v", err)
	}
}
