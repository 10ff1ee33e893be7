package report

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"faultgrain/report/browsertest"
	"faultgrain/schemas"

	"github.com/chromedp/chromedp"
)

var testSettings = schemas.Settings{Name: "Kiln Lane Repairs", Currency: "EUR"}

// TestShots writes pictures and PDFs of the pages to the folder named by FAULTGRAIN_SHOTS, for people to
// look at. FAULTGRAIN_BRIEF names a folder with tables to draw, and FAULTGRAIN_SHOP its shop.toml; without
// them the small fixture is drawn.
// FAULTGRAIN_PAGES keeps those whose name holds one of its words.
func TestShots(t *testing.T) {
	dir := os.Getenv("FAULTGRAIN_SHOTS")
	if dir == "" {
		t.Skip("FAULTGRAIN_SHOTS names no folder")
	}
	out, settings := os.Getenv("FAULTGRAIN_BRIEF"), testSettings
	if out == "" {
		out = smallShop().write(t)
	} else {
		var err error
		if settings, err = schemas.LoadSettings(os.Getenv("FAULTGRAIN_SHOP")); err != nil {
			t.Fatal(err)
		}
	}
	if err := Build(t.Context(), Options{Out: out, Settings: settings}); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(out, "*.html"))
	if err != nil {
		t.Fatal(err)
	}
	sheets, err := filepath.Glob(filepath.Join(out, "sheets", "*.html"))
	if err != nil {
		t.Fatal(err)
	}
	if os.Getenv("FAULTGRAIN_PAGES") == "" {
		sheets = sheets[:min(len(sheets), 2)]
	}
	for _, file := range append(files, sheets...) {
		name := strings.TrimSuffix(filepath.Base(file), ".html")
		if !wanted(name) {
			continue
		}
		b := browsertest.Open(t)
		for _, look := range []struct {
			name  string
			width int
			dark  bool
		}{{"desktop", 1280, false}, {"dark", 1280, true}, {"phone", 360, false}, {"night", 360, true}} {
			if want := os.Getenv("FAULTGRAIN_LOOK"); want != "" && !strings.Contains(want, look.name) {
				continue
			}
			b.Size(t, look.width, 900, look.dark)
			b.Load(t, file)
			for i, png := range b.Slices(t, 2400) {
				if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%s-%s-%d.png", name, look.name, i+1)), png, 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
		if os.Getenv("FAULTGRAIN_LOOK") != "" {
			continue
		}
		if err := os.WriteFile(filepath.Join(dir, name+".pdf"), b.Print(t, chromedp.PaperA4), 0o644); err != nil {
			t.Fatal(err)
		}
		b.Quiet(t)
	}
}

// TestScreenshot writes the README's picture, the top of the first page of the report in FAULTGRAIN_BRIEF, to the
// file FAULTGRAIN_SCREENSHOT names. It is kept small enough to be cloned with the code.
func TestScreenshot(t *testing.T) {
	file := os.Getenv("FAULTGRAIN_SCREENSHOT")
	if file == "" {
		t.Skip("FAULTGRAIN_SCREENSHOT names no file")
	}
	b := browsertest.Open(t)
	b.Size(t, 1200, 900, false)
	b.Load(t, filepath.Join(os.Getenv("FAULTGRAIN_BRIEF"), firstPage))
	png := b.Slices(t, 1400)[0]
	if len(png) > 300_000 {
		t.Errorf("the picture has %d bytes, want at most 300,000", len(png))
	}
	if err := os.WriteFile(file, png, 0o644); err != nil {
		t.Fatal(err)
	}
	b.Quiet(t)
}

// TestPaint tells how soon the first page of the report in FAULTGRAIN_PAINT is seen and drawn, by the browser's own clock
// from the start of loading. It only tells: how long is the machine's affair, and what else it does.
func TestPaint(t *testing.T) {
	brief := os.Getenv("FAULTGRAIN_PAINT")
	if brief == "" {
		t.Skip("FAULTGRAIN_PAINT names no folder")
	}
	b := browsertest.Open(t)
	b.Size(t, 1280, 900, false)
	for range 10 {
		b.Load(t, filepath.Join(brief, firstPage))
		t.Log(browsertest.Eval[string](t, b, `["first-contentful-paint", "drawn"].map((name) => name + " " + Math.round(performance.getEntriesByName(name)[0]?.startTime ?? -1) + " ms").join(", ")
			+ ", parsed " + Math.round(performance.getEntriesByType("navigation")[0].domInteractive) + " ms"`))
	}
	b.Quiet(t)
}

func wanted(name string) bool {
	words := os.Getenv("FAULTGRAIN_PAGES")
	if words == "" {
		return true
	}
	for word := range strings.SplitSeq(words, ",") {
		if strings.Contains(name, word) {
			return true
		}
	}
	return false
}
