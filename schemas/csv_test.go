package schemas

import (
	"bytes"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

type sample struct {
	Name  string `csv:"name"`
	Count int    `csv:"count"`
	Share Float  `csv:"share"`
}

func TestCSVComesBackAsItWent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.SliceOf(rapid.Custom(func(t *rapid.T) sample {
			s := sample{
				// A bare carriage return before a line feed is folded by encoding/csv; everything else survives.
				Name:  strings.ReplaceAll(rapid.String().Draw(t, "name"), "\r", ""),
				Count: rapid.IntRange(-1e9, 1e9).Draw(t, "count"),
			}
			if rapid.Bool().Draw(t, "known") {
				s.Share = Known(float64(rapid.IntRange(-1e6, 1e6).Draw(t, "share")) / 1024)
			}
			return s
		})).Draw(t, "rows")
		var b bytes.Buffer
		if err := WriteCSV(&b, rows); err != nil {
			t.Fatal(err)
		}
		back, err := ReadCSV[sample](&b, "sample.csv")
		if err != nil {
			t.Fatal(err)
		}
		if len(back) != len(rows) {
			t.Fatalf("%d rows came back of %d", len(back), len(rows))
		}
		for i := range rows {
			if back[i].Name != rows[i].Name || back[i].Count != rows[i].Count || back[i].Share.String() != rows[i].Share.String() {
				t.Fatalf("row %d: wrote %+v, read %+v", i, rows[i], back[i])
			}
		}
	})
}

func TestCSVCarriesNoFormula(t *testing.T) {
	for _, evil := range []string{`=1+1`, `+1`, `-1`, `@SUM(A1)`, "\t=1", "\r=1", `=HYPERLINK("x")`} {
		var b bytes.Buffer
		if err := WriteCSV(&b, []sample{{Name: evil}}); err != nil {
			t.Fatal(err)
		}
		_, line, _ := strings.Cut(b.String(), "\n")
		if cell := strings.TrimPrefix(line, `"`); !strings.HasPrefix(cell, "'") {
			t.Errorf("%q was written as %q: a spreadsheet would run it", evil, line)
		}
	}
}

func TestReadCSVNamesThePlace(t *testing.T) {
	for _, tc := range []struct{ text, want string }{
		{"", "shares.csv: empty file"},
		{"name,count,share\na,1,\nb,many,\n", `shares.csv:3: column "count": found "many", want a whole number`},
		{"name,count,share\na,1,NaN\n", `shares.csv:2: column "share": found "NaN", want a finite number or nothing`},
	} {
		_, err := ReadCSV[sample](strings.NewReader(tc.text), "shares.csv")
		if err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%q: error %v, want %q", tc.text, err, tc.want)
		}
	}
}
