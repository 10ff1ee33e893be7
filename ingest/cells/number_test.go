package cells

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestNumberReadsWhatPeopleWrite(t *testing.T) {
	bad := math.Inf(1)
	tests := []struct {
		cell string
		mark Mark
		want float64
	}{
		{"45", 0, 45}, {"-45", 0, -45}, {"+45", 0, 45}, {"45-", 0, -45}, {"(45.50)", 0, -45.5}, {"−45", 0, -45},
		{"12.5", 0, 12.5}, {"12,5", 0, 12.5}, {"12.50", Comma, 12.5}, {"12,50", Point, 12.5},
		{"1.234", 0, bad}, {"1,234", 0, bad}, {"1.234", Point, 1.234}, {"1.234", Comma, 1234}, {"1,234", Point, 1234}, {"1,234", Comma, 1.234},
		{"0.500", 0, 0.5}, {"0,500", Point, 0.5}, {".5", 0, 0.5}, {",500", 0, 0.5}, {"1234.567", 0, 1234.567},
		{"1.234,56", 0, 1234.56}, {"1,234.56", 0, 1234.56}, {"1.234.567", 0, 1234567}, {"1,234,567.8", 0, 1234567.8},
		{"1 234,56", 0, 1234.56}, {"1\u00a0234,56", 0, 1234.56}, {"1\u202f234", 0, 1234}, {"1'234.50", 0, 1234.5}, {"1’234", 0, 1234}, {"1_000", 0, 1000},
		{"1 234,567", 0, 1234.567},
		{"12,-", 0, 12}, {"12.–", 0, 12}, {"1.234,-", 0, bad}, {"1.234,-", Comma, 1234}, {"12.", 0, 12},
		{"1.5E+03", 0, 1500}, {"2e-2", 0, 0.02},
		{"12345678901234567890", 0, 12345678901234567890},
		{"", 0, bad}, {"-", 0, bad}, {"abc", 0, bad}, {"12a", 0, bad}, {"1.2.3", 0, bad}, {"1.23.456", 0, bad}, {"1,2,3", 0, bad},
		{"1 23", 0, bad}, {"10.0.0.1", 0, bad}, {"NaN", 0, bad}, {"Inf", 0, bad}, {"1e999", 0, bad}, {"--5", 0, bad}, {"1,234.567.8", 0, bad},
		{"12:30", 0, bad}, {"5%", 0, bad},
	}
	for _, tt := range tests {
		got, ok := Number([]byte(tt.cell), tt.mark)
		if !ok {
			got = bad
		}
		if got != tt.want {
			t.Errorf("Number(%q, %q) = %v, want %v", tt.cell, tt.mark, got, tt.want)
		}
	}
}

// strconv is the reference for plain decimal numbers.
func TestNumberAgreesWithStrconv(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`-?[0-9]{1,18}(\.[0-9]{1,12})?`).Draw(t, "number")
		want, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		for mark, cell := range map[Mark]string{Point: s, Comma: strings.Replace(s, ".", ",", 1)} {
			if got, ok := Number([]byte(cell), mark); !ok || got != want {
				t.Fatalf("Number(%q, %q) = %v, %v, want %v", cell, mark, got, ok, want)
			}
		}
	})
}

func TestMarkIsSettledFromTheColumn(t *testing.T) {
	tests := []struct {
		cells string
		want  Mark
		open  int64
	}{
		{"1.234|12,50|7", Comma, 1},
		{"1.234|12.50", Point, 1},
		{"1.234|2.500", 0, 2},
		{"1.234.567|1.234", Comma, 1},
		{"€ 1.234|€ 12,50", Comma, 1},
		{"45|60", 0, 0},
	}
	for _, tt := range tests {
		var v MarkVote
		for _, c := range strings.Split(tt.cells, "|") {
			v.Add([]byte(c))
		}
		if mark, open := v.Settle(); mark != tt.want || open != tt.open {
			t.Errorf("%s: got %q, %d open, want %q, %d", tt.cells, mark, open, tt.want, tt.open)
		}
	}
}

func BenchmarkNumber(b *testing.B) {
	cell := []byte("1234.56")
	b.ReportAllocs()
	for b.Loop() {
		Number(cell, Point)
	}
}
