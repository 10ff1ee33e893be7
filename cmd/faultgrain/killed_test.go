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

// A run killed at any moment leaves a whole history and no report that only looks whole, and the next run ends where
// an undisturbed one does.
func TestKilledRun(t *testing.T) {
	s := newShop(t, 2000*torture(t))
	rng := rand.New(rand.NewPCG(9, 9))
	kills, committed := moments(t), 0
	for n := range kills {
		s.reset(t)
		p := start(t, s.dir, "run", "may.csv", "--as-of", "2026-12-31")
		wait := time.Duration(rng.Float64() * float64(s.takes))
		time.Sleep(wait)
		if err := p.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		_ = p.Wait() // killed
		if s.check(t, fmt.Sprintf("kill %d after %v", n+1, wait)) {
			committed++
		}
		s.run(t, "may.csv")
		now := contents(t, s.path("brief"))
		maps.DeleteFunc(now, func(name string, _ []byte) bool { return strings.HasPrefix(name, ".new-") }) // swept a day later
		if names := differing(now, s.after); len(names) > 0 {
			t.Errorf("after kill %d the next run ended elsewhere: %v", n+1, names)
		}
	}
	t.Logf("%d kills of a run of %v, %d of them after the log was in", kills, s.takes.Round(time.Millisecond), committed)
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
