package analysis

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// asidePattern is what folders for writing aside are called, here and in the report.
const asidePattern = ".new-*"

// abandonedAfter is how old such a folder is at least when it was left by a process that was killed: no run takes that long.
const abandonedAfter = 24 * time.Hour

// An aside is a folder inside OUT where tables and findings are written before they take their places.
// A run that fails leaves OUT as it was.
type aside struct{ out, dir string }

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
	return &aside{out: out, dir: dir}, nil
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
	if err := errors.Join(fill(f), f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	return nil
}

// place swaps the new tables and findings for the old ones, one rename each. When the second fails, the
// old tables come back.
func (a *aside) place() error {
	tables, old := filepath.Join(a.out, "tables"), filepath.Join(a.dir, "old-tables")
	hadTables := true
	if err := os.Rename(tables, old); errors.Is(err, fs.ErrNotExist) {
		hadTables = false
	} else if err != nil {
		return fmt.Errorf("replace the tables: %w; is one of them open in another program?", err)
	}
	back := func() error {
		if !hadTables {
			return nil
		}
		return os.Rename(old, tables)
	}
	if err := os.Rename(filepath.Join(a.dir, "tables"), tables); err != nil {
		return errors.Join(fmt.Errorf("replace the tables: %w", err), back())
	}
	if err := os.Rename(filepath.Join(a.dir, "findings.json"), filepath.Join(a.out, "findings.json")); err != nil {
		return errors.Join(fmt.Errorf("replace findings.json: %w", err), os.RemoveAll(tables), back())
	}
	return nil
}

// discard removes what was written aside and not placed. Nothing is lost when that fails.
func (a *aside) discard() { _ = os.RemoveAll(a.dir) }
