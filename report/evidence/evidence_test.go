package evidence

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"faultgrain/schemas"
)

func TestFind(t *testing.T) {
	list := []Bench{{Model: "Lark P4", Maker: "Lark"}, {Model: "Lark P4 Plus", Maker: "Lark"}, {Model: "LARK P4", Maker: "LARK"}, {Model: "Varnby Plover 8", Maker: "Varnby"}, {Model: "Varnby Plover 8 Pro", Maker: "Varnby"}, {Model: "Brindle T2"}}
	for _, tc := range []struct {
		name, want string
		fits       int
		near       []string
	}{
		{"Lark P4", "Lark P4", 0, nil},          // the exact name, whatever else is written like it
		{"plover 8", "Varnby Plover 8", 0, nil}, // without its maker
		{"varnbyplover8pro", "Varnby Plover 8 Pro", 0, nil},
		{"plover", "", 2, nil},
		{"lark-p4", "", 2, nil},
		{"p4 plus", "Lark P4 Plus", 0, nil},
		{"Brindel T2", "", 0, []string{"Brindle T2"}},
		{"", "", 0, nil},
	} {
		b, err := Find(list, tc.name)
		var miss *schemas.NameError
		switch {
		case tc.want != "" && (err != nil || b.Model != tc.want):
			t.Errorf("%q: got %q, %v; want %q", tc.name, b.Model, err, tc.want)
		case tc.want == "" && (!errors.As(err, &miss) || len(miss.Fits) != tc.fits || !slices.Equal(miss.Nears, tc.near)):
			t.Errorf("%q: got %q, %v; want %d that fit and suggestions %q", tc.name, b.Model, err, tc.fits, tc.near)
		}
	}
}

func TestResting(t *testing.T) {
	found := []schemas.Finding{
		{ID: "a", Row: schemas.RowRef{Table: "shares", Key: map[string]string{"model": "Lark P4", "component": "battery"}}},
		{ID: "weaker", Row: schemas.RowRef{Table: "shares", Key: map[string]string{"model": "Lark P4", "component": "battery"}}},
		{ID: "class", Row: schemas.RowRef{Table: "shares", Key: map[string]string{"class": "tablet"}}},
		{ID: "elsewhere", Row: schemas.RowRef{Table: "pairs", Key: map[string]string{"model": "Lark P4"}}},
		{ID: "unknown column", Row: schemas.RowRef{Table: "shares", Key: map[string]string{"colour": ""}}},
		{ID: "no text", Row: schemas.RowRef{Table: "shares", Key: map[string]string{"faults": "3"}}},
	}
	of := Resting[schemas.Share](found, "shares")
	for _, tc := range []struct {
		row  schemas.Share
		want string
	}{
		{schemas.Share{Model: "Lark P4", Component: "battery"}, "a"},
		{schemas.Share{Class: "tablet", Model: "Brindle T2"}, "class"},
		{schemas.Share{Model: "Lark P4", Component: "hinge", Faults: 3}, ""},
	} {
		if f, ok := of(tc.row); f.ID != tc.want || ok != (tc.want != "") {
			t.Errorf("%+v: got %q, want %q", tc.row, f.ID, tc.want)
		}
	}
}

func TestBenches(t *testing.T) {
	tables := &Tables{
		Shares:   []schemas.Share{{Model: "Few", Component: "hinge", Faults: 2, Visits: 5}, {Model: "Many", Component: "hinge", Visits: 50}, {Model: "Many", Component: "fan", Faults: 9, Visits: 50}},
		Times:    []schemas.Time{{Model: schemas.Any, Component: "fan", Jobs: 3}, {Model: "Many", Component: "fan", ComponentB: "hinge", Jobs: 9}, {Model: "Many", Component: "fan", Jobs: 1}},
		Pairs:    []schemas.Pair{{Scope: "Many", Unit: "visit", Both: 1}, {Scope: "Many", Unit: "device-30d", Both: 1}, {Scope: "Gone", Unit: "visit", Both: 1}},
		Trends:   []schemas.Trend{{Month: "2026-04", Model: "Many", Direction: "rising"}, {Month: "2026-05", Model: "Many", Direction: "rising"}, {Month: "2026-05", Model: "Few", Direction: "steady"}},
		Batches:  []schemas.Batch{{Models: "Few;Many"}},
		Findings: []schemas.Finding{{Subject: schemas.Subject{Model: "Many", Models: []string{"Many", "Few"}}}},
	}
	list := tables.Benches()
	if len(list) != 2 || list[0].Model != "Many" || list[1].Model != "Few" {
		t.Fatalf("got %+v, want the model with the most visits first and none without data", list)
	}
	many, few := list[0], list[1]
	if len(many.Shares) != 1 || len(many.Pairs) != 1 || len(many.Times) != 2 || many.Times[0].ComponentB != "" || len(many.Moving) != 1 || many.Moving[0].Month != "2026-05" || len(many.Batches) != 1 || len(many.Findings) != 1 {
		t.Errorf("got %+v", many)
	}
	if len(few.Moving) != 0 || len(few.Findings) != 1 || few.Visits != 5 {
		t.Errorf("got %+v", few)
	}
}

