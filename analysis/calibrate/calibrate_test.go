package main

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
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
	if text := Markdown([]Result{{Section{Title: "One"}, table}}); !strings.Contains(text, "(broken)") {
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
