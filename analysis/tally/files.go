package tally

import (
	"cmp"
	"database/sql/driver"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
)

// ErrNoHistory: the folder holds no history.
var ErrNoHistory = errors.New("no history here; run faultgrain ingest LOG first")

// fileLists are the Parquet files that count, oldest segment first.
type fileLists struct {
	visits, faults, parts, replaced, quality []string

	segments [][]driver.Value // number, first visit id, first part line
}

// manifest is what this package reads of history/manifest.json.
type manifest struct {
	Segments []segment `json:"segments"`
}

type segment struct {
	Number int64 `json:"number"`
	Files  map[string]struct {
		Rows int64 `json:"rows"`
	} `json:"files"` // by table
}

// listFiles reads the manifest; only files it names count.
func listFiles(dir string) (fileLists, error) {
	path := filepath.Join(dir, "manifest.json")
	raw, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return fileLists{}, fmt.Errorf("%s: %w", dir, ErrNoHistory)
	}
	if err != nil {
		return fileLists{}, fmt.Errorf("read the history: %w", err)
	}
	var m manifest
	if err := json.Unmarshal(raw, &m); err != nil {
		return fileLists{}, fmt.Errorf("%s: %w; run faultgrain verify", path, err)
	}
	slices.SortFunc(m.Segments, func(a, b segment) int { return cmp.Compare(a.Number, b.Number) })
	var f fileLists
	var visits, parts int64
	for _, s := range m.Segments {
		add := func(list *[]string, table string) {
			if s.Files[table].Rows > 0 {
				*list = append(*list, filepath.Join(dir, table, fmt.Sprintf("seg-%06d.parquet", s.Number)))
			}
		}
		add(&f.visits, "visits")
		add(&f.faults, "faults")
		add(&f.parts, "parts")
		add(&f.replaced, "replaced")
		add(&f.quality, "quality")
		f.segments = append(f.segments, []driver.Value{s.Number, visits, parts})
		visits += s.Files["visits"].Rows
		parts += s.Files["parts"].Rows
	}
	return f, nil
}
