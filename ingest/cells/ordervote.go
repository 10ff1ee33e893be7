package cells

import "math/bits"

// OrderVote gathers from every cell of a date column what the column can tell about its order.
// The zero value is ready. Workers keep one each and Merge them; the result does not depend on how
// the rows were shared out. Columns of one file that can't tell may be merged with those that can.
type OrderVote struct {
	plain  int64          // cells that need no order
	bad    int64          // cells that are no date in any order
	counts [4]int64       // cells per Count; [NoCount] is unused
	masks  [8]int64       // cells by the set of orders that read them, of those that need one
	sample [8]orderSample // of each set, the cell with the lowest line
	first  [2]uint64      // two-digit-year cells: values seen in the first group
	last   [2]uint64      // and in the last
}

type orderSample struct {
	line int64 // 0 is none
	cell string
}

const (
	dayBit = 1 << iota
	monthBit
	yearBit
)

// Add counts one cell; line is the 1-based line it stands on, for messages.
func (v *OrderVote) Add(cell []byte, line int64) {
	b := Trim(cell)
	if len(b) >= 10 && b[4] == '-' && b[7] == '-' && digit(b[0]) { // hot path
		v.plain++
		return
	}
	if Blank(b) {
		return
	}
	f, ok := triple(b)
	if !ok && len(b) == 8 && bare(b) {
		if _, ok := compact(b); !ok {
			if n, all := fixedDigits(b); all {
				f, ok = fields{a: n / 1000000, b: n / 10000 % 100, c: n % 10000, la: 2, lb: 2, lc: 4}, true
				v.addFields(f, b, line)
				return
			}
		}
	}
	if !ok {
		v.addWhole(b)
		return
	}
	v.addFields(f, b, line)
}

func (v *OrderVote) addFields(f fields, b []byte, line int64) {
	if f.la == 4 {
		v.plain++
		return
	}
	mask := 0
	if f.reads(DayFirst) {
		mask |= dayBit
	}
	if f.reads(MonthFirst) {
		mask |= monthBit
	}
	if f.la == 2 && f.lc == 2 {
		if f.reads(YearFirst) {
			mask |= yearBit
		}
		v.first[f.a/64] |= 1 << (f.a % 64)
		v.last[f.c/64] |= 1 << (f.c % 64)
	}
	switch {
	case mask == 0:
		v.bad++
		return
	case mask == dayBit|monthBit && f.a == f.b:
		v.plain++
		return
	}
	v.masks[mask]++
	if s := &v.sample[mask]; s.line == 0 || line < s.line {
		*s = orderSample{line: line, cell: string(b)}
	}
}

func (v *OrderVote) addWhole(b []byte) {
	if bare(b) {
		if c := countOf(b); c != NoCount {
			v.counts[c]++
			return
		}
	}
	if _, ok := (Dates{}).Parse(b); ok {
		v.plain++
		return
	}
	v.bad++
}

// Merge adds what another vote has seen.
func (v *OrderVote) Merge(o *OrderVote) {
	v.plain += o.plain
	v.bad += o.bad
	for i, n := range o.counts {
		v.counts[i] += n
	}
	for i, n := range o.masks {
		v.masks[i] += n
		if s := o.sample[i]; s.line != 0 && (v.sample[i].line == 0 || s.line < v.sample[i].line) {
			v.sample[i] = s
		}
	}
	for i := range v.first {
		v.first[i] |= o.first[i]
		v.last[i] |= o.last[i]
	}
}

// Seen is the number of cells that were not blank.
func (v *OrderVote) Seen() int64 {
	n := v.plain + v.bad
	for _, c := range v.masks {
		n += c
	}
	for _, c := range v.counts {
		n += c
	}
	return n
}

// Dates is the number of cells that read as a date in some order.
func (v *OrderVote) Dates() int64 {
	n := v.plain
	for _, c := range v.masks {
		n += c
	}
	return n
}

// As gives the column's way of writing dates with the order told by a person.
func (v *OrderVote) As(o Order) Dates { return Dates{Order: o, Count: v.count()} }

// count tells what bare numbers count: numbers that make up at least a twentieth of the column, in
// a column that holds nothing much besides them and dates.
func (v *OrderVote) count() Count {
	best := ExcelDays
	for _, c := range []Count{UnixSeconds, UnixMillis} {
		if v.counts[c] > v.counts[best] {
			best = c
		}
	}
	n, seen := v.counts[best], v.Seen()
	if n == 0 || n*20 < seen || (n+v.Dates())*10 < seen*9 {
		return NoCount
	}
	return best
}

// Settle gives the column's way of writing dates. An order is settled by cells that only it can
// read; up to one in fifty may disagree (they will be refused as dates). Where no cell tells, or too
// many disagree, the error is an *AmbiguousDates.
func (v *OrderVote) Settle() (Dates, error) {
	day := v.masks[dayBit] + v.masks[dayBit|yearBit]
	month := v.masks[monthBit] + v.masks[monthBit|yearBit]
	open := v.masks[dayBit|monthBit] + v.masks[dayBit|monthBit|yearBit]
	switch year, sure := v.yearFirst(); {
	case year && sure:
		return v.As(YearFirst), nil
	case year:
		return Dates{}, v.ambiguous(yearBit)
	}
	switch {
	case day == 0 && month == 0 && open == 0:
		return v.As(Unsettled), nil
	case day == 0 && month == 0:
		return Dates{}, v.ambiguous(0)
	case month*50 <= day:
		return v.As(DayFirst), nil
	case day*50 <= month:
		return v.As(MonthFirst), nil
	}
	return Dates{}, v.mixed()
}

// yearFirst tells whether two-digit years may stand first, and whether they surely do. They do where
// nothing else reads the cells. Where other orders read them too, the group that takes more values
// is the day: years are few.
func (v *OrderVote) yearFirst() (may, sure bool) {
	with, without := int64(0), int64(0)
	for mask, n := range v.masks {
		if mask&yearBit != 0 {
			with += n
		} else {
			without += n
		}
	}
	if with == 0 || without*50 > with {
		return false, false
	}
	if only := v.masks[yearBit]; only*50 > with {
		return true, true
	}
	first := bits.OnesCount64(v.first[0]) + bits.OnesCount64(v.first[1])
	last := bits.OnesCount64(v.last[0]) + bits.OnesCount64(v.last[1])
	if last <= first {
		return false, false
	}
	return true, last >= 3*first+3
}

// lowest gives the sample with the lowest line among the sets that satisfy want.
func (v *OrderVote) lowest(want func(mask int) bool) orderSample {
	var best orderSample
	for mask, s := range v.sample {
		if s.line != 0 && want(mask) && (best.line == 0 || s.line < best.line) {
			best = s
		}
	}
	return best
}

func (v *OrderVote) ambiguous(need int) error {
	s := v.lowest(func(mask int) bool { return bits.OnesCount(uint(mask)) > 1 && mask&need == need })
	return &AmbiguousDates{Value: s.cell, Line: s.line, Readings: readings(s.cell)}
}

func (v *OrderVote) mixed() error {
	d := v.lowest(func(mask int) bool { return mask&dayBit != 0 && mask&monthBit == 0 })
	m := v.lowest(func(mask int) bool { return mask&monthBit != 0 && mask&dayBit == 0 })
	return &AmbiguousDates{Value: d.cell, Line: d.line, Readings: readings(d.cell),
		Other: m.cell, OtherLine: m.line}
}
