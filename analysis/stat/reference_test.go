package stat

import (
	"encoding/csv"
	"flag"
	"fmt"
	"math"
	"os"
	"strconv"
	"sync"
	"testing"
)

// Check values live in testdata. reference.csv holds R's value of each quantity (written by
// reference.R, 15 digits); published.csv holds what the source prints, to its digits, and
// its standing: confirmed (the printed value was seen), memory (it was recalled, not seen),
// R-only (nothing is claimed to be printed). The source stands beside each check below.

type checkValue struct {
	r                   float64
	printed, standing   string
	published, tolerate float64
}

type checkKey struct{ id, quantity string }

func loadChecks() (map[checkKey]checkValue, error) {
	values := make(map[checkKey]checkValue)
	rows, err := readCSV("testdata/reference.csv")
	if err != nil {
		return nil, err
	}
	for _, row := range rows {
		r, err := strconv.ParseFloat(row[2], 64)
		if err != nil {
			return nil, fmt.Errorf("%s %s: %w", row[0], row[1], err)
		}
		values[checkKey{row[0], row[1]}] = checkValue{r: r}
	}
	if rows, err = readCSV("testdata/published.csv"); err != nil {
		return nil, err
	}
	for _, row := range rows {
		key := checkKey{row[0], row[1]}
		v, ok := values[key]
		if !ok {
			return nil, fmt.Errorf("%s %s is published but not in reference.csv", row[0], row[1])
		}
		v.printed, v.standing = row[2], row[3]
		if v.printed != "" {
			if v.published, err = strconv.ParseFloat(row[2], 64); err != nil {
				return nil, err
			}
			if v.tolerate, err = strconv.ParseFloat(row[4], 64); err != nil {
				return nil, err
			}
		}
		values[key] = v
	}
	return values, nil
}

func readCSV(name string) ([][]string, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return nil, err
	}
	return rows[1:], nil
}

// checks reads the files once, and inside a test, so that the test cache notices a change.
var checks = sync.OnceValues(loadChecks)

// checkUsed marks the rows some test has looked at.
var checkUsed = make(map[checkKey]bool)

// A full run must look at every check value: one that no test compares proves nothing.
func TestMain(m *testing.M) {
	code := m.Run()
	if code == 0 && flag.Lookup("test.run").Value.String() == "" && flag.Lookup("test.skip").Value.String() == "" && flag.Lookup("test.list").Value.String() == "" {
		values, err := checks()
		if err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		for key := range values {
			if !checkUsed[key] {
				fmt.Printf("check value never compared: %s %s\n", key.id, key.quantity)
				code = 1
			}
		}
	}
	os.Exit(code)
}

// agrees compares got with R's value to 1e-8 relative, and with the printed digits.
func agrees(t *testing.T, id, quantity string, got float64) {
	t.Helper()
	agreesTo(t, 1e-8, id, quantity, got)
}

func agreesTo(t *testing.T, relative float64, id, quantity string, got float64) {
	t.Helper()
	key := checkKey{id, quantity}
	values, err := checks()
	if err != nil {
		t.Fatal(err)
	}
	v, ok := values[key]
	if !ok {
		t.Fatalf("%s: no check value named %q", id, quantity)
	}
	checkUsed[key] = true
	if !(math.Abs(got-v.r) <= relative*math.Abs(v.r)+1e-13) {
		t.Errorf("%s %s: got %.12g, R gives %.12g", id, quantity, got, v.r)
	}
	if v.printed != "" && !(math.Abs(got-v.published) <= v.tolerate) {
		t.Errorf("%s %s: got %.12g, the source prints %s (%s)", id, quantity, got, v.printed, v.standing)
	}
}

// near compares with a tolerance relative to want, or absolute where want is 0.
func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*max(math.Abs(want), 1e-300) || got == want) {
		t.Errorf("%s: got %.15g, want %.15g", what, got, want)
	}
}

// value unwraps (T, error) where an error fails the test.
func value[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}
