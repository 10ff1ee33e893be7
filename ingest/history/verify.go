package history

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// What can be wrong with a file of a history.
const (
	Missing = "missing"
	Changed = "changed" // not the bytes that were written
	Foreign = "foreign" // in the history's folders, but not of this history
	Lost    = "lost"    // given up earlier; File is empty
	Unsafe  = "unsafe"  // the key: readable by others, or not the right one
)

// A Problem is one file that is not as the history's manifest says.
type Problem struct {
	File    string   `json:"file"` // relative to the history, with slashes
	What    string   `json:"what"`
	Detail  string   `json:"detail"`            // a sentence: what was found and what to do
	Sources []string `json:"sources,omitempty"` // names of the logs to ingest again, in the order they were ingested
}

// Error words the problem for a person.
func (p Problem) Error() string {
	if p.File == "" {
		return p.Detail
	}
	return p.File + ": " + p.Detail
}

// Verify hashes every file of the history in dir again and returns what does not match, in the order of the manifest, foreign files
// last. It writes nothing. No history is ErrNoHistory; a damaged manifest is an error, for nothing can be said without it.
func Verify(ctx context.Context, dir string) ([]Problem, error) {
	m, err := loadManifest(dir)
	if err != nil {
		return nil, err
	}
	problems := checkKey(dir, m)
	for _, s := range m.Segments {
		found, err := checkSegment(ctx, dir, s)
		if err != nil {
			return nil, err
		}
		for _, p := range found {
			p.Sources = m.names(s.Sources)
			p.Detail += "; " + again(p.Sources)
			problems = append(problems, p)
		}
	}
	for _, x := range m.Indexes {
		what, err := checkFile(ctx, filepath.Join(dir, indexDir, x.Name), x.SHA256, x.Bytes)
		if err != nil {
			return nil, err
		}
		if what != "" {
			problems = append(problems, Problem{File: indexDir + "/" + x.Name, What: what,
				Detail: describe(what) + "; delete it if it is there: the next ingest makes it anew"})
		}
	}
	for _, r := range m.Lost {
		problems = append(problems, Problem{What: Lost, Sources: []string{r.Name},
			Detail: fmt.Sprintf("rows of %s were in a segment that was damaged and given up; ingest %s again", r.Name, r.Name)})
	}
	foreign, err := foreignFiles(dir, m)
	return append(problems, foreign...), err
}

func checkKey(dir string, m *Manifest) []Problem {
	_, _, err := openSecret(dir, m)
	switch {
	case err == nil:
		return nil
	case strings.Contains(err.Error(), "is missing"):
		return []Problem{{File: keyName, What: Missing, Detail: err.Error()}}
	}
	return []Problem{{File: keyName, What: Unsafe, Detail: err.Error()}}
}

// checkSegment hashes the files of a segment.
func checkSegment(ctx context.Context, dir string, s SegmentRecord) ([]Problem, error) {
	var problems []Problem
	for _, t := range Tables() {
		rec, ok := s.Files[t]
		if !ok {
			continue
		}
		file := segmentFile(t, s.Number)
		what, err := checkFile(ctx, filepath.Join(dir, filepath.FromSlash(file)), rec.SHA256, rec.Bytes)
		if err != nil {
			return nil, err
		}
		if what != "" {
			problems = append(problems, Problem{File: file, What: what, Detail: describe(what)})
		}
	}
	return problems, nil
}

func describe(what string) string {
	if what == Missing {
		return "the file is missing"
	}
	return "the file is not what was written"
}

func again(names []string) string {
	if len(names) == 0 {
		return "put it back from a backup"
	}
	return "ingest " + strings.Join(names, ", ") + " again"
}

// names lists the base names of logs by their hashes, once each, in the order they were ingested.
func (m *Manifest) names(shas []string) []string {
	var names []string
	for _, r := range slices.Concat(m.Sources, m.Lost) {
		if slices.Contains(shas, r.SHA256) && !slices.Contains(names, r.Name) {
			names = append(names, r.Name)
		}
	}
	return names
}

// checkFile says what is wrong with a file, "" for nothing. An error means it could not be read at all.
func checkFile(ctx context.Context, path, sum string, size int64) (what string, err error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return Missing, nil
	}
	if err != nil {
		return "", err
	}
	defer func() { _ = f.Close() }() // only read
	if info, err := f.Stat(); err != nil || info.Size() != size {
		return Changed, err
	}
	h := sha256.New()
	if _, err := io.Copy(h, &ctxReader{ctx, f}); err != nil {
		return "", fmt.Errorf("read %s: %w", path, err)
	}
	if hex.EncodeToString(h.Sum(nil)) != sum {
		return Changed, nil
	}
	return "", nil
}

// A ctxReader stops when its context is done.
type ctxReader struct {
	ctx context.Context
	r   io.Reader
}

func (c *ctxReader) Read(p []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.r.Read(p)
}

// foreignFiles lists files in the history's folders that the manifest does not name. What an interrupted or running ingest is
// moving into place is none: its journal says so.
func foreignFiles(dir string, m *Manifest) ([]Problem, error) {
	known := map[string]bool{}
	for _, f := range slices.Concat(m.files(), m.Dropped) {
		known[f] = true
	}
	top, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	for _, e := range top {
		if e.IsDir() && strings.HasPrefix(e.Name(), tempPrefix) {
			for _, f := range readJournal(filepath.Join(dir, e.Name())) {
				known[f] = true
			}
		}
	}
	var problems []Problem
	for _, folder := range append(Tables(), indexDir) {
		entries, err := os.ReadDir(filepath.Join(dir, folder))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
		for _, e := range entries {
			if file := folder + "/" + e.Name(); !known[file] && !desktopsOwn(e.Name()) {
				problems = append(problems, Problem{File: file, What: Foreign, Detail: "the file is not of this history; it is not read: move it away"})
			}
		}
	}
	return problems, nil
}

// desktopsOwn says whether a file is one that file managers lay into every folder they show.
func desktopsOwn(name string) bool {
	return name == ".DS_Store" || name == "Thumbs.db" || name == "desktop.ini"
}
