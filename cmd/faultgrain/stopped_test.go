package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"faultgrain/demo"
	"faultgrain/ingest/history"
)

// argsEnv holds, as JSON, what the re-executed test binary runs the program with.
const argsEnv = "FAULTGRAIN_TEST_ARGS"

// tortureEnv is how many times as much the tests of stopping do as they do by default; make torture sets it.
const tortureEnv = "FAULTGRAIN_TORTURE"

func TestMain(m *testing.M) {
	if text := os.Getenv(argsEnv); text != "" {
		var args []string
		if err := json.Unmarshal([]byte(text), &args); err != nil {
			panic(err)
		}
		os.Args = append(os.Args[:1], args...)
		main()
	}
	os.Exit(m.Run())
}

// torture is how many times the usual number of cases to do.
func torture(t *testing.T) int {
	t.Helper()
	text := os.Getenv(tortureEnv)
	if text == "" {
		return 1
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		t.Fatalf("%s is %q, want a number from 1 on", tortureEnv, text)
	}
	return n
}

// moments is how often to stop a run.
func moments(t *testing.T) int {
	t.Helper()
	if testing.Short() {
		return 2
	}
	return 6 * torture(t)
}

// A process is the program, started in a folder.
type process struct {
	*exec.Cmd
	out, err bytes.Buffer
}

func start(t *testing.T, dir string, args ...string) *process {
	t.Helper()
	text, err := json.Marshal(args)
	if err != nil {
		t.Fatal(err)
	}
	p := &process{Cmd: exec.Command(os.Args[0])}
	p.Dir, p.Env = dir, append(os.Environ(), argsEnv+"="+string(text))
	p.Stdout, p.Stderr = &p.out, &p.err
	if err := p.Start(); err != nil {
		t.Fatal(err)
	}
	return p
}

// bulkLog writes a log with nothing in it.
func bulkLog(t *testing.T, name string, opt demo.BulkOptions) {
	t.Helper()
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := demo.Bulk(t.Context(), f, opt); err != nil {
		t.Fatal(err)
	}
}

// A shop is a folder with two logs, the history and report of the first, and what they are when the second is in, too.
type shop struct {
	dir            string
	before, after  map[string][]byte // files of brief
	history        map[string][]byte // files of history before
	sources, whole int               // logs in the history: before, after
	takes          time.Duration     // of the second run
}

func newShop(t *testing.T, tickets int) *shop {
	t.Helper()
	s := &shop{dir: t.TempDir()}
	bulkLog(t, s.path("april.csv"), demo.BulkOptions{Tickets: tickets / 2, Models: 20, Days: 300, Seed: 1})
	bulkLog(t, s.path("may.csv"), demo.BulkOptions{Tickets: tickets, Models: 20, Days: 300, Seed: 2, Texts: true})
	s.run(t, "april.csv")
	s.before, s.history = contents(t, s.path("brief")), contents(t, s.path("history"))
	s.sources = len(s.open(t).Manifest.Sources)
	begin := time.Now()
	s.run(t, "may.csv")
	s.takes = time.Since(begin)
	s.after, s.whole = contents(t, s.path("brief")), len(s.open(t).Manifest.Sources)
	if s.whole == s.sources || maps.EqualFunc(s.before, s.after, bytes.Equal) {
		t.Fatal("the second log changed nothing")
	}
	return s
}

func (s *shop) path(name string) string { return filepath.Join(s.dir, name) }

func (s *shop) open(t *testing.T) *history.History {
	t.Helper()
	h, err := history.Open(s.path("history"))
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func (s *shop) run(t *testing.T, log string) {
	t.Helper()
	p := start(t, s.dir, "run", log, "--as-of", "2026-12-31", "--quiet")
	if err := p.Wait(); err != nil {
		t.Fatalf("run %s: %v: %s", log, err, p.err.String())
	}
}

// reset puts the history and the report of the first log back.
func (s *shop) reset(t *testing.T) {
	t.Helper()
	for name, files := range map[string]map[string][]byte{"history": s.history, "brief": s.before} {
		putFiles(t, s.path(name), files)
	}
}

// check holds what a run that ended at any moment may leave, and says which log the history knows.
func (s *shop) check(t *testing.T, when string) (in bool) {
	t.Helper()
	h := s.open(t)
	n := len(h.Manifest.Sources)
	if n != s.sources && n != s.whole {
		t.Errorf("%s: the history holds %d logs", when, n)
	}
	if problems, err := history.Verify(t.Context(), h.Dir); err != nil || len(problems) > 0 {
		t.Errorf("%s: verify: %v, %v", when, problems, err)
	}
	// Every file is whole: of the old report or of the new one. Where there is a first page, all pages are of one.
	pages := map[string]bool{}
	now := contents(t, s.path("brief"))
	for _, name := range slices.Sorted(maps.Keys(now)) {
		if strings.HasPrefix(name, ".new-") {
			continue
		}
		switch old, fresh := s.before[name], s.after[name]; {
		case bytes.Equal(now[name], fresh) && bytes.Equal(now[name], old):
		case bytes.Equal(now[name], fresh):
			pages["new"] = pages["new"] || strings.HasSuffix(name, ".html")
		case bytes.Equal(now[name], old):
			pages["old"] = pages["old"] || strings.HasSuffix(name, ".html")
		default:
			t.Errorf("%s: %s is neither the old file nor the new one", when, name)
		}
	}
	if now["index.html"] != nil && pages["old"] && pages["new"] {
		t.Errorf("%s: a first page over old and new pages", when)
	}
	return n == s.whole
}

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

// differing lists the files that are not in both alike.
func differing(a, b map[string][]byte) []string {
	var names []string
	for name := range a {
		if !bytes.Equal(a[name], b[name]) {
			names = append(names, name)
		}
	}
	for name := range b {
		if _, ok := a[name]; !ok {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return slices.Compact(names)
}

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

// stopWithin is what the user is promised, and as much again for a machine that is busy with other tests.
const stopWithin = 2 * time.Second

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

// A staged process tells when it comes to a stage.
type staged struct {
	*exec.Cmd
	began  time.Time
	stages chan string
	said   []string // once ended
}

func startStaged(t *testing.T, dir string, args ...string) *staged {
	t.Helper()
	text, err := json.Marshal(args)
	if err != nil {
		t.Fatal(err)
	}
	p := &staged{Cmd: exec.Command(os.Args[0]), stages: make(chan string)}
	p.Dir, p.Env = dir, append(os.Environ(), argsEnv+"="+string(text))
	talk, err := p.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	p.began = time.Now()
	if err := p.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		defer close(p.stages)
		for lines := bufio.NewScanner(talk); lines.Scan(); {
			p.said = append(p.said, lines.Text())
			p.stages <- lines.Text()
		}
	}()
	return p
}

// end waits for the process.
func (p *staged) end() error {
	for range p.stages {
	}
	return p.Wait()
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
