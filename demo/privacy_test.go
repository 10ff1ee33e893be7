package demo_test

import (
	"bytes"
	"database/sql"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"

	_ "github.com/duckdb/duckdb-go/v2"
)

// Nothing that names or reaches a person is in what ingest and analysis write: neither in the bytes
// nor in what the packed segments say. Every last name, phone, mail, street with number, serial and
// technician of the largest shop is looked for, word by word.
func TestStoryNamesNobody(t *testing.T) {
	p := story(t)
	planted := map[string]bool{}
	for _, s := range p.files.Personal {
		words := strings.FieldsFunc(s, notWord)
		switch {
		case strings.Contains(s, "@"): // first, last, example, org
			planted[words[1]] = true
		case strings.HasPrefix(s, "+"): // country, 555, two digits, four digits: too common one by one
		default:
			if last := words[len(words)-1]; len(last) > 3 {
				planted[last] = true
			}
		}
	}
	if len(planted) < 5_000 {
		t.Fatalf("only %d words to look for", len(planted))
	}
	texts := written(t, filepath.Dir(p.out))
	if len(texts) < 10 {
		t.Fatalf("only %d files looked at", len(texts))
	}
	seen := false
	for name, text := range texts {
		seen = seen || bytes.Contains(text, []byte("Sedge 6"))
		if bytes.Contains(text, []byte("+00 555")) || bytes.Contains(text, []byte("example.org")) {
			t.Errorf("%s holds a phone number or a mail address", name)
		}
		for _, word := range bytes.FieldsFunc(text, notWord) {
			if planted[string(word)] {
				t.Errorf("%s holds %q", name, word)
				break
			}
		}
	}
	if !seen {
		t.Error("the models are not found either: the search sees nothing")
	}
}

func notWord(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }

// written reads every file of the history and of the report's folder; of a segment, its bytes and its
// rows as text. The logs themselves stand beside them and are left out.
func written(t *testing.T, shop string) map[string][]byte {
	t.Helper()
	db, err := sql.Open("duckdb", "")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	texts := map[string][]byte{}
	for _, dir := range []string{"history", "brief"} {
		err := filepath.WalkDir(filepath.Join(shop, dir), func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			raw, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			if strings.HasSuffix(path, ".parquet") {
				rows, err := said(t, db, path)
				if err != nil {
					return fmt.Errorf("%s: %w", path, err)
				}
				raw = append(raw, rows...)
			}
			texts[path] = raw
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return texts
}

// said is every row of a segment as text.
func said(t *testing.T, db *sql.DB, path string) ([]byte, error) {
	rows, err := db.QueryContext(t.Context(), "SELECT x::VARCHAR FROM read_parquet(?) AS x", path)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []byte
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			return nil, err
		}
		out = append(append(out, line...), '\n')
	}
	return out, rows.Err()
}
