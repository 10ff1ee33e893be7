// Package tallytest writes small histories for tests of the question packages.
//
// In: visits as Go values. Out: a history folder as ingest leaves it, or a Log opened on it.
// It refuses to be used outside tests.
package tallytest

import (
	"cmp"
	"fmt"
	"hash/fnv"
	"slices"
	"testing"
	"time"

	"faultgrain/analysis/tally"
	"faultgrain/ingest/history"
	"faultgrain/schemas"
)

// A Visit is one ticket with its faults and part lines. Empty means unknown; Opened and Model are needed.
// Times are instants; use UTC unless the test is about zones.
type Visit struct {
	Ticket, Shop                         string // no Ticket: numbered by place
	Opened, Ready, Collected             time.Time
	Outcome, Class, Maker, Family, Model string
	Device                               string // any text; the same text is the same device
	MadeWeek, SerialPrefix               string
	Minutes, Charge                      schemas.Float
	Currency                             string
	Unread                               bool
	Faults                               []string // component ids; basis found
	Parts                                []Part
}

// A Part is one part line. It makes no fault: name its component in Faults, too.
type Part = history.Part

// A Segment is what one ingest adds. A visit with the shop and ticket of an earlier segment replaces it.
type Segment struct {
	Visits  []Visit
	Quality []schemas.QualityRow
}

// Open writes visits as a history of one segment and opens it.
func Open(tb testing.TB, visits []Visit, opt tally.Options) *tally.Log {
	tb.Helper()
	return OpenDir(tb, History(tb, Segment{Visits: visits}), opt)
}

// OpenDir opens a history folder and closes it when the test ends.
func OpenDir(tb testing.TB, dir string, opt tally.Options) *tally.Log {
	tb.Helper()
	log, err := tally.Open(tb.Context(), dir, opt)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() {
		if err := log.Close(); err != nil {
			tb.Error(err)
		}
	})
	return log
}

// History writes a history folder, one ingest per segment, and returns its name.
func History(tb testing.TB, segments ...Segment) string {
	tb.Helper()
	dir := tb.TempDir()
	for i, s := range segments {
		if err := s.write(tb, dir, i+1); err != nil {
			tb.Fatal(err)
		}
	}
	return dir
}

func (s Segment) write(tb testing.TB, dir string, number int) error {
	ctx := tb.Context()
	tx, err := history.Begin(ctx, dir, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	seg, err := tx.NewSegment()
	if err != nil {
		return err
	}
	for i, v := range s.Visits {
		if v.Ticket == "" {
			v.Ticket = fmt.Sprintf("%d-%d", number, i)
		}
		if err := v.write(tx, seg); err != nil {
			return fmt.Errorf("visit %d: %w", i, err)
		}
	}
	for _, q := range s.Quality {
		if err := seg.AppendQuality(history.Quality{Topic: q.Topic, Subject: q.Subject, Count: int64(q.Count), Note: q.Note}); err != nil {
			return err
		}
	}
	n := int64(len(s.Visits))
	return tx.Commit(ctx, []history.SourceRecord{{SHA256: fmt.Sprintf("%064x", number), Name: "log.csv", Read: n, Accepted: n}})
}

func (v *Visit) write(tx *history.Tx, seg *history.Segment) error {
	hash := tx.TicketHash([]byte(v.Shop), []byte(v.Ticket))
	before, found, err := tx.Lookup(hash)
	if err != nil {
		return err
	}
	if found {
		if err := seg.Retire(before); err != nil {
			return err
		}
	}
	var sum history.Found
	for _, c := range slices.Sorted(slices.Values(v.Faults)) {
		sum.Add(c, schemas.BasisFound, c == "liquid" || c == "drop")
	}
	digest := fnv.New64a()
	fmt.Fprintf(digest, "%+v", *v)
	visit := history.Visit{
		Ticket: v.Ticket, Shop: v.Shop, Opened: v.Opened.UnixMicro(),
		Ready: v.Ready.UnixMicro(), HasReady: !v.Ready.IsZero(),
		Collected: v.Collected.UnixMicro(), HasCollected: !v.Collected.IsZero(),
		Outcome: v.Outcome, Maker: v.Maker, Family: v.Family, Model: v.Model, Class: v.Class,
		Device: tx.DeviceKey(v.Device), MadeWeek: v.MadeWeek, SerialPrefix: v.SerialPrefix,
		BenchMinutes: v.Minutes, Charge: v.Charge, Currency: v.Currency, Unread: v.Unread, Found: sum,
		PartsCost: history.CostOf(v.Parts, v.Currency),
	}
	number, err := seg.AppendVisit(&visit, hash, digest.Sum64())
	if err != nil {
		return err
	}
	for _, c := range v.Faults {
		if err := seg.AppendFault(number, v.Ticket, v.Shop, c, schemas.BasisFound); err != nil {
			return err
		}
	}
	lines := slices.Clone(v.Parts)
	slices.SortStableFunc(lines, func(a, b Part) int { return cmp.Compare(a.Component, b.Component) })
	return seg.AppendParts(number, &visit, lines)
}
