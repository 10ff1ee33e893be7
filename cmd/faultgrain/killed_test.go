package main

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"faultgrain/ingest/history"
)

// putFiles makes a folder hold these files and no others.
func putFiles(t *testing.T, dir string, files map[string][]byte) {
	t.Helper()
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	for name, data := range files {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

// settled leaves out what a killed run left aside, which is swept a day later, and its lock, which the next one takes over.
func settled(files map[string][]byte) map[string][]byte {
	maps.DeleteFunc(files, func(name string, _ []byte) bool { return strings.HasPrefix(name, ".new-") || name == "lock" })
	return files
}

// killAfter starts the program and kills it when so much time has gone; it tells whether the program was still at it.
func killAfter(t *testing.T, dir string, wait time.Duration, args ...string) bool {
	t.Helper()
	p := start(t, dir, args...)
	time.Sleep(wait)
	_ = p.Process.Kill() // may be done
	return p.Wait() != nil
}

// done runs the program to its end.
func done(t *testing.T, dir string, args ...string) (took time.Duration) {
	t.Helper()
	begin := time.Now()
	p := start(t, dir, args...)
	if err := p.Wait(); err != nil {
		t.Fatalf("%v: %v: %s", args, err, p.err.String())
	}
	return time.Since(begin)
}

// Ingest, analyse and report killed at any moment: a report is then drawn of one analysis, old or new, or refused with what
// to do, and the stage done again ends where an undisturbed one does.
func TestKilledStages(t *testing.T) {
	s := newShop(t, 3000)
	whole := contents(t, s.path("history"))
	found := map[string][]byte{} // of both logs, with the pages of the first
	for name, data := range s.before {
		found[name] = data
	}
	maps.DeleteFunc(found, func(name string, _ []byte) bool { return strings.HasPrefix(name, "tables") })
	for name, data := range s.after {
		if strings.HasPrefix(name, "tables") || name == "findings.json" {
			found[name] = data
		}
	}
	analyse := []string{"analyse", "--as-of", "2026-12-31", "--quiet"}
	report := []string{"report", "--quiet"}
	for _, stage := range []struct {
		name    string
		history map[string][]byte
		brief   map[string][]byte
		args    []string
	}{
		{"ingest", s.history, s.before, []string{"ingest", "may.csv", "--quiet"}},
		{"analyse", whole, s.before, analyse},
		{"report", whole, found, report},
	} {
		t.Run(stage.name, func(t *testing.T) {
			reset := func() {
				putFiles(t, s.path("history"), stage.history)
				putFiles(t, s.path("brief"), stage.brief)
			}
			reset()
			takes := done(t, s.dir, stage.args...)
			rng := rand.New(rand.NewPCG(7, uint64(len(stage.name))))
			killed, refused := 0, 0
			for n := range moments(t) / 2 {
				reset()
				wait := time.Duration(rng.Float64() * float64(takes))
				when := fmt.Sprintf("kill %d after %v", n+1, wait)
				if killAfter(t, s.dir, wait, stage.args...) {
					killed++
				}
				s.check(t, when)
				if stage.name != "ingest" {
					if names := differing(settled(contents(t, s.path("history"))), whole); len(names) > 0 {
						t.Errorf("%s: the history changed: %v", when, names)
					}
				} else if names := differing(contents(t, s.path("brief")), stage.brief); len(names) > 0 {
					t.Errorf("%s: the report changed: %v", when, names)
				}
				p := start(t, s.dir, report...)
				if err := p.Wait(); err != nil {
					refused++
					if !strings.Contains(p.err.String(), "run faultgrain analyse") {
						t.Errorf("%s: report: %v: %q; want what to do", when, err, p.err.String())
					}
				} else if now := settled(contents(t, s.path("brief"))); len(differing(now, s.before)) > 0 && len(differing(now, s.after)) > 0 {
					t.Errorf("%s: a report that is neither the old one (%v) nor the new one (%v)", when, differing(now, s.before), differing(now, s.after))
				}
				for _, args := range [][]string{stage.args, analyse, report} {
					done(t, s.dir, args...)
				}
				if names := differing(settled(contents(t, s.path("brief"))), s.after); len(names) > 0 {
					t.Errorf("%s: the next run ended elsewhere: %v", when, names)
				}
			}
			t.Logf("%d kills of %v, %d of them reports refused", killed, takes.Round(time.Millisecond), refused)
		})
	}
}

// The eighth small log makes ingest put the segments together. Killed at any moment from when the log is in: the history is
// whole, holds what it held, and takes the next log.
func TestKilledCompaction(t *testing.T) {
	const logs = 9
	dir := t.TempDir()
	log := func(n int) string { return fmt.Sprintf("log%d.csv", n) }
	for n := range logs {
		monster(t, filepath.Join(dir, log(n)), monsterHeader, 2000, func(i int) string {
			return monsterRow(1900*n+i, fmt.Sprint("Lark ", n), monsterFaults[i%4]) // a hundred tickets of the log before
		})
	}
	ingest := func(n int) []string { return []string{"ingest", log(n), "--quiet"} }
	tickets := func() []string {
		t.Helper()
		done(t, dir, "export", "--out", "export", "--json")
		raw, err := os.ReadFile(filepath.Join(dir, "export", "visits.csv"))
		if err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(string(raw), "\n")
		for i, line := range lines {
			_, lines[i], _ = strings.Cut(line, ",") // without the visit's number, which is another in another segment
		}
		slices.Sort(lines)
		return lines
	}
	for n := range logs - 2 {
		done(t, dir, ingest(n)...)
	}
	before := contents(t, filepath.Join(dir, "history"))
	state := func() (sources, segments int) {
		h, err := history.Open(filepath.Join(dir, "history"))
		if err != nil {
			t.Fatal(err)
		}
		return len(h.Manifest.Sources), len(h.Manifest.Segments)
	}
	untilIn := func() { // the eighth log is in
		for n, _ := state(); n < logs-1; n, _ = state() {
			time.Sleep(time.Millisecond)
		}
	}
	p := start(t, dir, ingest(logs-2)...)
	untilIn()
	begin := time.Now()
	if err := p.Wait(); err != nil {
		t.Fatal(err)
	}
	takes := time.Since(begin)
	if _, segments := state(); segments != 1 {
		t.Fatalf("%d segments after the eighth log, want 1", segments)
	}
	eight := tickets()
	done(t, dir, ingest(logs-1)...)
	nine := tickets()
	if len(nine) != len(eight)+1900 {
		t.Fatalf("%d tickets with the eighth log, %d with the ninth", len(eight), len(nine))
	}
	rng := rand.New(rand.NewPCG(6, 6))
	kills, merged := moments(t), 0
	for n := range kills {
		putFiles(t, filepath.Join(dir, "history"), before)
		p := start(t, dir, ingest(logs-2)...)
		untilIn()
		wait := time.Duration(rng.Float64() * float64(takes))
		time.Sleep(wait)
		_ = p.Process.Kill() // may be done
		_ = p.Wait()
		when := fmt.Sprintf("kill %d, %v after the log was in", n+1, wait)
		wholeHistory(t, filepath.Join(dir, "history"), when)
		if _, segments := state(); segments == 1 {
			merged++
		}
		if !slices.Equal(tickets(), eight) {
			t.Errorf("%s: other tickets than without the kill", when)
		}
		done(t, dir, ingest(logs-1)...)
		wholeHistory(t, filepath.Join(dir, "history"), when+" and the next log")
		if !slices.Equal(tickets(), nine) {
			t.Errorf("%s and the next log: other tickets than without the kill", when)
		}
	}
	t.Logf("%d kills within %v, %d of them after the segments were put together", kills, takes.Round(time.Millisecond), merged)
}

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
