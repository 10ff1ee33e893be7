package main

import (
	"bytes"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"faultgrain/demo"
	"faultgrain/ingest/history"
)

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
