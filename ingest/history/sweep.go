package history

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

const (
	tempPrefix  = "tx-"
	journalName = "commit.json"
	indexDir    = "index"
)

// A journal lists the files, relative to the history, that a commit is about to move into place. Until the manifest
// names them they are nobody's, and whoever finds the journal may remove them.
type journal struct {
	Files []string `json:"files"`
}

// sweep removes what interrupted commits left in dir and what compactions could not delete.
func sweep(dir string, m *Manifest, log *slog.Logger) error {
	owned := map[string]bool{}
	for _, f := range m.files() {
		owned[f] = true
	}
	if m.KeyCheck != "" {
		owned[keyName] = true
	}
	all, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	var temps []string
	for _, e := range all {
		if e.IsDir() && strings.HasPrefix(e.Name(), tempPrefix) {
			temps = append(temps, filepath.Join(dir, e.Name()))
		}
	}
	stale := slices.Clone(m.Dropped)
	for _, t := range temps {
		log.Info("removing what an interrupted ingest left", "folder", t)
		stale = append(stale, readJournal(t)...)
	}
	for _, f := range stale {
		if owned[f] || !filepath.IsLocal(filepath.FromSlash(f)) {
			continue
		}
		if err := removeIfThere(filepath.Join(dir, filepath.FromSlash(f))); err != nil {
			return err
		}
	}
	for _, t := range temps {
		if err := os.RemoveAll(t); err != nil {
			return err
		}
	}
	return nil
}

// readJournal returns the files of a commit that began; none when it never came to that.
func readJournal(temp string) []string {
	raw, err := os.ReadFile(filepath.Join(temp, journalName))
	if err != nil {
		return nil
	}
	var j journal
	if json.Unmarshal(raw, &j) != nil {
		return nil // cut short: then nothing was moved
	}
	return j.Files
}

func removeIfThere(path string) error {
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// freeNumber is the first segment number that no file uses, be it of this history or laid there by someone.
func freeNumber(dir string, m *Manifest) (int, error) {
	next := max(m.Next, 1)
	for _, t := range Tables() {
		found, err := os.ReadDir(filepath.Join(dir, t))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return 0, err
		}
		for _, f := range found {
			var n int
			if _, err := fmt.Sscanf(f.Name(), "seg-%d.parquet", &n); err == nil && n >= next && n < 1<<30 {
				next = n + 1
			}
		}
	}
	return next, nil
}
