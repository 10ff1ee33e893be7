package columns

import "strings"

// Meaning is what a column of a log tells.
type Meaning uint8

// Meanings. Unknown columns are never stored and, since they may hold anything, masked.
const (
	Unknown Meaning = iota
	Ticket
	Shop
	Opened
	Ready
	Collected
	Outcome
	Class
	Maker
	Family
	Model
	Serial
	MadeWeek
	Fault
	Found
	Notes
	Part
	PartNo
	Supplier
	Lot
	Grade
	Quantity
	UnitCost
	Minutes
	Charge
	Currency
	Technician
	Personal // customer data: read past, never stored
	Ignore   // told to be left out
	meanings
)

// names are the plain headers of a log that needs no column map, and the words of columns.toml.
const names = "unknown ticket shop opened ready collected outcome class maker family model serial made_week fault found notes " +
	"part part_no supplier lot grade quantity unit_cost minutes charge currency technician personal ignore"

// String gives the plain header.
func (m Meaning) String() string {
	if m >= meanings {
		return "unknown"
	}
	return strings.Fields(names)[m]
}

// ParseMeaning reads a plain header's word, as columns.toml names meanings.
func ParseMeaning(word string) (Meaning, bool) {
	for i, n := range strings.Fields(names) {
		if n == word && i > 0 {
			return Meaning(i), true
		}
	}
	return Unknown, false
}

// Masked tells whether quarantined rows show stars instead of this column's cells.
func (m Meaning) Masked() bool {
	switch m {
	case Unknown, Personal, Ignore, Serial, Fault, Found, Notes, Technician:
		return true
	}
	return false
}

// Date tells the columns that hold dates.
func (m Meaning) Date() bool { return m == Opened || m == Ready || m == Collected }

// Money tells the columns that hold amounts.
func (m Meaning) Money() bool { return m == UnitCost || m == Charge }

// Number tells the columns whose cells may need a decimal mark settled.
func (m Meaning) Number() bool { return m.Money() || m == Minutes || m == Quantity }

// PartLine tells the columns that describe a part line.
func (m Meaning) PartLine() bool { return m >= Part && m <= UnitCost }

// device tells the columns that say which device it is.
func (m Meaning) device() bool { return m == Class || m == Maker || m == Family || m == Model }

// many tells the meanings that several columns of one log may share: texts are read one after the
// other, parts are one part line each.
func (m Meaning) many() bool {
	switch m {
	case Fault, Found, Notes, Part, Personal, Ignore, Unknown:
		return true
	}
	return false
}
