package ingest

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// madeLog makes the rows of a log, below its header, with tickets of one to four rows.
func madeLog(t *rapid.T) (header string, rows []string) {
	parts := []string{"display", "battery", "charge port", "wobblestick", ""}
	texts := []string{"the loudspeaker is broken", "no picture, screen cracked", "hurlyburly", ""}
	outcomes := []string{"repaired", "no-fault", "open", ""}
	tickets := rapid.IntRange(1, 30).Draw(t, "tickets")
	for n := range tickets {
		// everything but the part line is the ticket's own, so that the order of rows can't matter
		own := fmt.Sprintf("%d,shop %d,2026-%02d-%02d,Lark %d,%s,%q", n, n%2, 1+n%12, 1+n%28, n%3,
			rapid.SampledFrom(outcomes).Draw(t, "outcome"), rapid.SampledFrom(texts).Draw(t, "fault"))
		if rapid.IntRange(0, 9).Draw(t, "spoil") == 0 {
			own = fmt.Sprintf("%d,shop %d,2026-02-31,Lark,,", n, n%2)
		}
		for range rapid.IntRange(1, 4).Draw(t, "lines") {
			rows = append(rows, fmt.Sprintf("%s,%s,%d", own, rapid.SampledFrom(parts).Draw(t, "part"), rapid.IntRange(1, 3).Draw(t, "cost")))
		}
	}
	return "ticket,shop,opened,model,outcome,fault,part,unit_cost", rows
}

// state is all that a history says, without the numbers it gave.
func state(t testing.TB, dir string) map[string][]string {
	return map[string][]string{
		"visits":     table(t, dir, "visits", visitColumns),
		"faults":     table(t, dir, "faults", "ticket, shop, component, basis"),
		"parts":      table(t, dir, "parts", "ticket, shop, component, unit_cost"),
		"quarantine": slices.Compact(table(t, dir, "quarantine", "reason, found, raw")),
	}
}

// The order of the rows, how they are spread over files, the size of the chunks, the memory for
// rows held back and the number of workers change nothing, nor does ingesting twice.
func TestArrangementChangesNothing(t *testing.T) {
	if err := flag.Set("rapid.checks", "15"); err != nil { // three ingests each
		t.Fatal(err)
	}
	base := t.TempDir()
	count := 0
	fresh := func() string {
		count++
		return filepath.Join(base, fmt.Sprint(count))
	}
	rapid.Check(t, func(r *rapid.T) {
		header, rows := madeLog(r)
		put := func(rows []string) string {
			path := fresh() + ".csv"
			if err := os.WriteFile(path, []byte(header+"\n"+strings.Join(rows, "\n")+"\n"), 0o600); err != nil {
				r.Fatal(err)
			}
			return path
		}
		one := fresh()
		first := ingest(t, one, Options{}, put(rows))
		want := state(t, one)
		mixed := slices.Clone(rows)
		rand.New(rand.NewPCG(rapid.Uint64().Draw(r, "shuffle"), 0)).Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
		cut := rapid.IntRange(0, len(mixed)).Draw(r, "cut")
		logs := []string{put(mixed)}
		if cut > 0 && cut < len(mixed) {
			logs = []string{put(mixed[:cut]), put(mixed[cut:])}
		}
		opt := Options{ChunkBytes: rapid.IntRange(1, 400).Draw(r, "chunk"), HoldBytes: rapid.Int64Range(1, 1000).Draw(r, "hold"), Workers: rapid.IntRange(1, 3).Draw(r, "workers")}
		two := fresh()
		sum := ingest(t, two, opt, logs...)
		if sum.Visits != first.Visits || sum.Faults != first.Faults || sum.Parts != first.Parts {
			r.Errorf("totals %+v, want %+v", sum, first)
		}
		for name, got := range state(t, two) {
			if !slices.Equal(got, want[name]) {
				r.Errorf("%s:\n%s\nwant\n%s", name, strings.Join(got, "\n"), strings.Join(want[name], "\n"))
			}
		}
		// the same rows arranged anew are nothing new
		again := ingest(t, two, Options{}, put(append(slices.Clone(mixed), "", "")))
		if again.New != 0 || again.Replaced != 0 || again.Quarantined != sum.Quarantined && len(logs) == 1 {
			r.Errorf("again: %+v", again)
		}
	})
}

// The segments a log gives depend on the log, not on the machine or its mood.
func TestSegmentsAreDeterministic(t *testing.T) {
	var b strings.Builder
	b.WriteString("ticket,opened,model,part,pad\n")
	for i := range 2000 {
		fmt.Fprintf(&b, "%d,2026-01-%02d,Lark %d,display,%060d\n", i%1900, 1+i%28, i%7, i)
	}
	log := write(t, "log.csv", b.String())
	var want []string
	for _, workers := range []int{1, 2, 3} {
		dir := t.TempDir()
		ingest(t, dir, Options{Workers: workers, ChunkBytes: 4096}, log)
		got := table(t, dir, "visits", "visit, ticket, model")
		if want == nil {
			want = got
		}
		same(t, fmt.Sprintf("%d workers", workers), got, want)
	}
}