func TestLoadErrors(t *testing.T) {
	dir := t.TempDir()
	if _, err := Load(t.Context(), dir); !errors.Is(err, ErrNone) {
		t.Errorf("no tables: %v", err)
	}
	if err := os.Mkdir(filepath.Join(dir, "tables"), 0o755); err != nil {
		t.Fatal(err)
	}
	if _, err := Load(t.Context(), dir); !errors.Is(err, ErrNone) {
		t.Errorf("no findings: %v", err)
	}
	for text, want := range map[string]string{
		`{"version":2}`:                    "version 2",
		`{"version":1,"as_of":"May 2026"}`: "want a day such as 2026-05-31",
		`{`:                                "run faultgrain analyse again",
	} {
		if err := os.WriteFile(filepath.Join(dir, "findings.json"), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if _, err := Load(t.Context(), dir); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v, want %q", text, err, want)
		}
	}
}

// Findings tell which tables they were written with, and are not read beside others.
func TestMixedTables(t *testing.T) {
	shares, times := "model,component\nLark 7,battery\n", "component\n"
	sum := func(text string) string { return fmt.Sprintf("%x", sha256.Sum256([]byte(text))) }
	sums := fmt.Sprintf(`{"tables/shares.csv":%q,"tables/times.csv":%q,"tables/orders/x.csv":"never read"}`, sum(shares), sum(times))
	for name, tc := range map[string]struct {
		sums  string
		files map[string]string
		says  string // empty: is read
	}{
		"its own":             {sums, map[string]string{"shares": shares, "times": times}, ""},
		"a pool beside them":  {sums, map[string]string{"shares": shares, "times": times, "pool_shops": "shop\n", "quality": "topic\n"}, ""},
		"written without":     {`{}`, map[string]string{"shares": shares}, "tables/shares.csv"},
		"tells of none":       {`null`, map[string]string{"shares": shares}, ""},
		"another's":           {sums, map[string]string{"shares": shares + "Lark 8,hinge\n", "times": times}, "tables/shares.csv"},
		"one is missing":      {sums, map[string]string{"shares": shares}, "tables/times.csv is missing"},
		"one more than told":  {sums, map[string]string{"shares": shares, "times": times, "pairs": "scope\n"}, "tables/pairs.csv"},
		"the sum of the name": {`{"tables/shares.csv":"` + sum("shares") + `"}`, map[string]string{"shares": shares}, "tables/shares.csv"},
	} {
		dir := t.TempDir()
		if err := errors.Join(os.Mkdir(filepath.Join(dir, "tables"), 0o755),
			os.WriteFile(filepath.Join(dir, "findings.json"), []byte(`{"version":1,"as_of":"2026-05-31","tables":`+tc.sums+`}`), 0o644)); err != nil {
			t.Fatal(err)
		}
		for table, text := range tc.files {
			if err := os.WriteFile(filepath.Join(dir, "tables", table+".csv"), []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		_, err := Load(t.Context(), dir)
		switch {
		case tc.says == "" && err != nil:
			t.Errorf("%s: %v", name, err)
		case tc.says != "" && (!errors.Is(err, ErrMixed) || !strings.Contains(err.Error(), tc.says) || !strings.Contains(err.Error(), "run faultgrain analyse again")):
			t.Errorf("%s: got %v, want ErrMixed that names %s", name, err, tc.says)
		}
	}
}
