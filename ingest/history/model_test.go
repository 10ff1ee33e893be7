package history

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"faultgrain/ingest/history/historytest"

	"pgregory.net/rapid"
)

// A shadow is the history as a map: what any order of ingests, compactions and lost indexes must come to.
type shadow struct {
	lines   map[string]string         // ticket -> line as current prints it
	refused map[string]map[string]int // key -> raw rows of the latest ingest
	sources []string
}

func (s *shadow) want() []string { return slices.Sorted(maps.Values(s.lines)) }

func TestHistoryFollowsItsShadow(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		dir := filepath.Join(historytest.MemoryDir(t), "h")
		s := &shadow{lines: map[string]string{}, refused: map[string]map[string]int{}}
		for range rapid.IntRange(1, 14).Draw(rt, "steps") {
			switch rapid.IntRange(0, 9).Draw(rt, "step") {
			case 0:
				if _, err := Compact(t.Context(), dir, nil); err != nil && len(s.sources) > 0 {
					rt.Fatal(err)
				}
			case 1:
				loseIndex(rt, dir)
			case 2:
				tx := begin(t, dir)
				ingestDraw(rt, t, tx, nil)
				tx.Rollback()
			default:
				tx := begin(t, dir)
				ingestDraw(rt, t, tx, s)
				name := fmt.Sprint("log ", len(s.sources))
				commit(t, tx, SourceRecord{SHA256: name, Name: name})
				s.sources = append(s.sources, name)
			}
			if len(s.sources) == 0 {
				continue
			}
			if got := current(t, dir); !slices.Equal(got, s.want()) {
				rt.Fatalf("got  %q\nwant %q", got, s.want())
			}
			checkRefusals(rt, t, dir, s)
			if problems, err := Verify(t.Context(), dir); err != nil || len(problems) > 0 && problems[0].What != Missing {
				rt.Fatalf("verify: %v, %v", problems, err)
			}
		}
	})
}

// ingestDraw writes drawn tickets and refusals to up to three segments, and to the shadow when there is one.
func ingestDraw(rt *rapid.T, t *testing.T, tx *Tx, s *shadow) {
	var segments []*Segment
	for range rapid.IntRange(1, 3).Draw(rt, "segments") {
		segments = append(segments, segment(t, tx))
	}
	tickets := rapid.SliceOfNDistinct(rapid.IntRange(1, 12), 0, 8, rapid.ID[int]).Draw(rt, "tickets")
	for _, n := range tickets {
		l := ticketLine{ticket: fmt.Sprint(n), model: rapid.SampledFrom([]string{"Lark 7", "Lark 8"}).Draw(rt, "model"),
			faults: rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"battery", "display", "touch"}), 0, 2, rapid.ID[string]).Draw(rt, "faults"),
			parts:  rapid.SliceOfN(rapid.SampledFrom([]string{"battery", "display"}), 0, 2).Draw(rt, "parts")}
		put(t, tx, rapid.SampledFrom(segments).Draw(rt, "into"), l)
		if s == nil {
			continue
		}
		line := []string{l.ticket, l.model, ""}
		for _, f := range l.faults {
			line = append(line, "faults "+l.ticket+" "+f)
		}
		for _, p := range slices.Sorted(slices.Values(l.parts)) {
			line = append(line, "parts "+l.ticket+" "+p)
		}
		s.lines[l.ticket] = strings.Join(line, "|")
		delete(s.refused, "ticket "+l.ticket)
	}
	fresh := map[string]map[string]int{}
	for range rapid.IntRange(0, 4).Draw(rt, "refusals") {
		q := Refusal{File: "log.csv", Line: 1, Reason: "missing", Raw: rapid.SampledFrom([]string{"a", "b"}).Draw(rt, "raw")}
		key := "content " + q.Raw
		if n := rapid.IntRange(0, 12).Draw(rt, "refused ticket"); n > 0 {
			q.HasTicket, q.Ticket = true, tx.TicketHash(nil, []byte(fmt.Sprint(n)))
			key = fmt.Sprint("ticket ", n)
		}
		if err := segments[0].AppendRefusal(&q); err != nil {
			rt.Fatal(err)
		}
		if fresh[key] == nil {
			fresh[key] = map[string]int{}
		}
		fresh[key][q.Raw]++
	}
	if s != nil {
		maps.Copy(s.refused, fresh)
	}
}

func checkRefusals(rt *rapid.T, t *testing.T, dir string, s *shadow) {
	h, err := Open(dir)
	if err != nil {
		rt.Fatal(err)
	}
	got, want := map[string]int{}, map[string]int{}
	if err := h.Refusals(t.Context(), func(q *Refusal) error { got[q.Raw]++; return nil }); err != nil {
		rt.Fatal(err)
	}
	for _, raws := range s.refused {
		for raw, n := range raws {
			want[raw] += n
		}
	}
	if !maps.Equal(got, want) {
		rt.Fatalf("quarantine %v, want %v", got, want)
	}
}

// loseIndex deletes or damages an index file; the next ingest must count it anew.
func loseIndex(rt *rapid.T, dir string) {
	found, err := filepath.Glob(filepath.Join(dir, indexDir, "*.idx"))
	if err != nil || len(found) == 0 {
		return
	}
	if err := os.Remove(rapid.SampledFrom(found).Draw(rt, "lost index")); err != nil {
		rt.Fatal(err)
	}
}
