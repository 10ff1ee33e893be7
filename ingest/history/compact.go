package history

import (
	"context"
	"log/slog"
	"maps"
	"path/filepath"
	"slices"

	"faultgrain/schemas"
)

const (
	smallSegment = 128 * 1024 // visits; as many of these as manySegments are merged
	manySegments = 8
	staleShare   = 4 // a segment with one in so many visits retired is rewritten
	fullSegment  = 1 << 20
)

// Compact rewrites segments in which many visits are retired, and merges small ones when there are many, so that a history fed
// with monthly full exports stays as fast as one fed once. It does nothing when there is little to gain, and says whether it did.
// What the history says stays the same; visit numbers change. It is a transaction like an ingest.
func Compact(ctx context.Context, dir string, log *slog.Logger) (bool, error) {
	h, err := Open(dir)
	if err != nil || len(h.Manifest.worn()) == 0 {
		return false, err
	}
	tx, err := Begin(ctx, dir, log)
	if err != nil {
		return false, err
	}
	defer tx.Rollback()
	c := &compaction{tx: tx, worn: tx.base.worn()}
	if tx.rebuilt || len(c.worn) == 0 {
		return false, nil // digests are unknown, or someone was faster
	}
	if err := c.rewrite(ctx); err != nil {
		return false, explain(err)
	}
	tx.compacting = c
	return true, tx.Commit(ctx, nil)
}

// worn picks the segments that are worth rewriting.
func (m *Manifest) worn() map[int]bool {
	stale, small := map[int]bool{}, map[int]bool{}
	for _, s := range m.Segments {
		switch rows := s.Files[VisitsTable].Rows; {
		case rows < smallSegment:
			small[s.Number] = true
		case s.Retired*staleShare >= rows:
			stale[s.Number] = true
		}
	}
	if len(small) >= manySegments {
		maps.Copy(stale, small)
	}
	return stale
}

// A compaction copies the current rows of worn segments into new ones. Quarantine and replaced rows, which are few, are
// gathered from all segments, since they speak of rows in others and go by the number of their ingest.
type compaction struct {
	tx   *Tx
	worn map[int]bool
	out  *Segment
}

func (c *compaction) rewrite(ctx context.Context) error {
	dead, err := retiredVisits(ctx, c.tx.dir, c.tx.base)
	if err != nil {
		return err
	}
	if c.out, err = c.tx.NewSegment(); err != nil {
		return err
	}
	for _, s := range c.tx.base.Segments {
		if !c.worn[s.Number] {
			continue
		}
		if c.out.Rows() >= fullSegment {
			if err := c.out.Close(); err != nil {
				return err
			}
			if c.out, err = c.tx.NewSegment(); err != nil {
				return err
			}
		}
		if err := c.copySegment(ctx, s, dead); err != nil {
			return err
		}
	}
	if err := c.copyQuality(ctx); err != nil {
		return err
	}
	if err := c.gatherRetired(dead); err != nil {
		return err
	}
	return (&History{Dir: c.tx.dir, Manifest: c.tx.base}).Refusals(ctx, func(q *Refusal) error {
		return c.out.refusals.add(q)
	})
}

func (c *compaction) path(table string, number int) string {
	return filepath.Join(c.tx.dir, filepath.FromSlash(segmentFile(table, number)))
}

