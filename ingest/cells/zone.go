package cells

import "time"

// Zone turns moments of the shop's clock into instants. It is immutable, and quick because the
// offset of every whole day is worked out once; build one per run.
type Zone struct {
	loc    *time.Location
	first  int32
	offset []int32 // seconds east of UTC on the day; changing on days when the clocks change
}

const changing = 1 << 30

// NewZone prepares the days from 1970 to 2099. A nil location is UTC.
func NewZone(loc *time.Location) *Zone {
	if loc == nil {
		loc = time.UTC
	}
	z := &Zone{loc: loc, first: dayNumber(firstYear, 1, 1) - 1}
	n := int(dayNumber(lastYear+1, 1, 2) - z.first)
	z.offset = make([]int32, n)
	before := offsetAt(loc, int64(z.first)*86400-86400)
	for i := range z.offset {
		// The local day lies between these instants for any offset of less than a day.
		midnight := int64(z.first+int32(i)) * 86400
		z.offset[i] = before
		if offsetAt(loc, midnight+2*86400) != before {
			z.offset[i] = changing
		}
		before = offsetAt(loc, midnight)
	}
	return z
}

func offsetAt(loc *time.Location, unix int64) int32 {
	_, s := time.Unix(unix, 0).In(loc).Zone()
	return int32(s)
}

// Location is the zone it was built for.
func (z *Zone) Location() *time.Location { return z.loc }

// Micros gives Unix microseconds, UTC. A cell's own offset wins over the zone. A clock reading that
// the change to summer time skips, or that the change back repeats, is read as time.Date reads it.
func (z *Zone) Micros(m Moment) int64 {
	local := int64(m.Day)*86400 + int64(m.Second)
	if m.Fixed {
		return (local-int64(m.Offset))*1e6 + int64(m.Micro)
	}
	if i := m.Day - z.first; i >= 0 && int(i) < len(z.offset) && z.offset[i] != changing {
		return (local-int64(z.offset[i]))*1e6 + int64(m.Micro)
	}
	y, mon, d := m.Date()
	return time.Date(y, mon, d, 0, 0, int(m.Second), 0, z.loc).Unix()*1e6 + int64(m.Micro)
}
