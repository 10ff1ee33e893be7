package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"faultgrain/schemas"
)

// sheetTables writes the little that a bench sheet needs.
func sheetTables(t *testing.T) string {
	t.Helper()
	out := t.TempDir()
	if err := os.Mkdir(filepath.Join(out, "tables"), 0o755); err != nil {
		t.Fatal(err)
	}
	var shares, found bytes.Buffer
	if err := schemas.WriteCSV(&shares, []schemas.Share{{Class: "phone", Model: "Lark P4", Component: "battery", Faults: 9, Visits: 61}, {Class: "phone", Model: "Lark P4 Plus", Component: "battery", Faults: 3, Visits: 20}}); err != nil {
		t.Fatal(err)
	}
	if err := schemas.WriteFindings(&found, schemas.Findings{Version: 1, AsOf: "2026-05-31"}); err != nil {
		t.Fatal(err)
	}
	for name, raw := range map[string][]byte{"tables/shares.csv": shares.Bytes(), "findings.json": found.Bytes()} {
		if err := os.WriteFile(filepath.Join(out, filepath.FromSlash(name)), raw, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func TestSheet(t *testing.T) {
	out := sheetTables(t)
	for _, tc := range []struct {
		args        []string
		code        int
		want, talks string
	}{
		{[]string{"sheet", "lark", "p4", "--out", out}, exitDone, "61 diagnosed visits", ""},
		{[]string{"sheet", "plus", "--out", out}, exitDone, "Lark P4 Plus", ""},
		{[]string{"sheet", "p", "--out", out}, exitFailed, "", "fits several: Lark P4, Lark P4 Plus; name one of them"},
		{[]string{"sheet", "lark p4", "--out", t.TempDir()}, exitFailed, "", "run faultgrain analyse first"},
		{[]string{"sheet"}, exitUsage, "", "missing MODEL"},
	} {
		var o, e bytes.Buffer
		if code := run(t.Context(), tc.args, &o, &e); code != tc.code {
			t.Errorf("%q: exit %d, want %d: %s", tc.args, code, tc.code, e.String())
		}
		if !strings.Contains(o.String(), tc.want) || !strings.Contains(e.String(), tc.talks) || tc.code != exitDone && o.Len() > 0 {
			t.Errorf("%q: out %q, talk %q; want %q, %q", tc.args, o.String(), e.String(), tc.want, tc.talks)
		}
	}
}
