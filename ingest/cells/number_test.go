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

func TestMoney(t *testing.T) {
	tests := []struct {
		cell     string
		mark     Mark
		home     string
		want     float64
		currency string
		bad      bool
	}{
		{cell: "12.50", want: 12.5},
		{cell: "€12.50", want: 12.5, currency: "EUR"},
		{cell: "12,50 €", want: 12.5, currency: "EUR"},
		{cell: "1.234,56 €", want: 1234.56, currency: "EUR"},
		{cell: "€ 1.234", mark: Comma, want: 1234, currency: "EUR"},
		{cell: "EUR 99,-", want: 99, currency: "EUR"},
		{cell: "99,- €", want: 99, currency: "EUR"},
		{cell: "-€5", want: -5, currency: "EUR"},
		{cell: "€ -5", want: -5, currency: "EUR"},
		{cell: "($1,200.00)", want: -1200, currency: "USD"},
		{cell: "$1,200.00", home: "CAD", want: 1200, currency: "CAD"},
		{cell: "$5", home: "EUR", want: 5, currency: "USD"},
		{cell: "kr. 99,50", want: 99.5, currency: "DKK"},
		{cell: "kr.99", want: 99, currency: "DKK"},
		{cell: "99 kr", home: "SEK", want: 99, currency: "SEK"},
		{cell: "CHF 1'234.50", want: 1234.5, currency: "CHF"},
		{cell: "£20", want: 20, currency: "GBP"},
		{cell: "20 dkk", want: 20, currency: "DKK"},
		{cell: "20 euros", want: 20, currency: "EUR"},
		{cell: "20 parts", bad: true},
		{cell: "free", bad: true},
		{cell: "€", bad: true},
		{cell: "€ 1.234", bad: true},
		{cell: "12 / 15 €", bad: true},
	}
	for _, tt := range tests {
		v, c, ok := Money([]byte(tt.cell), tt.mark, tt.home)
		if ok == tt.bad || ok && (v != tt.want || c != tt.currency) {
			t.Errorf("Money(%q) = %v %q %v, want %v %q %v", tt.cell, v, c, ok, tt.want, tt.currency, !tt.bad)
		}
	}
}

func TestMinutes(t *testing.T) {
	tests := []struct {
		cell string
		per  float64
		want float64 // -1: refused
	}{
		{"45", 1, 45}, {"1.5", 60, 90}, {"1,5", 60, 90}, {"0:45", 1, 45}, {"0:45", 60, 45}, {"01:15", 1, 75}, {"1:15:30", 1, 75.5}, {"1:15 h", 1, 75},
		{"45 min", 1, 45}, {"45min.", 1, 45}, {"45 Minuten", 1, 45}, {"45 minutter", 1, 45}, {"45'", 1, 45}, {"45m", 1, 45},
		{"1h 15m", 1, 75}, {"1h15", 1, 75}, {"1h15m", 1, 75}, {"1 h", 1, 60}, {"1.5 h", 1, 90}, {"1,5 Std.", 1, 90}, {"2 Std. 10 Min.", 1, 130},
		{"1 hour and 15 minutes", 1, 75}, {"1 heure 15 min", 1, 75}, {"1 uur en 15 min", 1, 75}, {"2 horas", 1, 120}, {"1 time 5 min", 1, 65}, {"2 timer", 1, 120},
		{"PT1H15M", 1, 75}, {"PT45M", 1, 45}, {"90 s", 1, 1.5}, {"1d 1h", 1, 1500},
		{"-5", 1, -1}, {"0:60", 1, -1}, {"1m 1h", 1, -1}, {"15 apples", 1, -1}, {"", 1, -1}, {"soon", 1, -1}, {"5 min 5", 1, -1}, {"1:2", 1, -1},
	}
	for _, tt := range tests {
		got, ok := Minutes([]byte(tt.cell), 0, tt.per)
		if !ok {
			got = -1
		}
		if math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("Minutes(%q) = %v, want %v", tt.cell, got, tt.want)
		}
	}
}

func TestQuantity(t *testing.T) {
	for cell, want := range map[string]float64{
		"2": 2, "2,0": 2, "2x": 2, "x2": 2, "2 pcs": 2, "1 Stk.": 1, "3 Stück": 3, "2 uds": 2, "0": 0, "-1": -1, "two": -1, "": -1, "2 m": -1,
	} {
		got, ok := Quantity([]byte(cell), 0)
		if !ok {
			got = -1
		}
		if got != want {
			t.Errorf("Quantity(%q) = %v, want %v", cell, got, want)
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
