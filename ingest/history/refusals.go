package history

import (
	"context"
	"path/filepath"

	"github.com/zeebo/xxh3"
)

// Quarantined rows are never rewritten; which of them still count follows from later ingests. Rows go by a key, their ticket's
// hash or, without a ticket, their content. Of one key only the rows of the latest ingest count that either quarantined
// rows of the key again or carried its ticket.

func (q *Refusal) key() uint64 {
	if q.HasTicket {
		return q.Ticket
	}
	return contentKey(q.Column, q.Reason, q.Raw)
}

func contentKey(column, reason, raw string) uint64 {
	return xxh3.HashStringSeed(raw, xxh3.HashStringSeed(reason, xxh3.HashString(column)))
}

// latest is the newest ingest with rows of a key, and how many.
type latest struct {
	ingest  int
	rows    int64
	carried int // the newest ingest that carried the ticket
}

// current says whether rows that an ingest quarantined still count.
func (l latest) current(ingest int) bool { return ingest == l.ingest && ingest >= l.carried }

func latestRefusals(ctx context.Context, dir string, m *Manifest) (map[uint64]latest, error) {
	keys := map[uint64]latest{}
	for _, s := range m.Segments {
		if _, ok := s.Files[QuarantineTable]; !ok {
			continue
		}
		path := filepath.Join(dir, filepath.FromSlash(segmentFile(QuarantineTable, s.Number)))
		err := scan(ctx, path, []string{"ticket_hash", "column", "reason", "raw"}, func(rows int, c []cells) error {
			for i := range rows {
				key := uint64(c[0].longs[i])
				if !c[0].has(i) {
					key = contentKey(c[1].text(i), c[2].text(i), c[3].text(i))
				}
				l := keys[key]
				switch {
				case s.Ingest > l.ingest:
					keys[key] = latest{ingest: s.Ingest, rows: 1}
				case s.Ingest == l.ingest:
					l.rows++
					keys[key] = l
				}
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	if len(keys) == 0 {
		return keys, nil
	}
	for _, s := range m.Segments {
		if _, ok := s.Files[ReplacedTable]; !ok {
			continue
		}
		path := filepath.Join(dir, filepath.FromSlash(segmentFile(ReplacedTable, s.Number)))
		err := scan(ctx, path, []string{"ticket_hash"}, func(rows int, c []cells) error {
			for i := range rows {
				if !c[0].has(i) {
					continue
				}
				key := uint64(c[0].longs[i])
				if l, ok := keys[key]; ok && s.Ingest > l.carried {
					l.carried = s.Ingest
					keys[key] = l
				}
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return keys, nil
}

// currentRefusals counts the quarantined rows that still count, by key.
func currentRefusals(ctx context.Context, dir string, m *Manifest) (map[uint64]int64, error) {
	keys, err := latestRefusals(ctx, dir, m)
	if err != nil {
		return nil, err
	}
	counts := map[uint64]int64{}
	for k, l := range keys {
		if l.current(l.ingest) {
			counts[k] = l.rows
		}
	}
	return counts, nil
}
