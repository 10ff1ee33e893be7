package ingest_test

import (
	"database/sql"
	"encoding/csv"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	_ "github.com/duckdb/duckdb-go/v2"

	"faultgrain/ingest"
)

const awkward = "../testdata/awkward"

// TestAwkwardLogs holds ingest to testdata/expected.csv, which was worked out by hand; see testdata/README.md.
func TestAwkwardLogs(t *testing.T) {
	f, err := os.Open("../testdata/expected.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		cell := map[string]string{}
		for i, name := range rows[0] {
			cell[name] = row[i]
		}
		t.Run(strings.Join(row[:3], " "), func(t *testing.T) { runAwkward(t, cell) })
	}
}

func runAwkward(t *testing.T, want map[string]string) {
	opt := ingest.Options{History: filepath.Join(t.TempDir(), "history"), Dates: want["dates"]}
	if want["columns"] != "" {
		opt.Columns = filepath.Join(awkward, want["columns"])
	}
	var sum ingest.Summary
	var err error
	for logs := range strings.SplitSeq(want["runs"], ";") {
		var paths []string
		for name := range strings.SplitSeq(logs, "+") {
			paths = append(paths, filepath.Join(awkward, name))
		}
		if sum, err = ingest.Run(t.Context(), paths, opt); err != nil {
			break
		}
	}
	if want["error"] != "" {
		if err == nil || !strings.Contains(err.Error(), want["error"]) {
			t.Fatalf("err = %v, want one that names %s", err, want["error"])
		}
		if lines := files(t, opt.History); len(lines) > 0 && slices.ContainsFunc(lines, func(p string) bool { return strings.HasSuffix(p, ".parquet") }) {
			t.Errorf("segments written in spite of the error: %v", lines)
		}
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	var got [4]int64
	for _, f := range sum.Files {
		if f.Read != f.Accepted+f.Quarantined+f.Duplicate {
			t.Errorf("%s: %d read, but %d accepted, %d quarantined, %d duplicate", f.Name, f.Read, f.Accepted, f.Quarantined, f.Duplicate)
		}
		for i, n := range []int64{f.Read, f.Accepted, f.Quarantined, f.Duplicate} {
			got[i] += n
		}
	}
	for i, name := range []string{"read", "accepted", "quarantined", "duplicate"} {
		if w := want[name]; w != "" && w != strconv.FormatInt(got[i], 10) {
			t.Errorf("%d %s, want %s", got[i], name, w)
		}
	}
	if w := want["visits"]; w != "" && w != strconv.FormatInt(sum.Visits, 10) {
		t.Errorf("%d visits, want %s", sum.Visits, w)
	}
}

// files lists what stands under dir; nothing when there is no such folder.
func files(t *testing.T, dir string) []string {
	t.Helper()
	var list []string
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if os.IsNotExist(err) {
			return nil
		}
		if err == nil && !d.IsDir() {
			list = append(list, path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// TestEveryAwkwardLogIsExpected keeps a new file from standing there untested.
func TestEveryAwkwardLogIsExpected(t *testing.T) {
	raw, err := os.ReadFile("../testdata/expected.csv")
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range files(t, awkward) {
		if name := filepath.Base(path); !strings.HasPrefix(name, ".") && !strings.Contains(string(raw), name) {
			t.Errorf("%s is in no row of expected.csv", name)
		}
	}
}

// What people are called, and how they are reached, is in no byte of the history, quarantine included.
// The words are planted in testdata/awkward/personal.csv. Segments are compressed, so the search is in
// the bytes of the files and in what their columns say.
func TestPersonalLogLeavesNoNames(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "history")
	if _, err := ingest.Run(t.Context(), []string{filepath.Join(awkward, "personal.csv")}, ingest.Options{History: dir}); err != nil {
		t.Fatal(err)
	}
	planted := strings.Fields("Quarrelmoor Zwickelgarde Imberstad Zelda Yorick Xenia example.org Quillrue Tinderlane Bellowsgasse " +
		"rhubarbpatch gooseberryfool quincejelly Stemhurst Fallowmere Ardlecroft 000676150000013 000676150000021 000676150000039 739182")
	planted = append(planted, "555 77")
	said := contents(t, dir)
	for _, word := range planted {
		if strings.Contains(said, word) {
			t.Errorf("%q stays in the history", word)
		}
	}
	if !strings.Contains(said, "Sedge 5") {
		t.Error("the model is not found either: the search sees nothing")
	}
}

// contents is every byte under dir, and every value of every segment as text.
func contents(t *testing.T, dir string) string {
	t.Helper()
	db, err := sql.Open("duckdb", "")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var said strings.Builder
	for _, path := range files(t, dir) {
		raw, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		said.Write(raw)
		if !strings.HasSuffix(path, ".parquet") {
			continue
		}
		rows, err := db.QueryContext(t.Context(), "SELECT x::VARCHAR FROM read_parquet(?) AS x", path)
		if err != nil {
			t.Fatal(err)
		}
		for rows.Next() {
			var line string
			if err := rows.Scan(&line); err != nil {
				t.Fatal(err)
			}
			said.WriteString(line + "\n")
		}
		if err := rows.Close(); err != nil {
			t.Fatal(err)
		}
	}
	return said.String()
}
