package history

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"faultgrain/ingest/history/historytest"
	"faultgrain/schemas"

	"golang.org/x/sync/errgroup"
)

// ticketLine is a visit as tests compare it.
type ticketLine struct {
	ticket, model, note string
	faults, parts       []string
}

// begin opens a transaction that is rolled back when the test ends without a commit.
func begin(t testing.TB, dir string) *Tx {
	t.Helper()
	tx, err := Begin(t.Context(), dir, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(tx.Rollback)
	return tx
}

func commit(t testing.TB, tx *Tx, sources ...SourceRecord) {
	t.Helper()
	if err := tx.Commit(t.Context(), sources); err != nil {
		t.Fatal(err)
	}
}

func segment(t testing.TB, tx *Tx) *Segment {
	t.Helper()
	s, err := tx.NewSegment()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// put writes a ticket as ingest would: unchanged ones are left alone, older versions retired. It says whether it wrote.
func put(t testing.TB, tx *Tx, s *Segment, l ticketLine) bool {
	t.Helper()
	before := s.Rows()
	if err := putErr(tx, s, l); err != nil {
		t.Fatal(err)
	}
	return s.Rows() > before
}

func putErr(tx *Tx, s *Segment, l ticketLine) error {
	hash := tx.TicketHash(nil, []byte(l.ticket))
	digest := contentKey(l.model, l.note, fmt.Sprint(l.faults, l.parts))
	old, seen, err := tx.Lookup(hash)
	if seen && old.Digest != 0 && old.Raw != ^old.Digest {
		return fmt.Errorf("ticket %s: raw %x with digest %x", l.ticket, old.Raw, old.Digest)
	}
	if err != nil || seen && old.Digest == digest {
		return err
	}
	if seen {
		if err := s.Retire(old); err != nil {
			return err
		}
	}
	v := Visit{Ticket: l.ticket, Opened: 1_700_000_000_000_000, Model: l.model, Family: l.note, Raw: ^digest}
	number, err := s.AppendVisit(&v, hash, digest)
	if err != nil {
		return err
	}
	for _, f := range l.faults {
		if err := s.AppendFault(number, l.ticket, "", f, schemas.BasisFound); err != nil {
			return err
		}
	}
	var lines []Part
	for _, p := range slices.Sorted(slices.Values(l.parts)) {
		lines = append(lines, Part{Component: p, Quantity: schemas.Known(1)})
	}
	return s.AppendParts(number, &v, lines)
}

// current reads the current tickets back, one line each, sorted.
func current(t testing.TB, dir string) []string {
	t.Helper()
	lines, err := currentLines(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	return lines
}

func currentLines(ctx context.Context, dir string) ([]string, error) {
	h, err := Open(dir)
	if err != nil {
		return nil, err
	}
	retired := map[int64]bool{}
	for _, f := range h.Files(ReplacedTable) {
		err := scan(ctx, f, []string{"visit"}, func(rows int, c []cells) error {
			for i := range rows {
				if c[0].has(i) {
					retired[c[0].longs[i]] = true
				}
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	about := map[int64][]string{}
	for _, table := range []string{FaultsTable, PartsTable} {
		for _, f := range h.Files(table) {
			err := scan(ctx, f, []string{"visit", "ticket", "component"}, func(rows int, c []cells) error {
				for i := range rows {
					about[c[0].longs[i]] = append(about[c[0].longs[i]], table+" "+c[1].text(i)+" "+c[2].text(i))
				}
				return nil
			})
			if err != nil {
				return nil, err
			}
		}
	}
	var lines []string
	var totals Totals
	for _, f := range h.Files(VisitsTable) {
		err := scan(ctx, f, []string{"visit", "ticket", "model", "family"}, func(rows int, c []cells) error {
			for i := range rows {
				n := c[0].longs[i]
				if retired[n] {
					continue
				}
				totals.Visits++
				for _, a := range about[n] {
					if strings.HasPrefix(a, FaultsTable) {
						totals.Faults++
					} else {
						totals.Parts++
					}
				}
				lines = append(lines, strings.Join(append([]string{c[1].text(i), c[2].text(i), c[3].text(i)}, about[n]...), "|"))
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	if err := h.Refusals(ctx, func(q *Refusal) error { totals.Quarantined++; return nil }); err != nil {
		return nil, err
	}
	if totals != h.Totals() {
		return nil, fmt.Errorf("manifest says %+v, the tables hold %+v", h.Totals(), totals)
	}
	slices.Sort(lines)
	return lines, nil
}

func TestWriteAndReplace(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "shop", "history")
	tx := begin(t, dir)
	s := segment(t, tx)
	put(t, tx, s, ticketLine{ticket: "1", model: "Lark 7", faults: []string{"battery"}, parts: []string{"battery"}})
	put(t, tx, s, ticketLine{ticket: "2", model: "Lark 8"})
	commit(t, tx, SourceRecord{SHA256: "aa", Name: "may.csv", Read: 2, Accepted: 2})

	tx = begin(t, dir)
	if _, ok := tx.Source("aa"); !ok {
		t.Error("the source is not known")
	}
	if _, ok := tx.Source("bb"); ok {
		t.Error("a source that was never read is known")
	}
	s = segment(t, tx)
	if put(t, tx, s, ticketLine{ticket: "2", model: "Lark 8"}) {
		t.Error("an unchanged ticket was written again")
	}
	put(t, tx, s, ticketLine{ticket: "1", model: "Lark 7", faults: []string{"battery", "display"}})
	put(t, tx, s, ticketLine{ticket: "3", model: "Lark 7"})
	commit(t, tx, SourceRecord{SHA256: "bb", Name: "june.csv"})

	want := []string{"1|Lark 7||faults 1 battery|faults 1 display", "2|Lark 8|", "3|Lark 7|"}
	if got := current(t, dir); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	h, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if !h.Retired() {
		t.Error("Retired is false after a replacement")
	}
	left, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range left {
		if e.Name() == lockName || strings.HasPrefix(e.Name(), tempPrefix) {
			t.Errorf("%s was left behind", e.Name())
		}
	}
}

func TestRollbackLeavesNothing(t *testing.T) {
	root := t.TempDir()
	dir := filepath.Join(root, "a", "history")
	tx := begin(t, dir)
	put(t, tx, segment(t, tx), ticketLine{ticket: "1", model: "Lark 7"})
	tx.Rollback()
	if _, err := os.Stat(filepath.Join(root, "a")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the folder was left behind: %v", err)
	}
	if _, err := Open(dir); !errors.Is(err, ErrNoHistory) {
		t.Errorf("got %v, want ErrNoHistory", err)
	}
}

// Every kind of cell, null and not, over more rows than one row group and with words that outgrow the dictionary.
func TestCellsComeBack(t *testing.T) {
	dir := t.TempDir()
	tx := begin(t, dir)
	s := segment(t, tx)
	const n = rowGroup + 1000
	long := strings.Repeat("x", 60)
	visit := func(i int) *Visit {
		v := &Visit{Ticket: fmt.Sprint("T", i), Opened: int64(i) * 1e6, Model: fmt.Sprint("Lark ", i%7), Unread: i%3 == 0}
		if i%2 == 0 {
			v.HasReady, v.Ready = true, int64(i)
			v.Device = tx.DeviceKey(fmt.Sprint("serial", i))
			v.Charge = schemas.Known(float64(i) / 4)
			v.Family = fmt.Sprint(long, i) // distinct: too many for a dictionary
			v.Outcome = schemas.Repaired
		}
		return v
	}
	for i := range n {
		if _, err := s.AppendVisit(visit(i), uint64(i), 1); err != nil {
			t.Fatal(err)
		}
	}
	commit(t, tx)
	h, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	row := 0
	names := []string{"ticket", "opened", "ready", "model", "device_key", "charge", "family", "outcome", "unread", "visit", "collected"}
	err = scan(t.Context(), h.Files(VisitsTable)[0], names, func(rows int, c []cells) error {
		for i := range rows {
			v := visit(row)
			key := Key{}
			copy(key[:], c[4].texts[i])
			if c[0].text(i) != v.Ticket || c[1].longs[i] != v.Opened || c[2].has(i) != v.HasReady || c[2].longs[i] != v.Ready ||
				c[3].text(i) != v.Model || key != v.Device || c[5].has(i) != v.Charge.OK || c[5].doubles[i] != v.Charge.V ||
				c[6].text(i) != v.Family || c[6].has(i) != (v.Family != "") || c[7].text(i) != v.Outcome ||
				c[8].bools[i] != v.Unread || c[9].longs[i] != visitNumber(1, int64(row)) || c[10].has(i) {
				return fmt.Errorf("row %d came back otherwise", row)
			}
			row++
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if row != n {
		t.Errorf("%d rows, want %d", row, n)
	}
}

// Segments are written side by side while others look tickets up; run with -race.
func TestSegmentsSideBySide(t *testing.T) {
	dir := historytest.MemoryDir(t)
	tx := begin(t, dir)
	first := segment(t, tx)
	put(t, tx, first, ticketLine{ticket: "w0-5", model: "Lark 1"})
	if err := first.AppendRefusal(&Refusal{Reason: "missing", Ticket: tx.TicketHash(nil, []byte("w1-7")), HasTicket: true}); err != nil {
		t.Fatal(err)
	}
	commit(t, tx)

	tx = begin(t, dir)
	var g errgroup.Group
	for w := range 4 {
		g.Go(func() error {
			s, err := tx.NewSegment()
			if err != nil {
				return err
			}
			for i := range 300 {
				l := ticketLine{ticket: fmt.Sprintf("w%d-%d", w, i), model: "Lark 2", faults: []string{"battery"}}
				if err := putErr(tx, s, l); err != nil {
					return err
				}
				if err := s.AppendRefusal(&Refusal{Reason: "bad-date", Raw: l.ticket}); err != nil {
					return err
				}
			}
			return s.Close()
		})
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
	commit(t, tx)
	if got := current(t, dir); len(got) != 1200 {
		t.Errorf("%d tickets, want 1200", len(got))
	}
	h, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if want := (Totals{Visits: 1200, Faults: 1200, Quarantined: 1200}); h.Totals() != want {
		t.Errorf("got %+v, want %+v", h.Totals(), want)
	}
}
