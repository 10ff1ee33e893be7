package cells

import "time"

// Order says which of day, month and year stands first where digits alone don't tell.
type Order uint8

// Orders. Unsettled reads only dates that need no order: 2026-05-03, 3 May 2026, 03/03/2026.
const (
	Unsettled Order = iota
	DayFirst
	MonthFirst
	YearFirst // of two-digit years: 26-05-03
)

// String gives the word that --dates and columns.toml use.
func (o Order) String() string {
	switch o {
	case DayFirst:
		return "day-first"
	case MonthFirst:
		return "month-first"
	case YearFirst:
		return "year-first"
	}
	return "iso"
}

// ParseOrder reads the word that --dates and columns.toml use; empty and "auto" leave it to the column.
func ParseOrder(word string) (Order, bool) {
	switch word {
	case "", "auto":
		return Unsettled, true
	case "day-first":
		return DayFirst, true
	case "month-first":
		return MonthFirst, true
	case "year-first":
		return YearFirst, true
	}
	return Unsettled, false
}

// Count says what a bare number in a date column counts.
type Count uint8

// Counts. ExcelDays are days since 1899-12-30 (so that 1900-03-01 is 61, as spreadsheets count);
// UnixSeconds and UnixMillis count from 1970-01-01 UTC.
const (
	NoCount Count = iota
	ExcelDays
	UnixSeconds
	UnixMillis
)

// Dates says how a column writes its dates. The zero value reads what needs no settling.
type Dates struct {
	Order Order
	Count Count
}

// Moment is a calendar day and clock reading as a cell told it. Zone.Micros turns it into an instant.
type Moment struct {
	Day    int32 // days since 1970-01-01
	Second int32 // of the day; 0 when the cell has no clock reading
	Micro  int32 // microseconds
	Offset int32 // seconds east of UTC, when Fixed
	Clock  bool  // the cell had a clock reading
	Fixed  bool  // the cell told its own offset
}

// Accepted years of a four-digit date. Two-digit years from 70 are 19xx, the others 20xx.
const (
	firstYear = 1970
	lastYear  = 2099
)

// Parse reads a date with or without clock reading, offset and weekday: ISO 8601 (2026-05-03,
// 20260503T101112Z), digits in the column's order with / . - or spaces (03/04/2026, 3.4.26),
// month names of six languages (3. Mai 2026, May 3rd, 2026, 3-abr-26), and, where the column
// counts, spreadsheet or Unix numbers. Years run from 1970 to 2099.
func (d Dates) Parse(cell []byte) (Moment, bool) {
	b := Trim(cell)
	if len(b) >= 10 && b[4] == '-' && b[7] == '-' { // hot path
		if y, ok := fixedDigits(b[:4]); ok {
			m, ok1 := fixedDigits(b[5:7])
			day, ok2 := fixedDigits(b[8:10])
			if ok1 && ok2 {
				return finish(y, m, day, b[10:])
			}
		}
	}
	t, ok := triple(b)
	if !ok {
		if bare(b) {
			return d.number(b)
		}
		return spelledDate(b)
	}
	y, m, day, ok := t.in(d.Order)
	if !ok {
		return Moment{}, false
	}
	return finish(y, m, day, t.rest)
}

// finish checks the day against the calendar and reads what follows it.
func finish(y, m, d int, rest []byte) (Moment, bool) {
	if !onCalendar(y, m, d) {
		return Moment{}, false
	}
	out := Moment{Day: dayNumber(y, m, d)}
	if len(rest) == 0 {
		return out, true
	}
	ok := out.readClock(rest)
	return out, ok
}

// fields is a date written as three groups of digits.
type fields struct {
	a, b, c    int
	la, lb, lc int // digits in each group
	rest       []byte
}

// triple splits "3.4.2026 10:15" into its groups; the separators must be equal and of / . - or space.
func triple(b []byte) (fields, bool) {
	var f fields
	var ok bool
	var sep byte
	if f.a, f.la, b, ok = group(b, 4); !ok {
		return f, false
	}
	if sep, b = separator(b); sep == 0 {
		return f, false
	}
	if f.b, f.lb, b, ok = group(b, 2); !ok {
		return f, false
	}
	again, b := separator(b)
	if again != sep {
		return f, false
	}
	if f.c, f.lc, b, ok = group(b, 4); !ok {
		return f, false
	}
	f.rest = b
	if len(b) > 0 && (b[0] == sep && sep != ' ') { // 10.0.0.1, 1-2-3-4; a full stop may end "03.04.2026."
		if sep != '.' || len(b) > 1 {
			return f, false
		}
		f.rest = nil
	}
	switch {
	case f.la == 4 && f.lb <= 2 && f.lc <= 2, f.la <= 2 && f.lc == 4, f.la <= 2 && f.lc == 2:
		return f, true
	}
	return f, false
}

// group reads up to limit digits; more is no group.
func group(b []byte, limit int) (value, n int, rest []byte, ok bool) {
	for n < len(b) && digit(b[n]) {
		if n == limit {
			return 0, 0, b, false
		}
		value = value*10 + int(b[n]-'0')
		n++
	}
	return value, n, b[n:], n > 0
}

// separator reads one of / . - or space, with spaces around it.
func separator(b []byte) (byte, []byte) {
	var sep byte
	for len(b) > 0 {
		switch c := b[0]; {
		case c == ' ':
			if sep == 0 {
				sep = ' '
			}
		case (c == '/' || c == '.' || c == '-') && (sep == 0 || sep == ' '):
			sep = c
		default:
			return sep, b
		}
		b = b[1:]
	}
	return sep, b
}

// in gives year, month and day of the groups read in the order; ok is false where it takes an order
// to tell and none is settled.
func (f fields) in(o Order) (y, m, d int, ok bool) {
	if f.la == 4 {
		return f.a, f.b, f.c, true
	}
	switch o {
	case DayFirst:
		return fullYear(f.c, f.lc), f.b, f.a, true
	case MonthFirst:
		return fullYear(f.c, f.lc), f.a, f.b, true
	case YearFirst:
		if f.lc == 4 { // the order is about two-digit years: this date stands day first or not at all
			return f.in(Unsettled)
		}
		return fullYear(f.a, f.la), f.b, f.c, f.la == 2
	}
	if f.a == f.b && f.lc == 4 {
		return f.c, f.a, f.b, true
	}
	return 0, 0, 0, false
}

// reads tells whether the groups are a calendar day in the order.
func (f fields) reads(o Order) bool {
	y, m, d, ok := f.in(o)
	return ok && onCalendar(y, m, d)
}

func fullYear(y, digits int) int {
	if digits > 2 {
		return y
	}
	if y >= firstYear-1900 {
		return 1900 + y
	}
	return 2000 + y
}

func fixedDigits(b []byte) (int, bool) {
	v := 0
	for _, c := range b {
		if !digit(c) {
			return 0, false
		}
		v = v*10 + int(c-'0')
	}
	return v, len(b) > 0
}

func digit(c byte) bool { return c >= '0' && c <= '9' }

// Date gives the calendar day, for messages.
func (m Moment) Date() (int, time.Month, int) {
	return time.Unix(int64(m.Day)*86400, 0).UTC().Date()
}
