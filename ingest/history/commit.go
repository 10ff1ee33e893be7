package history

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"

	"golang.org/x/sync/errgroup"
)

// Commit makes the segments and sources part of the history and ends the transaction. On an error, or when ctx is done before
// the files are in place, the history stays as it was; the transaction has ended then, too.
func (tx *Tx) Commit(ctx context.Context, sources []SourceRecord) error {
	if tx.ended {
		return errors.New("the transaction has ended")
	}
	if err := tx.commit(ctx, sources); err != nil {
		tx.Rollback()
		return explain(err)
	}
	tx.end()
	return nil
}

func (tx *Tx) commit(ctx context.Context, sources []SourceRecord) error {
	m, moves, err := tx.finish(ctx, sources)
	if err != nil {
		return err
	}
	return tx.publish(ctx, m, moves)
}

// finish closes the segments and returns the new manifest and where its new files go: place in the history -> file in the
// temp folder.
func (tx *Tx) finish(ctx context.Context, sources []SourceRecord) (*Manifest, map[string]string, error) {
	if err := tx.recordCleared(); err != nil {
		return nil, nil, err
	}
	for _, s := range tx.segments {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		if err := s.Close(); err != nil {
			return nil, nil, err
		}
	}
	m := tx.nextManifest(sources)
	if tx.compacting != nil {
		tx.compacting.manifest(m)
	}
	moves := map[string]string{}
	for _, s := range tx.segments {
		for i, t := range s.tables() {
			if _, ok := s.files[Tables()[i]]; ok {
				moves[segmentFile(Tables()[i], s.number)] = t.path
			}
		}
	}
	return m, moves, tx.indexCommit(m, moves)
}

// recordCleared writes which tickets of this ingest had quarantined rows in earlier ones, and which visits must be retired again.
func (tx *Tx) recordCleared() error {
	if len(tx.touched) == 0 && len(tx.superseded) == 0 {
		return nil
	}
	s, err := tx.NewSegment()
	if err != nil {
		return err
	}
	for _, k := range slices.Sorted(maps.Keys(tx.touched)) {
		if err := s.replaced.clear(k); err != nil {
			return err
		}
	}
	for _, v := range tx.superseded {
		if err := s.replaced.retire(v); err != nil {
			return err
		}
	}
	return nil
}

// nextManifest is the manifest with this transaction's segments and sources, indexes still to be added.
func (tx *Tx) nextManifest(sources []SourceRecord) *Manifest {
	m := tx.base.clone()
	m.KeyCheck = tx.secret.check()
	m.Ingests++
	if !tx.rebuilt {
		m.Dropped = nil // Begin has seen to them
	}
	var shas []string
	for _, r := range sources {
		r.Ingest = m.Ingests
		shas = append(shas, r.SHA256)
		m.Sources = append(m.Sources, r)
		m.Lost = slices.DeleteFunc(m.Lost, func(l SourceRecord) bool { return l.SHA256 == r.SHA256 })
	}
	for _, s := range tx.segments {
		if len(s.files) == 0 {
			continue
		}
		m.Segments = append(m.Segments, SegmentRecord{Number: s.number, Ingest: m.Ingests, Files: s.files, Sources: shas})
		m.Next = s.number + 1
		m.Totals.Visits += s.files[VisitsTable].Rows - s.lost.Visits
		m.Totals.Faults += s.files[FaultsTable].Rows - s.lost.Faults
		m.Totals.Parts += s.files[PartsTable].Rows - s.lost.Parts
		for number, n := range s.retired {
			if old := m.segment(number); old != nil {
				old.Retired += n
			}
		}
	}
	m.Totals.Quarantined += tx.refusals
	for k := range tx.touched {
		m.Totals.Quarantined -= tx.refused[k]
	}
	return m
}

// indexCommit merges the segments' runs into one index file, and with it the earlier ones that are not much larger, so that
// a history of many ingests has few.
func (tx *Tx) indexCommit(m *Manifest, moves map[string]string) error {
	var size int64
	for _, s := range tx.segments {
		size += s.indexed
	}
	from, keep := m.Ingests, len(m.Indexes)
	merge := tx.indexes // newest first; those that go into the new file
	if tx.rebuilt {
		from = 1
	} else {
		for size > 0 && keep > 0 && m.Indexes[keep-1].Rows <= 4*size {
			keep--
			size += m.Indexes[keep].Rows
			from = m.Indexes[keep].From
			m.Dropped = append(m.Dropped, indexDir+"/"+m.Indexes[keep].Name)
		}
		merge = merge[:len(m.Indexes)-keep]
	}
	var runs []*run
	defer func() {
		for _, r := range runs {
			_ = r.c.Close() // only read
		}
	}()
	for _, x := range slices.Backward(merge) {
		r, err := x.run(len(runs))
		if err != nil {
			return err
		}
		runs = append(runs, r)
	}
	for _, s := range tx.segments {
		if s.indexed == 0 {
			continue
		}
		r, err := openRun(s.runPath(), 0, s.indexed, len(runs))
		if err != nil {
			return err
		}
		runs = append(runs, r)
	}
	if len(runs) == 0 {
		return nil
	}
	name := fmt.Sprintf("ing-%06d.idx", m.Ingests)
	path := filepath.Join(tx.temp, name)
	rec, err := writeIndex(path, runs, tx.wrap, tx.settle)
	if err != nil {
		return err
	}
	rec.From, rec.To = from, m.Ingests
	m.Indexes = append(m.Indexes[:keep:keep], rec)
	moves[indexDir+"/"+name] = path
	return nil
}

