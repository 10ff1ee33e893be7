package main

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"faultgrain/ingest/history"
)

func contents(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	files := map[string][]byte{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		name, _ := filepath.Rel(dir, path)
		files[name] = b
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// putFiles makes a folder hold these files and no others.
func putFiles(t *testing.T, dir string, files map[string][]byte) {
	t.Helper()
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	for name, data := range files {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

// settled leaves out what a killed run left aside, which is swept a day later, and its lock, which the next one takes over.
func settled(files map[string][]byte) map[string][]byte {
	maps.DeleteFunc(files, func(name string, _ []byte) bool { return strings.HasPrefix(name, ".new-") || name == "lock" })
	return files
}

// differing lists the files that are not in both alike.
func differing(a, b map[string][]byte) []string {
	var names []string
	for name := range a {
		if !bytes.Equal(a[name], b[name]) {
			names = append(names, name)
		}
	}
	for name := range b {
		if _, ok := a[name]; !ok {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// wholeHistory verifies a history, if there is one.
func wholeHistory(t *testing.T, dir, when string) {
	t.Helper()
	problems, err := history.Verify(context.Background(), dir)
	if err != nil && !errors.Is(err, history.ErrNoHistory) || len(problems) > 0 {
		t.Errorf("%s: verify: %v, %v", when, problems, err)
	}
}
