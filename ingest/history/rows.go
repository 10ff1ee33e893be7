package history

import (
	"io"

	"faultgrain/schemas"

	"github.com/apache/arrow-go/v18/arrow"
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

// A usage is a part line with what a question about it needs to know of its visit, so that it need not be looked up.
type usage struct {
	Part
	model                 string
	opened, mended        int64
	hasMended             bool
	hasDevice             bool
	initial, last, single bool
}

// usages puts the part lines of a visit beside it; they are ordered by component.
func usages(v *Visit, lines []Part, into []usage) []usage {
	mended, isMended := v.mended()
	for i, p := range lines {
		u := usage{Part: p, model: v.Model, opened: v.Opened, mended: mended, hasMended: isMended, hasDevice: !v.Device.IsZero()}
		again := i > 0 && lines[i-1].Component == p.Component
		u.initial = p.Component != "" && (i == 0 || lines[i-1].Component == "")
		u.last = i == len(lines)-1 || lines[i+1].Component != p.Component
		u.single = u.last && !again
		into = append(into, u)
	}
	return into
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

// A Refusal is one source row that was not accepted. Found and Raw must be masked already.
type Refusal struct {
	Source string // SHA-256 of the log, hex
	File   string // its base name
	Line   int64  // from 1
	Column string // empty when the whole row is at fault
	Reason string
	Found  string
	Want   string
	Raw    string
	Ticket uint64 // Tx.TicketHash, when HasTicket
	// HasTicket says that the row named a ticket. Only then a corrected row can clear it.
	HasTicket bool
}

type visitRows struct {
	table
	visit, opened, ready, collected, noted, faults, components longs
	ticket, device                                             texts
	shop, outcome, maker, family, model, class, week, currency words
	prefix, technician, first, last                            words
	minutes, charge, partsCost                                 doubles
	unread, byText                                             bools
}

func (r *visitRows) begin(path string, wrap func(io.Writer) io.Writer) {
	r.table = newTable(path, wrap, schemas.Visits(), &r.visit, &r.ticket, &r.shop, &r.opened, &r.ready, &r.collected,
		&r.outcome, &r.maker, &r.family, &r.model, &r.class, &r.device, &r.week, &r.prefix, &r.minutes, &r.charge,
		&r.currency, &r.technician, &r.unread, &r.noted,
		&r.faults, &r.components, &r.first, &r.last, &r.byText, &r.partsCost)
}

func (r *visitRows) add(number int64, v *Visit) error {
	r.visit.add(number)
	r.ticket.add(v.Ticket)
	r.shop.add(v.Shop)
	r.opened.add(v.Opened)
	r.ready.addIf(v.Ready, v.HasReady)
	r.collected.addIf(v.Collected, v.HasCollected)
	r.outcome.add(v.Outcome)
	r.maker.add(v.Maker)
	r.family.add(v.Family)
	r.model.add(v.Model)
	r.class.add(v.Class)
	r.device.addKey(v.Device)
	r.week.add(v.MadeWeek)
	r.prefix.add(v.SerialPrefix)
	r.minutes.addIf(v.BenchMinutes.V, v.BenchMinutes.OK)
	r.charge.addIf(v.Charge.V, v.Charge.OK)
	r.currency.add(v.Currency)
	r.technician.addKey(v.Technician)
	r.unread.add(v.Unread)
	r.noted.addIf(v.Noted, v.Noted != 0)
	r.faults.add(v.Found.Faults)
	r.components.add(v.Found.Components)
	r.first.add(v.Found.First)
	r.last.add(v.Found.Last)
	r.byText.add(v.Found.ByText)
	r.partsCost.addIf(v.PartsCost.V, v.PartsCost.OK)
	return r.next()
}

type faultRows struct {
	table
	visit                  longs
	ticket                 texts
	shop, component, basis words
}

func (r *faultRows) begin(path string, wrap func(io.Writer) io.Writer) {
	r.table = newTable(path, wrap, schemas.Faults(), &r.visit, &r.ticket, &r.shop, &r.component, &r.basis)
}

func (r *faultRows) add(visit int64, ticket, shop, component, basis string) error {
	r.visit.add(visit)
	r.ticket.add(ticket)
	r.shop.add(shop)
	r.component.add(component)
	r.basis.add(basis)
	return r.next()
}

type partRows struct {
	table
	visit, opened, mended                                          longs
	ticket                                                         texts
	shop, component, partNo, supplier, lot, grade, currency, model words
	quantity, unitCost                                             doubles
	hasDevice, initial, last, single                               bools
}

func (r *partRows) begin(path string, wrap func(io.Writer) io.Writer) {
	r.table = newTable(path, wrap, schemas.Parts(), &r.visit, &r.ticket, &r.shop, &r.component, &r.partNo, &r.supplier,
		&r.lot, &r.grade, &r.quantity, &r.unitCost, &r.currency, &r.model, &r.opened, &r.mended, &r.hasDevice, &r.initial, &r.last, &r.single)
}

func (r *partRows) add(visit int64, ticket, shop string, p *usage) error {
	r.visit.add(visit)
	r.ticket.add(ticket)
	r.shop.add(shop)
	r.component.add(p.Component)
	r.partNo.add(p.PartNo)
	r.supplier.add(p.Supplier)
	r.lot.add(p.Lot)
	r.grade.add(p.Grade)
	r.quantity.addIf(p.Quantity.V, p.Quantity.OK)
	r.unitCost.addIf(p.UnitCost.V, p.UnitCost.OK)
	r.currency.add(p.Currency)
	r.model.add(p.model)
	r.opened.add(p.opened)
	r.mended.addIf(p.mended, p.hasMended)
	r.hasDevice.add(p.hasDevice)
	r.initial.add(p.initial)
	r.last.add(p.last)
	r.single.add(p.single)
	return r.next()
}

type refusalRows struct {
	table
	line, ticket                       longs
	source, file, column, reason, want words
	found, raw                         texts
}

func newRefusalRows(path string, wrap func(io.Writer) io.Writer) *refusalRows {
	r := &refusalRows{}
	r.table = newTable(path, wrap, schemas.Quarantine(), &r.source, &r.file, &r.line, &r.column, &r.reason, &r.found,
		&r.want, &r.raw, &r.ticket)
	return r
}

func (r *refusalRows) add(q *Refusal) error {
	r.source.add(q.Source)
	r.file.add(q.File)
	r.line.add(q.Line)
	r.column.add(q.Column)
	r.reason.add(q.Reason)
	r.found.add(q.Found)
	r.want.add(q.Want)
	r.raw.add(q.Raw)
	r.ticket.addIf(int64(q.Ticket), q.HasTicket)
	return r.next()
}

type qualityRows struct {
	table
	topic, note                 words
	subject                     texts
	count, ingest, noted, place longs
}

// A Quality is one thing that was noticed.
type Quality struct {
	Topic, Subject string
	Count          int64
	Note           string
	ingest         int64
	noted, place   int64 // noted 0: about a log
}

func newQualityRows(path string, wrap func(io.Writer) io.Writer) *qualityRows {
	r := &qualityRows{}
	r.table = newTable(path, wrap, schemas.Quality(), &r.topic, &r.subject, &r.count, &r.note, &r.ingest, &r.noted, &r.place)
	return r
}

func (r *qualityRows) add(q *Quality) error {
	r.topic.add(q.Topic)
	r.subject.add(q.Subject)
	r.count.add(q.Count)
	r.note.add(q.Note)
	r.ingest.add(q.ingest)
	r.noted.addIf(q.noted, q.noted != 0)
	r.place.add(q.place)
	return r.next()
}

// replacedSchema has one row per visit version that an ingest retired, and one per ticket it carried that had quarantined
// rows: those of earlier ingests no longer count.
func replacedSchema() *arrow.Schema {
	return arrow.NewSchema([]arrow.Field{
		{Name: "visit", Type: arrow.PrimitiveTypes.Int64, Nullable: true},
		{Name: "ticket_hash", Type: arrow.PrimitiveTypes.Uint64, Nullable: true},
	}, nil)
}

type replacedRows struct {
	table
	visit, ticket longs
}

func newReplacedRows(path string, wrap func(io.Writer) io.Writer) *replacedRows {
	r := &replacedRows{}
	r.table = newTable(path, wrap, replacedSchema(), &r.visit, &r.ticket)
	return r
}

func (r *replacedRows) retire(visit int64) error {
	r.visit.add(visit)
	r.ticket.addIf(0, false)
	return r.next()
}

func (r *replacedRows) clear(ticketHash uint64) error {
	r.visit.addIf(0, false)
	r.ticket.add(int64(ticketHash))
	return r.next()
}
