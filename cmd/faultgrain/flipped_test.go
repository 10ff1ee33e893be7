package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A bit of a segment that flipped is found by verify, which tells the log to ingest again, and analyse says so, too, or never
// read it; ingesting that log again mends all.
func TestFlippedBit(t *testing.T) {
	dir := t.TempDir()
	logs := []string{"april.csv", "may.csv"}
	for n, log := range logs {
		header := strings.TrimSpace(monsterHeader) + ",part,supplier\n"
		monster(t, filepath.Join(dir, log), header, 500, func(i int) string {
			return strings.TrimSpace(monsterRow(500*n+i, fmt.Sprint("Lark ", i%7), monsterFaults[i%4])) + fmt.Sprintf(",%s,Southparts\n", monsterFaults[i%4])
		})
		done(t, dir, "run", log, "--quiet")
	}
	whole, brief := contents(t, filepath.Join(dir, "history")), contents(t, filepath.Join(dir, "brief"))
	rng := rand.New(rand.NewPCG(5, 5))
	refused, flips := 0, 2*moments(t)
	for n := range flips {
		putFiles(t, filepath.Join(dir, "history"), whole)
		log := logs[n/3%2]
		name := filepath.Join("history", []string{"visits", "faults", "parts"}[n%3], fmt.Sprintf("seg-%06d.parquet", 1+n/3%2))
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		at := rng.IntN(len(data))
		data[at] ^= 1 << rng.IntN(8)
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
		p := start(t, dir, "verify")
		if err := p.Wait(); err == nil || !strings.Contains(p.out.String(), "ingest "+log+" again") {
			t.Errorf("%s, byte %d: verify: %v: %q", name, at, err, p.out.String())
		}
		p = start(t, dir, "analyse", "--quiet")
		if err := p.Wait(); err != nil {
			refused++
			if said := p.err.String(); !strings.Contains(said, "ingest "+log+" again") || strings.Contains(said, "goroutine ") {
				t.Errorf("%s, byte %d: analyse: %q", name, at, said)
			}
			if names := differing(settled(contents(t, filepath.Join(dir, "brief"))), brief); len(names) > 0 {
				t.Errorf("%s, byte %d: the report changed: %v", name, at, names)
			}
		}
		done(t, dir, "ingest", log, "--quiet")
		wholeHistory(t, filepath.Join(dir, "history"), "ingested again")
	}
	t.Logf("%d flipped bits, %d of them refused by analyse", flips, refused)
}

func TestVerifyFindsAFlippedByte(t *testing.T) {
	t.Chdir(t.TempDir())
	write(t, "may.csv", smallLog)
	if code, _, errs := call(t, "ingest", "may.csv", "--quiet"); code != exitDone {
		t.Fatal(errs)
	}
	if code, out, errs := call(t, "verify"); code != exitDone || !strings.Contains(out, "whole") {
		t.Errorf("exit %d, stdout %q, stderr %q", code, out, errs)
	}
	segments, err := filepath.Glob(filepath.Join("history", "visits", "*.parquet"))
	if err != nil || len(segments) == 0 {
		t.Fatal("no segment", err)
	}
	b, err := os.ReadFile(segments[0])
	if err != nil {
		t.Fatal(err)
	}
	b[len(b)/2] ^= 1
	write(t, segments[0], string(b))
	if code, out, _ := call(t, "verify"); code != exitFailed || !strings.Contains(out, "may.csv") {
		t.Errorf("exit %d, stdout %q, want the source to ingest again", code, out)
	}
}
