package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

// TestNoArrowGoesUp holds the floors: cmd over ingest, analysis and report, over schemas.
func TestNoArrowGoesUp(t *testing.T) {
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "faultgrain/...").Output()
	if err != nil {
		t.Fatal(err)
	}
	forbidden := map[string][]string{
		"faultgrain/schemas":       {"faultgrain/"},
		"faultgrain/ingest":        {"faultgrain/analysis", "faultgrain/report", "faultgrain/demo", "faultgrain/cmd"},
		"faultgrain/analysis":      {"faultgrain/report", "faultgrain/demo", "faultgrain/cmd"},
		"faultgrain/analysis/stat": {"faultgrain/"},
		"faultgrain/report":        {"faultgrain/ingest", "faultgrain/analysis", "faultgrain/demo", "faultgrain/cmd"},
	}
	seen := 0
	d := json.NewDecoder(bytes.NewReader(out))
	for {
		var p struct {
			ImportPath string
			Imports    []string
		}
		err := d.Decode(&p)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		seen++
		for floor, never := range forbidden {
			if p.ImportPath != floor && !strings.HasPrefix(p.ImportPath, floor+"/") {
				continue
			}
			for _, i := range p.Imports {
				for _, n := range never {
					if strings.HasPrefix(i, n) && !strings.HasPrefix(i, floor) {
						t.Errorf("%s imports %s", p.ImportPath, i)
					}
				}
			}
		}
	}
	if seen < 10 {
		t.Fatalf("go list saw only %d packages", seen)
	}
}
