package demo

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"errors"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/text/encoding/charmap"

	"faultgrain/schemas"
)

// sums hashes every file under dir by its relative path.
func sums(t *testing.T, dir string) map[string][32]byte {
	t.Helper()
	out := map[string][32]byte{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		raw, err := os.ReadFile(path)
		rel, _ := filepath.Rel(dir, path)
		out[rel] = sha256.Sum256(raw)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestSameSeedSameBytes(t *testing.T) {
	one, two, other := t.TempDir(), t.TempDir(), t.TempDir()
	for dir, opt := range map[string]Options{one: {Seed: 9, Tickets: 2_000}, two: {Seed: 9, Tickets: 2_000}, other: {Seed: 10, Tickets: 2_000}} {
		if _, err := Write(t.Context(), dir, opt); err != nil {
			t.Fatal(err)
		}
	}
	a, b, c := sums(t, one), sums(t, two), sums(t, other)
	if len(a) < 10 {
		t.Fatalf("%d files, want at least ten", len(a))
	}
	for name, sum := range a {
		if b[name] != sum {
			t.Errorf("%s differs between two writes of one seed", name)
		}
	}
	log := filepath.Join("thimble-lane", "repairs.csv")
	if a[log] == c[log] {
		t.Error("another seed gives the same log")
	}
}

// text is the content of a log as a person reads it.
func text(t *testing.T, path string) string {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	switch {
	case strings.HasSuffix(path, ".xlsx"):
		z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
		if err != nil {
			t.Fatal(err)
		}
		var all strings.Builder
		for _, f := range z.File {
			r, err := f.Open()
			if err != nil {
				t.Fatal(err)
			}
			if _, err := io.Copy(&all, r); err != nil {
				t.Fatal(err)
			}
		}
		return all.String()
	case strings.Contains(path, "pfennigbaum"):
		s, err := charmap.Windows1252.NewDecoder().Bytes(raw)
		if err != nil {
			t.Fatal(err)
		}
		return string(s)
	}
	return string(raw)
}

func TestLogsCarryWhatTheyShould(t *testing.T) {
	files, err := Write(t.Context(), t.TempDir(), Options{Seed: DefaultSeed})
	if err != nil {
		t.Fatal(err)
	}
	if len(files.Shops) != 3 {
		t.Fatalf("%d shops, want 3", len(files.Shops))
	}
	for i, shop := range Shops(Options{Seed: DefaultSeed}) {
		f := files.Shops[i]
		content := ""
		for _, log := range f.Logs {
			content += text(t, log)
		}
		if len(f.Personal) < 3*f.Tickets {
			t.Errorf("%s: %d personal strings for %d tickets", f.Key, len(f.Personal), f.Tickets)
		}
		for k := 0; k < len(f.Personal); k += 997 {
			if !strings.Contains(content, f.Personal[k]) {
				t.Errorf("%s: %q is in no log", f.Key, f.Personal[k])
			}
		}
		want := f.Duplicates + f.Broken
		for _, ticket := range shop.Tickets {
			want += max(1, len(ticket.Lines))
			if shop.language == "fr" && len(ticket.Lines) > 0 {
				want++ // the ticket's own row in the sheet
			}
		}
		if f.Rows != want {
			t.Errorf("%s: %d rows stated, want %d", f.Key, f.Rows, want)
		}
		if f.Broken != slipsNoModel+slipsNoDate || f.Emptied != slipsReadyEarly+slipsMinus || f.Duplicates == 0 {
			t.Errorf("%s: slips %d broken, %d emptied, %d duplicate", f.Key, f.Broken, f.Emptied, f.Duplicates)
		}
	}
	rows, err := csv.NewReader(strings.NewReader(text(t, files.Shops[0].Logs[0]))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows)-1 != files.Shops[0].Rows {
		t.Errorf("%d rows in the plain log, %d stated", len(rows)-1, files.Shops[0].Rows)
	}
	german := strings.Split(strings.TrimSpace(text(t, files.Shops[1].Logs[0])), "\r\n")
	if len(german)-1 != files.Shops[1].Rows {
		t.Errorf("%d rows in the German log, %d stated", len(german)-1, files.Shops[1].Rows)
	}
}

func TestSettingsAreRead(t *testing.T) {
	files, err := Write(t.Context(), t.TempDir(), Options{Tickets: 300})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files.Shops {
		settings, err := schemas.LoadSettings(f.Settings)
		if err != nil {
			t.Fatal(err)
		}
		if settings.Stock != f.Stock || settings.Fleet != f.Fleet || settings.Models != f.Models || settings.Notes != f.Notes {
			t.Errorf("%s: shop.toml names %q, %q, %q, %q", f.Key, settings.Stock, settings.Fleet, settings.Models, settings.Notes)
		}
		lexicon, err := schemas.LoadLexicon(settings.Components)
		if err != nil {
			t.Fatal(err)
		}
		notes, err := schemas.LoadNotes(settings.Notes, lexicon)
		if err != nil || f.Notes != "" && len(notes) < 3 {
			t.Errorf("%s: %d notes, %v", f.Key, len(notes), err)
		}
		for class, list := range classes() {
			for _, k := range list {
				if _, ok := lexicon.Components[k.id]; !ok && k.id != noFault {
					t.Errorf("component %q of %s is not in the lexicon", k.id, class)
				}
			}
		}
	}
}

func TestWriteStopsWhenAsked(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Write(ctx, t.TempDir(), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("err = %v, want context.Canceled", err)
	}
}

func TestWriteNamesTheFolderItCannotMake(t *testing.T) {
	file := filepath.Join(t.TempDir(), "taken")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Write(t.Context(), file, Options{Tickets: 300}); err == nil || !strings.Contains(err.Error(), "taken") {
		t.Errorf("err = %v, want one that names the path", err)
	}
}

func TestGermanCells(t *testing.T) {
	for v, want := range map[float64]string{0: "", 3: "3,00 €", 1234.5: "1.234,50 €", 99.999: "100,00 €"} {
		if got := germanMoney(v); got != want {
			t.Errorf("germanMoney(%v) = %q, want %q", v, got, want)
		}
	}
	for v, want := range map[float64]string{0: "", 5: "0:05", 75.4: "1:15", 119.6: "2:00"} {
		if got := germanMinutes(v); got != want {
			t.Errorf("germanMinutes(%v) = %q, want %q", v, got, want)
		}
	}
}

// Check digits of widely printed examples, from memory: 7992739871-3 illustrates the Luhn algorithm,
// 49015420323751-8 the IMEI.
func TestLuhnDigit(t *testing.T) {
	for body, want := range map[string]int{"7992739871": 3, "49015420323751": 8} {
		if got := luhnDigit(body); got != want {
			t.Errorf("luhnDigit(%s) = %d, want %d", body, got, want)
		}
	}
}

// The table of truth 1 is exact in expectation: whatever the shares, the four cells give the odds back.
func TestJointShareGivesTheOddsBack(t *testing.T) {
	for _, c := range [][3]float64{{0.1, 0.12, 6}, {0.5, 0.3, 2}, {0.02, 0.03, 0.25}} {
		a, b, odds := c[0], c[1], c[2]
		x := jointShare(a, b, odds)
		if got := x * (1 - a - b + x) / ((a - x) * (b - x)); x <= 0 || x >= min(a, b) || math.Abs(got/odds-1) > 1e-9 {
			t.Errorf("jointShare(%v, %v, %v) = %v, whose odds ratio is %v", a, b, odds, x, got)
		}
	}
}

func TestCatalogueHoldsTogether(t *testing.T) {
	makers := map[string]string{}
	names := map[string]bool{}
	for _, m := range models() {
		if other, ok := makers[m.Family]; ok && other != m.Maker+m.Class {
			t.Errorf("family %s belongs to two makers or classes", m.Family)
		}
		makers[m.Family] = m.Maker + m.Class
		if names[m.Name()] {
			t.Errorf("model %s stands twice", m.Name())
		}
		names[m.Name()] = true
		if !strings.HasPrefix(m.Label, m.Family+" ") {
			t.Errorf("model %s does not start with its family", m.Name())
		}
	}
	for _, name := range append(LotModels(), PairModel, ShareModel, PriceModel) {
		if !names[name] {
			t.Errorf("truth about %s, which is no model", name)
		}
	}
	for class, list := range classes() {
		sum := 0.0
		for _, k := range list {
			sum += k.weight
			for _, language := range []string{"en", "de"} {
				w := words[language][k.id]
				if k.id != noFault && (len(w.found) == 0 || len(w.says) == 0 || k.code != "" && len(w.part) == 0) {
					t.Errorf("component %s of %s has no words in %s", k.id, class, language)
				}
			}
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Errorf("weights of %s sum to %v, want 1", class, sum)
		}
	}
}
