package stat

import "fmt"

// A Table2 is a 2x2 table of counts. The rows are two groups (or having and lacking a
// trait), the columns are the outcome and its absence:
//
//	         yes  no
//	group 1   A    B
//	group 2   C    D
type Table2 struct{ A, B, C, D int }

func (t Table2) total() int { return t.A + t.B + t.C + t.D }

func (t Table2) check() error {
	if t.A < 0 || t.B < 0 || t.C < 0 || t.D < 0 {
		return outOfRange("table %d %d / %d %d: want counts of 0 or more", t.A, t.B, t.C, t.D)
	}
	if t.total() == 0 {
		return fmt.Errorf("%w: an empty 2x2 table", ErrNoData)
	}
	return nil
}

// fixed reports whether a margin is empty, so that A can have only one value.
func (t Table2) fixed() bool {
	return t.A+t.B == 0 || t.C+t.D == 0 || t.A+t.C == 0 || t.B+t.D == 0
}

// support returns the least and greatest A that the margins allow.
func (t Table2) support() (lo, hi int) {
	row, col, other := t.A+t.B, t.A+t.C, t.C+t.D
	return max(0, col-other), min(row, col)
}
