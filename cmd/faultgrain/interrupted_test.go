package main

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"faultgrain/demo"
)

// stopWithin is what the user is promised, and as much again for a machine that is busy with other tests.
const stopWithin = 2 * time.Second

// Ctrl-C stops a run soon, says so, and leaves the history as it was or with the whole log in it.
func TestInterruptedRun(t *testing.T) {
	s := newShop(t, 2000*torture(t))
	rng := rand.New(rand.NewPCG(8, 8))
	stops, slowest := moments(t), time.Duration(0)
	stages := map[string]int{}
	for n := range stops {
		s.reset(t)
		p := start(t, s.dir, "run", "may.csv", "--as-of", "2026-12-31")
		time.Sleep(time.Duration((0.1 + 0.8*rng.Float64()) * float64(s.takes)))
		sent := time.Now()
		if err := p.Process.Signal(os.Interrupt); err != nil {
			continue // it was done
		}
		err := p.Wait()
		took := time.Since(sent)
		said := strings.Split(strings.TrimSpace(p.err.String()), "\n")
		if err == nil {
			stages["done before"]++
		} else {
			if !strings.Contains(p.err.String(), "stopped") && p.ProcessState.ExitCode() != -1 {
				t.Errorf("stop %d: %v: %q", n+1, err, p.err.String())
			}
			stage := "start"
			if len(said) > 1 {
				stage, _, _ = strings.Cut(said[len(said)-2], " may.csv")
			}
			stages[stage]++
			slowest = max(slowest, took)
			if took > stopWithin {
				t.Errorf("stop %d took %v at %q, want %v at most", n+1, took, stage, stopWithin)
			}
		}
		if !s.check(t, fmt.Sprintf("stop %d", n+1)) {
			now := contents(t, s.path("history"))
			delete(now, "lock")
			for _, name := range differing(now, s.history) {
				t.Errorf("stop %d: the history was not left as it was: %s", n+1, name)
			}
		}
		for name := range contents(t, s.path("brief")) {
			if err != nil && strings.HasPrefix(name, ".new-") {
				t.Errorf("stop %d: left %s", n+1, name)
			}
		}
	}
	t.Logf("%d stops of a run of %v, slowest %v, at %v", stops, s.takes.Round(time.Millisecond), slowest.Round(time.Millisecond), stages)
}

// Ctrl-C at the beginning of each stage of a run, and at moments spread over it: the run ends within a second, says so, and
// the history is not there yet or whole.
func TestInterruptedStages(t *testing.T) {
	dir := t.TempDir()
	bulkLog(t, filepath.Join(dir, "a.csv"), demo.BulkOptions{Tickets: 3000 * torture(t), Models: 20, Days: 300, Seed: 3, Texts: true})
	args := []string{"run", "a.csv", "--as-of", "2026-12-31"}
	stages := []string{"survey a.csv", "read a.csv", "work out", "draw the report"}
	began := map[string]time.Time{}
	p := startStaged(t, dir, args...)
	for s := range p.stages {
		began[s] = time.Now()
	}
	if err := p.Wait(); err != nil {
		t.Fatalf("%v: %q", err, p.said)
	}
	ended := time.Now()
	for n, stage := range stages {
		until := ended
		if n+1 < len(stages) {
			until = began[stages[n+1]]
		}
		if began[stage].IsZero() {
			t.Fatalf("no stage %q in %q", stage, p.said)
		}
		takes, count := until.Sub(began[stage]), 3
		if stage == "work out" {
			count = 3 + 2*torture(t) // the history is loaded, nine questions are asked
		}
		if testing.Short() {
			count = 1
		}
		stopped, slowest := 0, time.Duration(0)
		for i := range count {
			if err := errors.Join(os.RemoveAll(filepath.Join(dir, "history")), os.RemoveAll(filepath.Join(dir, "brief"))); err != nil {
				t.Fatal(err)
			}
			wait := takes * time.Duration(i) / time.Duration(count)
			p := startStaged(t, dir, args...)
			for s := range p.stages {
				if s == stage {
					break
				}
			}
			time.Sleep(wait)
			sent := time.Now()
			_ = p.Process.Signal(os.Interrupt) // may be done
			err := p.end()
			took := time.Since(sent)
			when := fmt.Sprintf("%v into %q", wait.Round(time.Millisecond), stage)
			if err == nil {
				continue
			}
			stopped++
			slowest = max(slowest, took)
			if took > stopWithin {
				t.Errorf("%s: stopped after %v, want %v at most", when, took, stopWithin)
			}
			if p.ProcessState.ExitCode() != -1 && !strings.Contains(strings.Join(p.said, "\n"), "stopped") {
				t.Errorf("%s: %v: %q", when, err, p.said)
			}
			wholeHistory(t, filepath.Join(dir, "history"), when)
			if _, err := os.Stat(filepath.Join(dir, "brief", "index.html")); err == nil && stage != "draw the report" {
				t.Errorf("%s: left a first page", when)
			}
		}
		t.Logf("%s, %v: %d of %d stopped before its end, the slowest within %v", stage, takes.Round(time.Millisecond), stopped, count, slowest.Round(time.Millisecond))
	}
}