// publish moves the files into place and replaces the manifest. Everything before the last rename can be undone.
func (tx *Tx) publish(ctx context.Context, m *Manifest, moves map[string]string) error {
	places, err := tx.stage(m, moves)
	if err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := tx.move(places, moves); err != nil {
		tx.unmove(places, moves)
		return err
	}
	if err := os.Rename(filepath.Join(tx.temp, manifestName), filepath.Join(tx.dir, manifestName)); err != nil {
		tx.unmove(places, moves)
		return err
	}
	if err := syncDir(tx.dir); err != nil {
		tx.log.Warn("the history is complete, but the system would not confirm it is on disk", "error", err)
	}
	removeDropped(tx.dir, m.Dropped)
	return nil
}

// stage writes the new manifest and the journal into the temp folder, the key too if it is new, waits until the disk has
// all of the folder, and returns the places of moves in the order they are to be filled.
func (tx *Tx) stage(m *Manifest, moves map[string]string) ([]string, error) {
	if tx.fresh {
		path := filepath.Join(tx.temp, keyName)
		if err := tx.writeFile(path, tx.secret.text()); err != nil {
			return nil, err
		}
		moves[keyName] = path
	}
	manifest, err := m.encode()
	if err != nil {
		return nil, err
	}
	if err := tx.writeFile(filepath.Join(tx.temp, manifestName), manifest); err != nil {
		return nil, err
	}
	places := slices.Sorted(maps.Keys(moves))
	notes, err := json.Marshal(journal{Files: places})
	if err != nil {
		return nil, err
	}
	if err := tx.writeFile(filepath.Join(tx.temp, journalName), notes); err != nil {
		return nil, err
	}
	if err := tx.settling.Wait(); err != nil {
		return nil, err
	}
	return places, syncDirs(tx.temp, tx.dir)
}

// writeFile writes a small file of the temp folder.
func (tx *Tx) writeFile(path string, text []byte) error {
	out, err := create(path, tx.wrap)
	if err != nil {
		return err
	}
	if _, err = out.Write(text); err == nil {
		err = out.flush()
	}
	if err != nil {
		return errors.Join(err, out.f.Close())
	}
	tx.settle(out)
	return nil
}

// syncDirs makes renames within the folders last.
func syncDirs(dirs ...string) error {
	var g errgroup.Group
	for _, dir := range dirs {
		g.Go(func() error { return syncDir(dir) })
	}
	return g.Wait()
}

func (tx *Tx) move(places []string, moves map[string]string) error {
	folders := map[string]bool{tx.dir: true}
	for _, place := range places {
		to := filepath.Join(tx.dir, filepath.FromSlash(place))
		if folder := filepath.Dir(to); !folders[folder] {
			if err := os.MkdirAll(folder, 0o700); err != nil {
				return err
			}
			folders[folder] = true
		}
		if err := os.Rename(moves[place], to); err != nil {
			return err
		}
	}
	return syncDirs(slices.Collect(maps.Keys(folders))...)
}

// unmove takes back what move brought into place; what is still in the temp folder goes with that.
func (tx *Tx) unmove(places []string, moves map[string]string) {
	for _, place := range places {
		if _, err := os.Stat(moves[place]); err == nil {
			continue
		}
		to := filepath.Join(tx.dir, filepath.FromSlash(place))
		if err := os.Remove(to); err != nil {
			tx.log.Warn("a file of an ingest that failed could not be removed", "file", to, "error", err)
		}
		_ = os.Remove(filepath.Dir(to)) // only when this ingest made it, and so it is empty
	}
}

// removeDropped deletes files the manifest no longer names. One that is still open elsewhere may stay; Begin tries again.
func removeDropped(dir string, dropped []string) {
	for _, f := range dropped {
		_ = os.Remove(filepath.Join(dir, filepath.FromSlash(f)))
	}
}
