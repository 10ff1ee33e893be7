package cells

import (
	"math"
	"testing"
)

// Whatever a cell holds: no panic, days within the years we accept, an order never changes a date that needs none.
func FuzzDate(f *testing.F) {
	for _, s := range []string{"2026-05-03T10:11:12.5+02:00", "03/04/2026 3:20 PM", "3. Mai 2026", "45780.5", "1777802400000", "Sun May 3 10:11:12 2026", "26-05-03", "20260503101112", "den 3. maj 2026 kl. 10.15", "1er août 2026"} {
		f.Add([]byte(s))
	}
	zone := NewZone(nil)
	f.Fuzz(func(t *testing.T, cell []byte) {
		plain, known := (Dates{}).Parse(cell)
		for _, d := range []Dates{{}, {Order: DayFirst}, {Order: MonthFirst}, {Order: YearFirst}, {Count: ExcelDays}, {Count: UnixSeconds}, {Count: UnixMillis}} {
			m, ok := d.Parse(cell)
			if !ok {
				continue
			}
			if y, _, _ := m.Date(); y < firstYear || y > lastYear {
				t.Fatalf("%q reads as year %d", cell, y)
			}
			if m.Micro < 0 || m.Micro >= 1e6 || m.Second < 0 || m.Second > 86400 {
				t.Fatalf("%q reads as second %d.%06d", cell, m.Second, m.Micro)
			}
			if known && m != plain {
				t.Fatalf("%q reads as %v, with %+v as %v", cell, plain, d, m)
			}
			zone.Micros(m)
		}
		var v OrderVote
		v.Add(cell, 2)
		if _, err := v.Settle(); err != nil && err.Error() == "" {
			t.Fatal("an error that says nothing")
		}
		Week(cell)
	})
}

// Whatever a cell holds: no panic, finite amounts, and the sign of the currency does not change the amount.
func FuzzMoney(f *testing.F) {
	for _, s := range []string{"€ 1.234,50", "12,-", "CHF 1'234.50", "(5)", "-€5", "−1", "1.5E+03", "kr.99", "12,50 EUR", "1 234,56"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, cell []byte) {
		for _, mark := range []Mark{0, Point, Comma} {
			if v, _, ok := Money(cell, mark, "EUR"); ok && (math.IsNaN(v) || math.IsInf(v, 0)) {
				t.Fatalf("%q reads as %v", cell, v)
			}
			if v, ok := Number(cell, mark); ok {
				w, _, ok := Money(append([]byte("EUR "), Trim(cell)...), mark, "")
				if ok && v != w {
					t.Fatalf("%q is %v, with EUR in front %v", cell, v, w)
				}
			}
			if v, ok := Quantity(cell, mark); ok && !(v >= 0) {
				t.Fatalf("%q reads as %v pieces", cell, v)
			}
		}
		var v MarkVote
		v.Add(cell)
		v.Settle()
		AppendSerial(nil, cell)
	})
}

// Whatever a cell holds: no panic, and minutes that are finite and not below zero.
func FuzzMinutes(f *testing.F) {
	for _, s := range []string{"1h 15m", "0:45", "PT1H15M", "1,5 Std.", "90 Minuten", "1h15", "45'", "1 hour and 5 minutes"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, cell []byte) {
		for _, mark := range []Mark{0, Point, Comma} {
			if v, ok := Minutes(cell, mark, 60); ok && (!(v >= 0) || math.IsInf(v, 0)) {
				t.Fatalf("%q reads as %v minutes", cell, v)
			}
		}
	})
}