// copySegment copies the current visits of one segment and what belongs to them.
func (c *compaction) copySegment(ctx context.Context, s SegmentRecord, dead map[int64]struct{}) error {
	moved := make([]int64, s.Files[VisitsTable].Rows) // new number by old row; 0 when the visit is not copied
	names := []string{"visit", "ticket", "shop", "opened", "ready", "collected", "outcome", "maker", "family", "model", "class", "device_key",
		"made_week", "serial_prefix", "bench_minutes", "charge", "currency", "technician_key", "unread", "noted", "faults", "components", "component", "component_b", "by_text", "parts_cost"}
	err := scan(ctx, c.path(VisitsTable, s.Number), names, func(rows int, f []cells) error {
		for i := range rows {
			old := f[0].longs[i]
			if _, gone := dead[old]; gone {
				continue
			}
			v := Visit{Ticket: f[1].text(i), Shop: f[2].text(i), Opened: f[3].longs[i],
				Ready: f[4].longs[i], HasReady: f[4].has(i), Collected: f[5].longs[i], HasCollected: f[5].has(i),
				Outcome: f[6].text(i), Maker: f[7].text(i), Family: f[8].text(i), Model: f[9].text(i), Class: f[10].text(i),
				Device: f[11].key(i), MadeWeek: f[12].text(i), SerialPrefix: f[13].text(i),
				BenchMinutes: f[14].float(i), Charge: f[15].float(i), Currency: f[16].text(i), Technician: f[17].key(i), Unread: f[18].bools[i],
				Found:     Found{Faults: f[20].longs[i], Components: f[21].longs[i], First: f[22].text(i), Last: f[23].text(i), ByText: f[24].bools[i]},
				PartsCost: f[25].float(i)}
			if f[19].has(i) {
				v.Noted = f[19].longs[i]
			}
			hash := c.tx.TicketHash([]byte(v.Shop), []byte(v.Ticket))
			e, err := c.tx.find(hash)
			if err != nil {
				return err
			}
			var digest uint64
			if e.visit == old {
				digest, v.Raw = e.digest, e.raw
			}
			if moved[old&(1<<32-1)], err = c.out.appendVisit(&v, hash, digest); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	err = scan(ctx, c.path(FaultsTable, s.Number), []string{"visit", "ticket", "shop", "component", "basis"}, func(rows int, f []cells) error {
		for i := range rows {
			if to := moved[f[0].longs[i]&(1<<32-1)]; to != 0 {
				if err := c.out.AppendFault(to, f[1].text(i), f[2].text(i), f[3].text(i), f[4].text(i)); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	names = []string{"visit", "ticket", "shop", "component", "part_no", "supplier", "lot", "grade", "quantity", "unit_cost", "currency",
		"model", "opened", "mended", "has_device", "initial", "last", "single"}
	return scan(ctx, c.path(PartsTable, s.Number), names, func(rows int, f []cells) error {
		for i := range rows {
			to := moved[f[0].longs[i]&(1<<32-1)]
			if to == 0 {
				continue
			}
			p := usage{Part: Part{Component: f[3].text(i), PartNo: f[4].text(i), Supplier: f[5].text(i), Lot: f[6].text(i), Grade: f[7].text(i),
				Quantity: f[8].float(i), UnitCost: f[9].float(i), Currency: f[10].text(i)},
				model: f[11].text(i), opened: f[12].longs[i], mended: f[13].longs[i], hasMended: f[13].has(i),
				hasDevice: f[14].bools[i], initial: f[15].bools[i], last: f[16].bools[i], single: f[17].bools[i]}
			if err := c.out.appendPart(to, f[1].text(i), f[2].text(i), &p); err != nil {
				return err
			}
		}
		return nil
	})
}

func (c *cells) key(i int) (k Key) {
	copy(k[:], c.texts[i])
	return k
}

func (c *cells) float(i int) schemas.Float { return schemas.Float{V: c.doubles[i], OK: c.has(i)} }

// copyQuality copies what was noticed in the worn segments: of what is about visits one row each, of what is about logs
// all, for the latest in the whole history counts.
func (c *compaction) copyQuality(ctx context.Context) error {
	seen := map[Quality]bool{}
	for _, s := range c.tx.base.Segments {
		if _, ok := s.Files[QualityTable]; !ok || !c.worn[s.Number] {
			continue
		}
		err := scan(ctx, c.path(QualityTable, s.Number), []string{"topic", "subject", "count", "note", "ingest", "noted", "place"}, func(rows int, f []cells) error {
			for i := range rows {
				q := Quality{Topic: f[0].text(i), Subject: f[1].text(i), Count: f[2].longs[i], Note: f[3].text(i), ingest: f[4].longs[i], place: f[6].longs[i]}
				if f[5].has(i) {
					q.noted = f[5].longs[i]
				}
				once := q
				if once.ingest = 0; q.noted == 0 {
					once = q
				}
				if seen[once] {
					continue
				}
				seen[once] = true
				if err := c.out.appendQuality(&q); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// gatherRetired keeps the retirements of visits in segments that stay.
func (c *compaction) gatherRetired(dead map[int64]struct{}) error {
	var keep []int64
	for v := range dead {
		if !c.worn[segmentOf(v)] {
			keep = append(keep, v)
		}
	}
	slices.Sort(keep)
	for _, v := range keep {
		if err := c.out.replaced.retire(v); err != nil {
			return err
		}
	}
	return nil
}

// manifest takes the worn segments, and what was gathered from the others, out of m, to which the new segments were added.
func (c *compaction) manifest(m *Manifest) {
	m.Totals = c.tx.base.Totals
	var shas []string
	var kept []SegmentRecord
	for _, s := range c.tx.base.Segments {
		if c.worn[s.Number] {
			shas = append(shas, s.Sources...)
		}
	}
	for _, s := range m.Segments {
		isNew := s.Ingest == m.Ingests
		for _, t := range Tables() {
			gathered := t == QuarantineTable || t == ReplacedTable
			if _, ok := s.Files[t]; ok && !isNew && (gathered || c.worn[s.Number]) {
				m.Dropped = append(m.Dropped, segmentFile(t, s.Number))
				delete(s.Files, t)
			}
		}
		if isNew {
			s.Sources = sortedSet(shas)
		}
		if isNew || !c.worn[s.Number] {
			kept = append(kept, s)
		}
	}
	m.Segments = kept
}

func sortedSet(words []string) []string {
	words = slices.Clone(words)
	slices.Sort(words)
	return slices.Compact(words)
}
