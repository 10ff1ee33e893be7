package report

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"faultgrain/report/evidence"
	"faultgrain/schemas"
)

func TestNoTables(t *testing.T) {
	err := Build(t.Context(), Options{Out: t.TempDir()})
	if !errors.Is(err, evidence.ErrNone) || !strings.Contains(err.Error(), "run faultgrain analyse first") {
		t.Errorf("got %v, want a hint to run analyse", err)
	}
}

// quiet makes a folder whose tables are there and hold nothing.
func quiet(t *testing.T) string {
	t.Helper()
	out := t.TempDir()
	if err := errors.Join(os.Mkdir(filepath.Join(out, "tables"), 0o755),
		os.WriteFile(filepath.Join(out, "findings.json"), []byte(`{"version":1,"as_of":"2026-05-31","findings":[]}`), 0o644)); err != nil {
		t.Fatal(err)
	}
	f := newFixture(1, 1, 1)
	write(t, f, out, "shares", []schemas.Share{})
	write(t, f, out, "prices", []schemas.Price{})
	write(t, f, out, "quality", []schemas.QualityRow{{Topic: "missing-key", Subject: "labour_rate", Note: "no margin after labour and no price floor"}})
	return out
}

// TestQuietMonth: a month without findings says so, and each page without data says what would give it.
func TestQuietMonth(t *testing.T) {
	out := quiet(t)
	if err := Build(t.Context(), Options{Out: out}); err != nil {
		t.Fatal(err)
	}
	for page, want := range map[string]string{
		"index": "quiet month", "shares": "The columns fault, found or part", "pairs": "serial", "times": "The column minutes", "trends": "several months",
		"batches": "A year of visits", "returns": "serial (to know the device again)", "prices": "Without the key labour_rate in shop.toml", "stock": "stock.csv", "models": "No model has a visit",
		"data": "labour_rate", "methods": "Wilson",
	} {
		if !strings.Contains(read(t, filepath.Join(out, page+".html")), want) {
			t.Errorf("%s.html does not say %q", page, want)
		}
	}
	left, err := filepath.Glob(filepath.Join(out, ".new-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v %v", left, err)
	}
}

