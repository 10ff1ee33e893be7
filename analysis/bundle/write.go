package bundle

import (
	"archive/zip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"
)

const (
	manifestName = "manifest.json"
	pageName     = "index.html"
)

// Write gives the bundle as a zip file; the same bundle gives the same bytes.
func (b *Bundle) Write(w io.Writer) error {
	z := zip.NewWriter(w)
	visits, faults, pairs, parts := visitsTable(), faultsTable(), pairsTable(), partsTable()
	for _, f := range []struct {
		name string
		fill func(io.Writer) error
	}{
		{manifestName, func(w io.Writer) error {
			e := json.NewEncoder(w)
			e.SetIndent("", "  ")
			return e.Encode(b.Manifest)
		}},
		{pageName, b.page},
		{visits.name, func(w io.Writer) error { return visits.write(w, b.Visits) }},
		{faults.name, func(w io.Writer) error { return faults.write(w, b.Faults) }},
		{pairs.name, func(w io.Writer) error { return pairs.write(w, b.Pairs) }},
		{parts.name, func(w io.Writer) error { return parts.write(w, b.Parts) }},
	} {
		h := &zip.FileHeader{Name: f.name, Method: zip.Deflate}
		h.Modified = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC) // when it was made is nobody's business
		entry, err := z.CreateHeader(h)
		if err != nil {
			return fmt.Errorf("write %s: %w", f.name, err)
		}
		if err := f.fill(entry); err != nil {
			return fmt.Errorf("write %s: %w", f.name, err)
		}
	}
	return z.Close()
}

// Save writes a file aside and renames it.
func Save(path string, fill func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".new-*")
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	defer func() {
		if err != nil {
			err = fmt.Errorf("write %s: %w", path, errors.Join(err, os.Remove(f.Name())))
		}
	}()
	if err := errors.Join(fill(f), f.Chmod(0o644), f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}
