package history

import (
	"context"
	"path/filepath"
	"slices"
)

// Known tells whether a log with this content hash was ingested before and what became of it is still whole: its segments are hashed
// again, each once a transaction. Segments that are damaged or missing are given up then, so that ingesting the log again brings its tickets back; other
// logs whose rows they held are listed as lost, and Verify names them. Call it before the first Lookup.
func (tx *Tx) Known(ctx context.Context, sha string) (SourceRecord, bool, error) {
	rec, ok := tx.base.source(sha)
	if !ok {
		return rec, false, nil
	}
	bad := map[int]bool{}
	for _, s := range tx.base.Segments {
		if tx.sound[s.Number] || !slices.Contains(s.Sources, sha) {
			continue
		}
		problems, err := checkSegment(ctx, tx.dir, s)
		if err != nil {
			return rec, false, err
		}
		for _, p := range problems {
			tx.log.Warn("giving up a damaged segment", "file", p.File, "what", p.What)
			bad[s.Number] = true
		}
		tx.sound[s.Number] = !bad[s.Number]
	}
	if len(bad) == 0 {
		return rec, true, nil
	}
	return rec, false, tx.giveUp(ctx, bad)
}

// giveUp goes on without the bad segments: their sources are lost until they are ingested again, and index and totals are
// counted anew from what is left.
func (tx *Tx) giveUp(ctx context.Context, bad map[int]bool) error {
	m := tx.base.clone()
	gone := map[string]bool{}
	for _, s := range m.Segments {
		if !bad[s.Number] {
			continue
		}
		for _, sha := range s.Sources {
			gone[sha] = true
		}
		for _, t := range Tables() {
			if _, ok := s.Files[t]; ok {
				m.Dropped = append(m.Dropped, segmentFile(t, s.Number))
			}
		}
	}
	m.Segments = slices.DeleteFunc(m.Segments, func(s SegmentRecord) bool { return bad[s.Number] })
	for _, r := range m.Sources {
		if gone[r.SHA256] && !slices.ContainsFunc(m.Lost, func(l SourceRecord) bool { return l.SHA256 == r.SHA256 }) {
			m.Lost = append(m.Lost, r)
		}
	}
	m.Sources = slices.DeleteFunc(m.Sources, func(r SourceRecord) bool { return gone[r.SHA256] })
	return tx.rebuild(ctx, m)
}

// rebuild makes m the base of the transaction, with an index and totals counted from its tables.
func (tx *Tx) rebuild(ctx context.Context, m *Manifest) error {
	c, err := recount(ctx, tx.dir, m, tx.secret)
	if err != nil {
		return err
	}
	for _, x := range m.Indexes {
		m.Dropped = append(m.Dropped, indexDir+"/"+x.Name)
	}
	for _, x := range tx.indexes {
		x.close()
	}
	m.Indexes, tx.indexes, tx.rebuilt = nil, nil, true
	m.Totals = c.totals
	for i := range m.Segments {
		m.Segments[i].Retired = c.retired[m.Segments[i].Number]
	}
	tx.superseded = c.superseded
	if tx.refused, err = currentRefusals(ctx, tx.dir, m); err != nil {
		return err
	}
	tx.base = m
	if len(c.entries) == 0 {
		return nil
	}
	runPath := filepath.Join(tx.temp, "rebuilt-run")
	if err := removeIfThere(runPath); err != nil {
		return err
	}
	if err := writeRun(runPath, c.entries, tx.wrap); err != nil {
		return explain(err)
	}
	r, err := openRun(runPath, 0, int64(len(c.entries)), 0)
	if err != nil {
		return err
	}
	defer func() { _ = r.c.Close() }() // only read
	path := filepath.Join(tx.temp, "rebuilt.idx")
	if err := removeIfThere(path); err != nil {
		return err
	}
	rec, err := writeIndex(path, []*run{r}, tx.wrap, tx.settle)
	if err != nil {
		return explain(err)
	}
	x, err := openIndex(path, rec, rec.Bytes <= maxIndexInMemory)
	if err != nil {
		return err
	}
	tx.indexes = []*index{x}
	return nil
}
