package main

import (
	"bytes"
	"context"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"faultgrain/analysis/stat"
)

// Brown, Cai and DasGupta (2001) and others: Clopper-Pearson never covers less than asked,
// and by hand at n = 1 Wilson's upper limit for 0 of 1 is 3.8415/4.8415 = 0.7934, so shares
// above it are covered by x = 1 alone.
func TestShareCoverageByHand(t *testing.T) {
	c, err := shareCoverage(stat.Wilson, 1)
	if err != nil {
		t.Fatal(err)
	}
	// Least where the share is just above 0.2066 down to 0: x = 1 misses it below 0.2066, so
	// coverage there is 1-p; just below 0.2066 that is 0.794.
	if math.Abs(c.least-(1-0.206)) > 2e-3 {
		t.Errorf("least %v at %v", c.least, c.at)
	}
	exact, err := shareCoverage(stat.ClopperPearson, 15)
	if err != nil || exact.least < 0.95 {
		t.Errorf("Clopper-Pearson covers %v at %v (%v)", exact.least, exact.at, err)
	}
}

func TestBinomialSumsToOne(t *testing.T) {
	for _, n := range []int{1, 7, 2000} {
		for _, p := range []float64{0.005, 0.37, 0.995} {
			sum, mean := 0.0, 0.0
			for x, chance := range binomial(n, p) {
				sum += chance
				mean += float64(x) * chance
			}
			if math.Abs(sum-1) > 1e-9 || math.Abs(mean-float64(n)*p) > 1e-6*float64(n) {
				t.Errorf("n %d, p %v: sum %v, mean %v", n, p, sum, mean)
			}
		}
	}
}

func TestPromiseCanBreak(t *testing.T) {
	// A method that is too narrow must be caught: Wilson at 80% sold as 95%.
	c, err := shareCoverage(func(x, n int, _ float64) (stat.Interval, error) { return stat.Wilson(x, n, 0.80) }, 50)
	if err != nil || c.mean > 0.85 {
		t.Errorf("coverage %v (%v)", c.mean, err)
	}
	var table Table
	table.expect(c.mean >= 0.94, "covers %.2f", c.mean)
	if len(table.Broken) != 1 {
		t.Errorf("broken %v", table.Broken)
	}
	if text := Markdown(Result{Section{Title: "One"}, table, Effort{}}); !strings.Contains(text, "(broken)") {
		t.Errorf("the document hides a broken promise:\n%s", text)
	}
}

// The quickest simulated sections run, hold, and give the same files twice.
func TestRunIsRepeatable(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates")
	}
	var first [2][]byte
	for round := range 2 {
		dir := t.TempDir()
		var talk bytes.Buffer
		args := []string{"--out", dir, "--effort", "0.05", "--only", "pooling,discovery,charts"}
		if code := run(context.Background(), args, &talk); code != 0 {
			t.Fatalf("exit %d: %s", code, &talk)
		}
		for i, name := range []string{"calibration.md", "calibration.csv"} {
			text, err := os.ReadFile(filepath.Join(dir, name))
			if err != nil {
				t.Fatal(err)
			}
			if strings.Contains(string(text), "NaN") || strings.Contains(string(text), "Inf") {
				t.Errorf("%s holds a value that is no number", name)
			}
			if round == 0 {
				first[i] = text
			} else if !bytes.Equal(first[i], text) {
				t.Errorf("%s differs between two runs of one seed", name)
			}
		}
	}
}

// A section that is measured again leaves the others as they are, text and rows.
func TestOnlyKeepsTheRest(t *testing.T) {
	dir := t.TempDir()
	read := func(name string) string {
		text, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	for _, step := range []struct {
		only, seed string
		holds      []string // in the text
	}{
		{"tests", "7", []string{"Seed 7"}},
		{"discovery", "8", []string{"Seed 7", "Seed 8"}},
		{"tests", "9", []string{"Seed 9", "Seed 8"}},
	} {
		var talk bytes.Buffer
		if code := run(context.Background(), []string{"--out", dir, "--effort", "0.05", "--seed", step.seed, "--only", step.only}, &talk); code != 0 {
			t.Fatalf("exit %d: %s", code, &talk)
		}
		md, rows := read(mdName), read(csvName)
		for _, want := range step.holds {
			if strings.Count(md, want) != 1 {
				t.Errorf("%s: %q stands %d times in:\n%s", step.only, want, strings.Count(md, want), md)
			}
		}
		for _, s := range sections() {
			if heads, of := strings.Count(md, "## "+s.Title+"\n"), strings.Contains(rows, "\n"+s.ID+",1,"); heads > 1 || (heads == 1) != of {
				t.Errorf("%s stands %d times in the text; in the rows: %v", s.ID, heads, of)
			}
		}
	}
}

// Pictures are well-formed, whatever a name holds, and no mark lies outside.
func TestFiguresAreWellFormed(t *testing.T) {
	list := []Figure{
		whiskers("w", "a < b", "months", []whisker{{"<one> & \"two\"", 0, 0.02, 0.11}, {"two", 0.9, 1, 1}}, 0.05),
		panels("p", "a & b", "found", []string{"1", "2"}, []panel{{"one & all", []curve{{"2 times", []float64{0, 1}}}}, {"two", nil}}, 3),
	}
	for _, f := range list {
		in := xml.NewDecoder(strings.NewReader(f.SVG))
		var box [4]float64
		for {
			mark, err := in.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", f.Name, err)
			}
			start, ok := mark.(xml.StartElement)
			if !ok {
				continue
			}
			for _, a := range start.Attr {
				if a.Name.Local == "viewBox" {
					if _, err := fmt.Sscan(a.Value, &box[0], &box[1], &box[2], &box[3]); err != nil {
						t.Fatal(err)
					}
				}
				edge, known := map[string]float64{"x1": box[2], "x2": box[2], "cx": box[2], "x": box[2], "y1": box[3], "y2": box[3], "cy": box[3], "y": box[3]}[a.Name.Local]
				if v, err := strconv.ParseFloat(a.Value, 64); known && (err != nil || v < 0 || v > edge) {
					t.Errorf("%s: %s of a %s at %s, outside %v", f.Name, a.Name.Local, start.Name.Local, a.Value, box)
				}
			}
		}
	}
}

func TestMisuse(t *testing.T) {
	var talk bytes.Buffer
	if code := run(context.Background(), []string{"--only", "nothing"}, &talk); code != 2 || !strings.Contains(talk.String(), "shares") {
		t.Errorf("exit %d: %s", code, &talk)
	}
	if code := run(context.Background(), []string{"--effort", "0"}, &talk); code != 2 {
		t.Errorf("effort 0: exit %d", code)
	}
}

// Every section has an id of its own and says what it promises.
func TestSectionsAreTold(t *testing.T) {
	seen := make(map[string]bool)
	for _, s := range sections() {
		if seen[s.ID] || s.ID == "" || s.Title == "" || s.Promise == "" || s.About == "" || s.Run == nil {
			t.Errorf("section %q", s.ID)
		}
		seen[s.ID] = true
	}
}
