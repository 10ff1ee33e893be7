package report

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"faultgrain/report/layout"
)

const firstPage = "index.html"

// placeFile writes one file aside and renames it.
func placeFile(path string, data []byte) error {
	aside, err := os.CreateTemp(filepath.Dir(path), ".new-*.html")
	if err != nil {
		return fmt.Errorf("write the report: %w; name another place with --single-file", err)
	}
	_, err = aside.Write(data)
	err = errors.Join(err, aside.Chmod(0o644), aside.Sync(), aside.Close())
	if err == nil {
		err = os.Rename(aside.Name(), path)
	}
	if err != nil {
		return errors.Join(fmt.Errorf("write the report: %w", err), os.Remove(aside.Name()))
	}
	return nil
}

// placeFolder writes the files aside, takes the old first page away, swaps pages and folders one rename
// each, and puts the new first page in place last: killed in between, the folder has no first page and so
// does not look whole. What a killed one left aside, a later analysis sweeps away.
func placeFolder(out string, files []layout.File) error {
	dir, err := os.MkdirTemp(out, ".new-*")
	if err != nil {
		return fmt.Errorf("write the report: %w; name another folder with --out", err)
	}
	defer os.RemoveAll(dir)
	var tops []string // what stands in out itself, each once
	for _, f := range files {
		name := filepath.Join(dir, filepath.FromSlash(f.Name))
		if err := errors.Join(os.MkdirAll(filepath.Dir(name), 0o755), os.WriteFile(name, f.Data, 0o644)); err != nil {
			return fmt.Errorf("write %s: %w", f.Name, err)
		}
		top, _, _ := strings.Cut(f.Name, "/")
		if top != firstPage && (len(tops) == 0 || tops[len(tops)-1] != top) {
			tops = append(tops, top)
		}
	}
	old := filepath.Join(dir, "old")
	if err := os.Mkdir(old, 0o755); err != nil {
		return fmt.Errorf("write the report: %w", err)
	}
	away := func(name string) error {
		if err := os.Rename(filepath.Join(out, name), filepath.Join(old, name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("replace the report: %w; is a page of it open in another program?", err)
		}
		return nil
	}
	if err := away(firstPage); err != nil {
		return err
	}
	for _, name := range append(tops, firstPage) {
		if err := away(name); err != nil {
			return err
		}
		if err := os.Rename(filepath.Join(dir, name), filepath.Join(out, name)); err != nil {
			return fmt.Errorf("replace the report: %w; is another report being written here?", err)
		}
	}
	return nil
}
