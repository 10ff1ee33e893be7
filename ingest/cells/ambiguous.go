package cells

import (
	"fmt"
	"time"
)

// Reading is one way to read a date.
type Reading struct {
	Order Order
	Date  string // 3 April 2026
}

func readings(cell string) []Reading {
	var out []Reading
	for _, o := range []Order{DayFirst, MonthFirst, YearFirst} {
		m, ok := Dates{Order: o}.Parse([]byte(cell))
		if !ok {
			continue
		}
		y, mon, d := m.Date()
		if r := (Reading{Order: o, Date: fmt.Sprintf("%d %s %d", d, mon, y)}); len(out) == 0 || r.Date != out[len(out)-1].Date {
			out = append(out, r)
		}
	}
	return out
}

// AmbiguousDates says that a whole column can't settle how its dates read. File and Column are for
// the caller to fill in.
type AmbiguousDates struct {
	File, Column string
	Value        string    // a cell that reads both ways; in a mixed column one that reads one way
	Line         int64     // where it stands
	Readings     []Reading // how Value reads
	Other        string    // mixed columns: a cell that reads only the other way
	OtherLine    int64
}

func (e *AmbiguousDates) Error() string {
	where := ""
	if e.File != "" {
		where = fmt.Sprintf("%s:%d: ", e.File, e.Line)
	}
	if e.Column != "" {
		where += fmt.Sprintf("column %q: ", e.Column)
	}
	how := "say which with --dates day-first or --dates month-first, or with the key dates in columns.toml"
	for _, r := range e.Readings {
		if r.Order == YearFirst {
			how = "say which with --dates day-first, month-first or year-first, or with the key dates in columns.toml"
		}
	}
	if e.Other != "" {
		return fmt.Sprintf("%sdates mix two orders: %q can only be day-first, %q on line %d only month-first; mend the file, or %s",
			where, e.Value, e.Other, e.OtherLine, how)
	}
	ways := ""
	for i, r := range e.Readings {
		if i > 0 {
			ways += " or "
		}
		ways += fmt.Sprintf("%s (%s)", r.Date, r.Order)
	}
	return fmt.Sprintf("%s%q is %s, and no date in the column tells; %s", where, e.Value, ways, how)
}

// String of a moment is for messages and tests: 2026-05-03 10:11:12.
func (m Moment) String() string {
	t := time.Unix(int64(m.Day)*86400+int64(m.Second), int64(m.Micro)*1000).UTC()
	return t.Format("2006-01-02 15:04:05")
}
