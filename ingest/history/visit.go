package history

import (
	"faultgrain/schemas"
)

// A Visit is one ticket, normalised. Strings are copied when appended, so they may stand in memory that is used again;
// empty ones are unknown. Instants are microseconds since 1970 in UTC.
type Visit struct {
	Ticket, Shop string
	Opened       int64
	Ready        int64 // when HasReady
	Collected    int64 // when HasCollected
	HasReady     bool
	HasCollected bool
	Outcome      string
	Maker        string
	Family       string
	Model        string
	Class        string
	Device       Key // of the serial number; zero when there is none
	MadeWeek     string
	SerialPrefix string
	BenchMinutes schemas.Float
	Charge       schemas.Float
	Currency     string
	Technician   Key
	Unread       bool
	Noted        int64 // number of what was noticed, as given to AppendNoted; 0 for nothing
	Found        Found
	PartsCost    schemas.Float // as CostOf gives it
	Raw          uint64        // hash of the rows it was read from, as they stood; comes back from Lookup; 0 is unknown
}

// mended is when the device was mended, if it was. A visit that tells no outcome is taken for a repair.
func (v *Visit) mended() (int64, bool) {
	switch {
	case v.Outcome != "" && v.Outcome != schemas.Repaired:
		return 0, false
	case v.HasReady:
		return v.Ready, true
	case v.HasCollected:
		return v.Collected, true
	}
	return v.Opened, true
}

// Found sums up the faults of a visit, so that most questions need not look at them one by one.
type Found struct {
	Faults     int64  // rows of faults
	Components int64  // of them, those that are no causes
	First      string // of these components, by name; empty without any
	Last       string // of them; empty when there is one at most
	ByText     bool   // all faults were read from free text
}

// Add counts one more fault; they come in the order of their names.
func (f *Found) Add(component, basis string, cause bool) {
	text := basis == schemas.BasisText
	f.ByText = text && (f.ByText || f.Faults == 0)
	f.Faults++
	if cause {
		return
	}
	if f.Components++; f.Components == 1 {
		f.First = component
	} else {
		f.Last = component
	}
}

// A Part is one part line of a visit. Empty strings are unknown.
type Part struct {
	Component, PartNo, Supplier, Lot, Grade string
	Quantity, UnitCost                      schemas.Float
	Currency                                string
}

// CostOf is what part lines cost together; it is unknown without any, or when one has no cost or another currency.
func CostOf(lines []Part, currency string) schemas.Float {
	if len(lines) == 0 {
		return schemas.Float{}
	}
	sum := 0.0
	for i := range lines {
		p := &lines[i]
		if !p.UnitCost.OK || p.Currency != currency {
			return schemas.Float{}
		}
		pieces := 1.0
		if p.Quantity.OK {
			pieces = p.Quantity.V
		}
		sum += pieces * p.UnitCost.V
	}
	return schemas.Known(sum)
}
