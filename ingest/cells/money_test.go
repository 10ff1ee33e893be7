package cells

import "testing"

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
		{cell: "EUR −5", want: -5, currency: "EUR"},
		{cell: "−5 €", want: -5, currency: "EUR"},
		{cell: "-12,50 EUR", want: -12.5, currency: "EUR"},
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
