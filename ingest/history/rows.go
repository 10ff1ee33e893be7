package history

import (
	"io"

	"faultgrain/schemas"

	"github.com/apache/arrow-go/v18/arrow"
)

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
