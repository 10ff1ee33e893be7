package history

import (
	"context"
	"path/filepath"
	"slices"
)

// A History is what a reader sees: the files of one state of the manifest.
type History struct {
	Dir      string
	Manifest *Manifest
}

// Open reads the manifest in dir. It returns ErrNoHistory, wrapped, when there is none. It takes no lock: the files it names
// stay until a later compaction, which a reader that holds them open survives.
func Open(dir string) (*History, error) {
	m, err := loadManifest(dir)
	if err != nil {
		return nil, err
	}
	return &History{Dir: dir, Manifest: m}, nil
}

// Files lists the segments of a table, oldest first, as paths that start with the history's folder. Visits, faults and parts have a
// file in every segment, if only an empty one; the other tables may have none.
func (h *History) Files(table string) []string {
	var files []string
	for _, s := range h.Manifest.Segments {
		if _, ok := s.Files[table]; ok {
			files = append(files, h.path(table, s.Number))
		}
	}
	return files
}

func (h *History) path(table string, number int) string {
	return filepath.Join(h.Dir, filepath.FromSlash(segmentFile(table, number)))
}

// Retired says whether some visits are no longer the current version of their ticket: those whose number stands in the column
// visit of the files of ReplacedTable, null rows aside. When it is false every visit is current.
func (h *History) Retired() bool {
	return slices.ContainsFunc(h.Manifest.Segments, func(s SegmentRecord) bool { return s.Retired > 0 })
}

// Totals counts current rows.
func (h *History) Totals() Totals { return h.Manifest.Totals }

// Refusals calls fn for each quarantined row that still counts, oldest ingest first.
func (h *History) Refusals(ctx context.Context, fn func(*Refusal) error) error {
	keys, err := latestRefusals(ctx, h.Dir, h.Manifest)
	if err != nil {
		return err
	}
	names := []string{"source", "file", "line", "column", "reason", "found", "want", "raw", "ticket_hash"}
	for _, s := range h.Manifest.Segments {
		if _, ok := s.Files[QuarantineTable]; !ok {
			continue
		}
		err := scan(ctx, h.path(QuarantineTable, s.Number), names, func(rows int, c []cells) error {
			for i := range rows {
				q := &Refusal{Source: c[0].text(i), File: c[1].text(i), Line: c[2].longs[i], Column: c[3].text(i), Reason: c[4].text(i),
					Found: c[5].text(i), Want: c[6].text(i), Raw: c[7].text(i), Ticket: uint64(c[8].longs[i]), HasTicket: c[8].has(i)}
				if !keys[q.key()].current(s.Ingest) {
					continue
				}
				if err := fn(q); err != nil {
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
