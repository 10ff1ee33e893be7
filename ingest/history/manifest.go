package history

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
)

// Names of the tables, which are also the names of their folders.
const (
	VisitsTable     = "visits"
	FaultsTable     = "faults"
	PartsTable      = "parts"
	QuarantineTable = "quarantine"
	QualityTable    = "quality"
	ReplacedTable   = "replaced"
)

// Tables in the order they are written and listed.
func Tables() []string {
	return []string{VisitsTable, FaultsTable, PartsTable, QuarantineTable, QualityTable, ReplacedTable}
}

const (
	manifestName    = "manifest.json"
	manifestVersion = 3
)

// A Manifest says which files are the history. It is replaced whole, by rename, as the last act of a commit.
type Manifest struct {
	Version  int             `json:"version"`
	KeyCheck string          `json:"key_check"`         // shows whether history/key is the key these hashes were made with
	Ingests  int             `json:"ingests"`           // commits so far, numbered from 1
	Next     int             `json:"next"`              // number of the next segment
	Segments []SegmentRecord `json:"segments"`          // by number
	Indexes  []IndexRecord   `json:"indexes"`           // oldest first
	Sources  []SourceRecord  `json:"sources"`           // in the order they were ingested
	Lost     []SourceRecord  `json:"lost,omitempty"`    // sources whose segments were damaged: to be ingested again
	Dropped  []string        `json:"dropped,omitempty"` // files a compaction replaced and has yet to delete
	Totals   Totals          `json:"totals"`
	Sum      string          `json:"sum"` // SHA-256 of this file with an empty sum, so that a changed byte shows
}

// A SegmentRecord lists the files of one segment, by table. Visits, faults and parts always have one; the others only when they have rows.
type SegmentRecord struct {
	Number  int                   `json:"number"`
	Ingest  int                   `json:"ingest"` // the commit that wrote it
	Files   map[string]FileRecord `json:"files"`
	Sources []string              `json:"sources"` // SHA-256 of the logs its rows may come from
	Retired int64                 `json:"retired"` // visits of it that later ingests replaced
}

// A FileRecord is what a file was when it was written.
type FileRecord struct {
	SHA256 string `json:"sha256"`
	Rows   int64  `json:"rows"`
	Bytes  int64  `json:"bytes"`
}

// An IndexRecord is one file of history/index; it covers the ingests From to To.
type IndexRecord struct {
	Name   string `json:"name"`
	From   int    `json:"from"`
	To     int    `json:"to"`
	SHA256 string `json:"sha256"`
	Rows   int64  `json:"rows"`
	Bytes  int64  `json:"bytes"`
}

// A SourceRecord is one log that was ingested. Read = Accepted + Quarantined + Duplicate, in rows.
type SourceRecord struct {
	SHA256      string `json:"sha256"`
	Reading     string `json:"reading,omitempty"` // fingerprint of whatever else shaped the reading: columns file, lexicon, models
	Name        string `json:"name"`              // base name
	Read        int64  `json:"read"`
	Accepted    int64  `json:"accepted"`
	Quarantined int64  `json:"quarantined"`
	Duplicate   int64  `json:"duplicate"`
	Replaced    int64  `json:"replaced"` // tickets of it that replaced an earlier version
	Ingest      int    `json:"ingest"`   // set by Commit
}

// Totals counts current rows: replaced visits, their faults and parts, and cleared quarantine rows are left out.
type Totals struct {
	Visits      int64 `json:"visits"`
	Faults      int64 `json:"faults"`
	Parts       int64 `json:"parts"`
	Quarantined int64 `json:"quarantined"`
}

// ErrNoHistory is returned where a history is needed and the folder holds none.
var ErrNoHistory = errors.New("no history here: run faultgrain ingest LOG first, or name the folder with --history")

func loadManifest(dir string) (*Manifest, error) {
	path := filepath.Join(dir, manifestName)
	raw, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: %w", dir, ErrNoHistory)
	}
	if err != nil {
		return nil, fmt.Errorf("read the history's manifest: %w", err)
	}
	m := &Manifest{}
	if err := json.Unmarshal(raw, m); err != nil {
		return nil, fmt.Errorf("%s is damaged (%w): put it back from a backup, or start a new history and ingest the logs again", path, err)
	}
	if m.Version != manifestVersion {
		return nil, fmt.Errorf("%s has version %d, this program reads version %d: use the program that wrote it", path, m.Version, manifestVersion)
	}
	sum := m.Sum
	if same, err := m.encode(); err != nil || !bytes.Equal(same, raw) {
		return nil, fmt.Errorf("%s is damaged (its sum is not %.12s...): put it back from a backup, or start a new history and ingest the logs again", path, sum)
	}
	return m, nil
}

// encode is the manifest as it stands on disk, its sum included.
func (m *Manifest) encode() ([]byte, error) {
	m.Sum = ""
	text, err := json.MarshalIndent(m, "", " ")
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(text)
	m.Sum = hex.EncodeToString(sum[:])
	text, err = json.MarshalIndent(m, "", " ")
	return append(text, '\n'), err
}

func (m *Manifest) clone() *Manifest {
	c := *m
	c.Segments = slices.Clone(m.Segments)
	for i := range c.Segments {
		files := make(map[string]FileRecord, len(c.Segments[i].Files))
		for k, v := range c.Segments[i].Files {
			files[k] = v
		}
		c.Segments[i].Files = files
	}
	c.Indexes = slices.Clone(m.Indexes)
	c.Sources = slices.Clone(m.Sources)
	c.Lost = slices.Clone(m.Lost)
	c.Dropped = slices.Clone(m.Dropped)
	return &c
}

// source returns the latest record of the log with this content hash.
func (m *Manifest) source(sha string) (SourceRecord, bool) {
	for i := len(m.Sources) - 1; i >= 0; i-- {
		if m.Sources[i].SHA256 == sha {
			return m.Sources[i], true
		}
	}
	return SourceRecord{}, false
}

func (m *Manifest) segment(number int) *SegmentRecord {
	for i := range m.Segments {
		if m.Segments[i].Number == number {
			return &m.Segments[i]
		}
	}
	return nil
}

// segmentFile is the place of a table's segment, relative to the history, with slashes.
func segmentFile(table string, number int) string {
	return fmt.Sprintf("%s/seg-%06d.parquet", table, number)
}

// files lists every file the manifest names, relative to the history, with slashes.
func (m *Manifest) files() []string {
	var all []string
	for _, s := range m.Segments {
		for _, t := range Tables() {
			if _, ok := s.Files[t]; ok {
				all = append(all, segmentFile(t, s.Number))
			}
		}
	}
	for _, x := range m.Indexes {
		all = append(all, indexDir+"/"+x.Name)
	}
	return all
}
