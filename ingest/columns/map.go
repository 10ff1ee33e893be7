package columns

import (
	"errors"
	"fmt"
	"strings"

	"faultgrain/ingest/cells"
)

// ErrNoLog says that no header of a file names anything a repair log holds.
var ErrNoLog = errors.New("no column of a repair log recognised")

// MissingColumns says that a file can't be read for want of columns every row needs.
type MissingColumns struct {
	Missing []string // plain headers
}

func (e *MissingColumns) Error() string {
	return fmt.Sprintf("no column for %s: run faultgrain columns on the file and name it in columns.toml", strings.Join(e.Missing, ", "))
}

// Map says what each column of one file means and how its cells are written.
type Map struct {
	Header   []string
	Of       []Meaning     // per column
	Order    cells.Order   // key dates of columns.toml; Unsettled leaves it to the columns
	Orders   []cells.Order // per column, of [dates_in]; Unsettled falls back to Order
	Marks    []cells.Mark  // per column, of [decimal_in] or the key decimal; 0 leaves it to the column
	PerUnit  []float64     // per column: minutes in one of a bare number; 1 unless header or [unit_in] tells
	Currency []string      // per column: ISO 4217 code the header or [currency_in] names; empty when neither
	Constant [int(meanings)]string
	Words    *Words
	Standard string   // "ORDS" for the Open Repair Data Standard, else empty
	Unused   []string // headers of columns.toml that this file lacks, sorted
	Second   []Second // columns that name what another column already names

	rank []int
}

// Second is a column left out because another one tells the same.
type Second struct{ Column, First int }

// Col gives the first column of the meaning, -1 when there is none.
func (m *Map) Col(of Meaning) int {
	for i, x := range m.Of {
		if x == of {
			return i
		}
	}
	return -1
}

// Cols gives all columns of the meaning; texts (fault, found, notes) and parts may have several.
func (m *Map) Cols(of Meaning) []int {
	var out []int
	for i, x := range m.Of {
		if x == of {
			out = append(out, i)
		}
	}
	return out
}

// Has tells whether a column or a constant gives the meaning.
func (m *Map) Has(of Meaning) bool { return m.Col(of) >= 0 || m.Constant[of] != "" }

// DateOrder gives the order columns.toml tells for a column; Unsettled when it tells none.
func (m *Map) DateOrder(col int) cells.Order {
	if m.Orders[col] != cells.Unsettled {
		return m.Orders[col]
	}
	return m.Order
}

// device tells whether rows can say which device they are about.
func (m *Map) hasDevice() bool {
	return m.Has(Model) || m.Has(Maker) || m.Has(Class) || m.Has(Family)
}

// Complete tells whether the file's rows can be tickets by themselves: they have ticket, opened and a device.
func (m *Map) Complete() bool { return m.Has(Ticket) && m.Has(Opened) && m.hasDevice() }

// Lines tells a file of part lines: rows that only say which part went into which ticket.
func (m *Map) Lines() bool {
	if m.Complete() {
		return false
	}
	for _, x := range m.Of {
		if x.PartLine() {
			return m.Has(Ticket)
		}
	}
	return false
}

// Doubts says in sentences what a person may want to look at: columns read by a vague header, columns
// left out, keys of columns.toml that name no column. In the order of the columns.
func (m *Map) Doubts() []string {
	var out []string
	for i, of := range m.Of {
		switch {
		case of == Unknown && strings.TrimSpace(m.Header[i]) == "":
			out = append(out, fmt.Sprintf("column %d has no header and is not read", i+1))
		case of == Unknown:
			out = append(out, fmt.Sprintf("column %q is not read: no meaning known", m.Header[i]))
		case m.rank[i] >= rankMaybe && of != Ignore && of != Personal:
			out = append(out, fmt.Sprintf("column %q is read as %s, a guess", m.Header[i], of))
		}
	}
	for _, key := range m.Unused {
		out = append(out, fmt.Sprintf("columns.toml names %q, no column of this file", key))
	}
	return out
}

// Recognise maps a file's header: columns.toml first, then the plain headers, the Open Repair Data
// Standard v0.3 and v0.1, and usual words in six languages. Nothing recognised is ErrNoLog; no
// ticket column is a *MissingColumns. A file need not be complete: its rows may join another file's
// by ticket.
func Recognise(header []string, file *Config) (Map, error) {
	if file == nil {
		file = &Config{}
	}
	m := newMap(header)
	if err := m.told(file); err != nil {
		return Map{}, err
	}
	table := headers()
	all := make([][]candidate, len(header))
	for i, h := range header {
		if m.Of[i] == Unknown {
			all[i] = table.candidates(h)
		}
	}
	m.standard(header, all)
	m.plainCharge(all)
	m.assign(all)
	m.adjust()
	m.writing(file)
	words, err := newWords(file)
	if err != nil {
		return Map{}, err
	}
	m.Words = words
	return m, m.check()
}

func newMap(header []string) Map {
	n := len(header)
	return Map{Header: header, Of: make([]Meaning, n), Orders: make([]cells.Order, n), Marks: make([]cells.Mark, n),
		PerUnit: make([]float64, n), Currency: make([]string, n), rank: make([]int, n)}
}

// adjust reads vague columns by the company they keep: in a file of part lines a price is the part's
// and a date the line's; in a log without parts a cost is the customer's.
func (m *Map) adjust() {
	if !m.Has(Part) && !m.Has(PartNo) && !m.Has(Charge) {
		if i := m.Col(UnitCost); i >= 0 && m.rank[i] >= rankMaybe {
			m.Of[i] = Charge
		}
	}
	if !m.hasDevice() && m.Has(Opened) && !m.Has(PartNo) && !m.Has(UnitCost) && !m.Has(Quantity) {
		if i := m.Col(Part); i >= 0 && m.rank[i] >= rankMaybe {
			m.Of[i] = Model // an "item" that comes in on a day is a device
		}
	}
	if m.hasDevice() || !m.Lines() {
		return
	}
	if i := m.Col(Charge); i >= 0 && m.rank[i] >= rankMaybe && !m.Has(UnitCost) {
		m.Of[i] = UnitCost
	}
	if i := m.Col(Opened); i >= 0 && m.rank[i] >= rankMaybe {
		m.Of[i] = Ignore
	}
}

// writing settles units and currencies that headers or columns.toml name.
func (m *Map) writing(file *Config) {
	for i, h := range m.Header {
		m.PerUnit[i] = 1
		apart := takeApart(h)
		if m.Of[i] == Minutes && apart.unit != "" {
			m.PerUnit[i] = timeUnit(apart.unit)
		}
		if m.Of[i].Money() {
			m.Currency[i] = apart.currency
		}
	}
	file.write(m)
}

func (m *Map) check() error {
	known := false
	for _, x := range m.Of {
		known = known || x != Unknown && x != Personal && x != Ignore
	}
	if !known {
		return fmt.Errorf("%w: is this a repair log? run faultgrain columns on the file", ErrNoLog)
	}
	if !m.Has(Ticket) {
		return &MissingColumns{Missing: []string{Ticket.String()}}
	}
	return nil
}