// contents reads all that a report wrote, by name.
func contents(t *testing.T, out string) map[string][]byte {
	t.Helper()
	all := map[string][]byte{}
	err := fs.WalkDir(os.DirFS(out), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		raw, err := os.ReadFile(filepath.Join(out, filepath.FromSlash(name)))
		all[name] = raw
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// TestSameBytes: the same tables give the same bytes, also over an older report, of which nothing stays.
func TestSameBytes(t *testing.T) {
	out := draw(t, smallShop())
	first := contents(t, out)
	stale := filepath.Join(out, "sheets", "gone.html")
	if err := os.WriteFile(stale, []byte("x"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := Build(t.Context(), Options{Out: out, Settings: testSettings}); err != nil {
		t.Fatal(err)
	}
	second := contents(t, out)
	if len(first) != len(second) || len(first) < 25 {
		t.Fatalf("%d files, then %d", len(first), len(second))
	}
	for name, raw := range first {
		if !bytes.Equal(raw, second[name]) {
			t.Errorf("%s changed", name)
		}
	}
	var singles [2][]byte
	for i := range singles {
		file := filepath.Join(t.TempDir(), "x.html")
		if err := Build(t.Context(), Options{Out: out, SingleFile: file, Settings: testSettings}); err != nil {
			t.Fatal(err)
		}
		singles[i] = []byte(read(t, file))
	}
	if !bytes.Equal(singles[0], singles[1]) {
		t.Error("the single file changed")
	}
}

// TestSizes holds a shop of 200 models to the promised sizes.
func TestSizes(t *testing.T) {
	out := bigShop().write(t)
	before := contents(t, out)
	if err := Build(t.Context(), Options{Out: out, Settings: testSettings}); err != nil {
		t.Fatal(err)
	}
	sum, sheets := 0, 0
	for name, raw := range contents(t, out) {
		if _, table := before[name]; !table {
			sum += len(raw)
		}
		if strings.HasPrefix(name, "sheets/") {
			sheets++
		}
	}
	if sheets != 200 {
		t.Errorf("%d sheets, want 200", sheets)
	}
	single := filepath.Join(t.TempDir(), "x.html")
	if err := Build(t.Context(), Options{Out: out, SingleFile: single, Settings: testSettings}); err != nil {
		t.Fatal(err)
	}
	first, one := len(read(t, filepath.Join(out, firstPage))), len(read(t, single))
	t.Logf("pages %d kB, first page %d kB, single file %d kB", sum/1000, first/1000, one/1000)
	if sum > 8e6 || first > 300e3 || one > 3e6 {
		t.Errorf("pages %d, first page %d, single file %d bytes; want at most 8 MB, 300 kB, 3 MB", sum, first, one)
	}
}

// TestStopped: a build that is stopped leaves the report before it as it was.
func TestStopped(t *testing.T) {
	out := draw(t, smallShop())
	before := contents(t, out)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := Build(ctx, Options{Out: out, Settings: testSettings}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want context canceled", err)
	}
	after := contents(t, out)
	if len(after) != len(before) {
		t.Errorf("%d files, before %d", len(after), len(before))
	}
}

// TestBadTable: a table that can't be read is named with line and column, and nothing is drawn.
func TestBadTable(t *testing.T) {
	out := quiet(t)
	if err := os.WriteFile(filepath.Join(out, "tables", "shares.csv"), []byte("model,faults\nLark P3,many\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	err := Build(t.Context(), Options{Out: out})
	if err == nil || !strings.Contains(err.Error(), `tables/shares.csv:2: column "faults"`) {
		t.Errorf("got %v, want the line and the column", err)
	}
	if _, err := os.Stat(filepath.Join(out, firstPage)); err == nil {
		t.Error("a report was drawn from a table that can't be read")
	}
}

func TestSlugs(t *testing.T) {
	names := []string{"Lark P4", "LARK P4", "Lark P4+", "Ünlü É3", "海燕 8", "海燕 9", "con", "../../etc/passwd", strings.Repeat("x", 500), "Lark P4 Plus"}
	of := slugs(names)
	seen := map[string]bool{}
	for _, n := range names {
		s := of[n]
		if seen[s] || s == "" || len(s) > 60 || strings.Trim(s, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" || windowsName(s) {
			t.Errorf("%q has the file name %q", n, s)
		}
		seen[s] = true
	}
	if of["Ünlü É3"] != "unlu-e3" || of["../../etc/passwd"] != "etc-passwd" {
		t.Errorf("got %v", of)
	}
	if fewer := slugs(names[3:]); fewer["Ünlü É3"] != of["Ünlü É3"] {
		t.Error("a file name depends on the other models")
	}
}

// TestChoose: at most twelve sentences, in the order of the findings, every alarm among them, and something to watch.
func TestChoose(t *testing.T) {
	var list []schemas.Finding
	add := func(kind, grade string, n int) {
		for range n {
			list = append(list, schemas.Finding{Kind: kind, Grade: grade})
		}
	}
	add(schemas.KindShare, schemas.Firm, 20)
	add(schemas.KindBatch, schemas.Firm, 2)
	add(schemas.KindPrice, schemas.Firm, 2)
	add(schemas.KindShare, schemas.Leaning, 9)
	add(schemas.KindTrend, schemas.Thin, 9)
	count := map[string]int{}
	chosen := choose(list)
	for i := range chosen {
		count[list[i].Kind+" "+list[i].Grade]++
	}
	if len(chosen) != mostSentences || count["batch firm"] != 2 || count["price firm"] != 2 || count["share firm"] != 5 || count["share leaning"] != 2 || count["trend thin"] != 1 {
		t.Errorf("chose %d: %v", len(chosen), count)
	}
	if n := len(choose(list[:1])); n != 1 {
		t.Errorf("chose %d of one", n)
	}
	if n := len(choose(list[24:])); n != 4 {
		t.Errorf("chose %d of 18 that are not firm, want 2 of each kind", n)
	}
}
