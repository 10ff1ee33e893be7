package cells

// bare tells whether the cell is one number: digits with at most one mark.
func bare(b []byte) bool {
	marks, digits := 0, 0
	for _, c := range b {
		switch {
		case digit(c):
			digits++
		case c == '.' || c == ',':
			marks++
		default:
			return false
		}
	}
	return digits > 0 && marks <= 1
}

// compact reads 20260503, 202605031011 and 20260503101112.
func compact(b []byte) (Moment, bool) {
	if len(b) != 8 && len(b) != 12 && len(b) != 14 {
		return Moment{}, false
	}
	n, ok := fixedDigits(b[:8])
	if !ok {
		return Moment{}, false
	}
	if y, m, d := n/10000, n/100%100, n%100; onCalendar(y, m, d) {
		out := Moment{Day: dayNumber(y, m, d)}
		if len(b) == 8 {
			return out, true
		}
		clock, ok := fixedDigits(b[8:])
		if !ok {
			return Moment{}, false
		}
		if len(b) == 12 {
			clock *= 100
		}
		ok = out.setClock(clock/10000, clock/100%100, clock%100)
		return out, ok
	}
	return Moment{}, false
}

// compactTail reads 03052026 in the order; compact never reads such a cell, for no month is 19 or 20.
func compactTail(b []byte, o Order) (Moment, bool) {
	if len(b) != 8 || o != DayFirst && o != MonthFirst {
		return Moment{}, false
	}
	n, ok := fixedDigits(b)
	if !ok {
		return Moment{}, false
	}
	f := fields{a: n / 1000000, b: n / 10000 % 100, c: n % 10000, la: 2, lb: 2, lc: 4}
	y, m, d, ok := f.in(o)
	if !ok {
		return Moment{}, false
	}
	return finish(y, m, d, nil)
}

// number reads a bare number: a compact date, or what the column counts.
func (d Dates) number(b []byte) (Moment, bool) {
	if m, ok := compact(b); ok {
		return m, true
	}
	if m, ok := compactTail(b, d.Order); ok {
		return m, true
	}
	if d.Count == NoCount || countOf(b) != d.Count {
		return Moment{}, false
	}
	v, ok := Number(b, markIn(b))
	if !ok {
		return Moment{}, false
	}
	var micros int64
	switch d.Count {
	case ExcelDays:
		const epoch = -25569 // 1899-12-30
		seconds := int64(v*86400 + 0.5)
		micros = (seconds + epoch*86400) * 1e6
	case UnixSeconds:
		micros = int64(v * 1e6)
	case UnixMillis:
		micros = int64(v * 1e3)
	}
	out := split(micros)
	out.Fixed = d.Count != ExcelDays
	return out, true
}

// countOf tells what a bare number would count: a day from 1970 to 2099, or an instant from 2000 to 2099.
func countOf(b []byte) Count {
	v, ok := Number(b, markIn(b))
	switch {
	case !ok:
	case v >= 25569 && v < 73051:
		return ExcelDays
	case v >= 946684800 && v < 4102444800:
		return UnixSeconds
	case v >= 946684800e3 && v < 4102444800e3:
		return UnixMillis
	}
	return NoCount
}

// markIn takes a number's only mark for its decimal mark: counts have no thousands.
func markIn(b []byte) Mark {
	for _, c := range b {
		if c == '.' || c == ',' {
			return Mark(c)
		}
	}
	return Point
}

func split(micros int64) Moment {
	const perDay = 86400 * 1e6
	day := micros / perDay
	if micros%perDay < 0 {
		day--
	}
	in := micros - day*perDay
	return Moment{Day: int32(day), Second: int32(in / 1e6), Micro: int32(in % 1e6), Clock: in != 0}
}
