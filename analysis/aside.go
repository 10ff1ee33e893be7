package analysis

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"
)

// asidePattern is what folders for writing aside are called, here and in the report.
const asidePattern = ".new-*"

// abandonedAfter is how old such a folder is at least when it was left by a process that was killed: no run takes that long.
const abandonedAfter = 24 * time.Hour

// An aside is a folder inside OUT where tables and findings are written before they take their places.
// A run that fails leaves OUT as it was.
type aside struct {
	out, dir string

	syncs errgroup.Group // files on their way to the disk, beside what is still being worked out

	mu   sync.Mutex
	sums map[string]string // SHA-256 of what was written, by name
}

func newAside(out string) (*aside, error) {
	if err := os.MkdirAll(out, 0o755); err != nil {
		return nil, fmt.Errorf("make the output folder: %w; name another with --out", err)
	}
	dir, err := os.MkdirTemp(out, asidePattern)
	if err != nil {
		return nil, fmt.Errorf("write to the output folder: %w; name another with --out", err)
	}
	sweep(out, dir)
	if err := os.Mkdir(filepath.Join(dir, "tables"), 0o755); err != nil {
		return nil, errors.Join(fmt.Errorf("write to the output folder: %w", err), os.RemoveAll(dir))
	}
	return &aside{out: out, dir: dir, sums: map[string]string{}}, nil
}

// sweep removes what killed runs left in OUT, by the file system's own clock. Nothing is lost when that fails.
func sweep(out, fresh string) {
	now, err := os.Stat(fresh)
	if err != nil {
		return
	}
	left, _ := filepath.Glob(filepath.Join(out, asidePattern)) // an OUT that reads as a pattern is left unswept
	for _, dir := range left {
		if info, err := os.Lstat(dir); err == nil && info.IsDir() && now.ModTime().Sub(info.ModTime()) > abandonedAfter {
			_ = os.RemoveAll(dir)
		}
	}
}

// write makes one file; name is relative to OUT, with slashes.
func (a *aside) write(name string, fill func(io.Writer) error) error {
	path := filepath.Join(a.dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	f, err := os.Create(path)
	if err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	sum := sha256.New()
	out := bufio.NewWriterSize(io.MultiWriter(f, sum), 1<<16)
	if err := errors.Join(fill(out), out.Flush()); err != nil {
		return fmt.Errorf("write %s: %w", name, errors.Join(err, f.Close()))
	}
	a.syncs.Go(func() error {
		if err := errors.Join(f.Sync(), f.Close()); err != nil {
			return fmt.Errorf("write %s: %w", name, err)
		}
		return nil
	})
	a.mu.Lock()
	defer a.mu.Unlock()
	a.sums[name] = hex.EncodeToString(sum.Sum(nil))
	return nil
}

// written tells the files written so far with their sums. findings.json carries them, so that whoever reads it
// beside the tables of another run, as a run killed while it placed them may leave, can tell.
func (a *aside) written() map[string]string {
	a.mu.Lock()
	defer a.mu.Unlock()
	return maps.Clone(a.sums)
}

// A move renames one file or folder.
type move struct {
	from, to string
	what     string // for people
	optional bool   // there may be none
}

// moves swap the new tables and findings for the old ones. Killed between two of them, OUT holds no tables or those that
// its findings.json does not tell of.
func (a *aside) moves() []move {
	tables := filepath.Join(a.out, "tables")
	return []move{
		{from: tables, to: filepath.Join(a.dir, "old-tables"), what: "the tables", optional: true},
		{from: filepath.Join(a.dir, "tables"), to: tables, what: "the tables"},
		{from: filepath.Join(a.dir, "findings.json"), to: filepath.Join(a.out, "findings.json"), what: "findings.json"},
	}
}

// place makes the moves once all files are on the disk; when one fails, those before it are taken back.
func (a *aside) place() error {
	if err := a.syncs.Wait(); err != nil {
		return err
	}
	var done []move
	for _, m := range a.moves() {
		err := os.Rename(m.from, m.to)
		switch {
		case err == nil:
			done = append(done, m)
		case m.optional && errors.Is(err, fs.ErrNotExist):
		default:
			err = fmt.Errorf("replace %s: %w; is it open in another program?", m.what, err)
			for _, m := range slices.Backward(done) {
				err = errors.Join(err, os.Rename(m.to, m.from))
			}
			return err
		}
	}
	return nil
}

// discard removes what was written aside and not placed. Nothing is lost when that fails.
func (a *aside) discard() {
	_ = a.syncs.Wait() // an open file can't be removed everywhere
	_ = os.RemoveAll(a.dir)
}
