package demo

import (
	"strings"
)

// row is one row of a log before its dialect: a ticket, and a part line when it has one.
type row struct {
	ticket *Ticket
	line   *Line // nil on a ticket without parts
	first  bool  // the ticket's first row
	maker  string
	model  string

	noModel, noDate   bool // breaks the row: it must end in quarantine
	readyEarly, minus bool // an optional cell nobody can believe
}

// Slips of a shop's log: what a counter gets wrong, so that the summary has something to say.
const (
	slipsNoModel    = 3
	slipsNoDate     = 2
	slipsDuplicate  = 4
	slipsReadyEarly = 3
	slipsMinus      = 2
)

// shorthands are what shop one's counter writes for two models now and then; its models.toml says so.
var shorthands = map[string]string{PairModel: "P8", "Ostrel Sedge 5 Plus": "SDG-5P"}

// rows puts the tickets into rows, a part a row, and adds the slips. Emptied cells stand on tickets
// without a fault only, so that no truth depends on them.
func (e *exporter) rows() []row {
	var rows []row
	var well []int // rows of visits without a fault, done and collected
	for i := range e.shop.Tickets {
		t := &e.shop.Tickets[i]
		r := row{ticket: t, first: true, maker: t.Device.Model.Maker, model: t.Device.spelling(e.rand)}
		if e.rand.IntN(20) == 0 {
			r.maker = strings.ToUpper(r.maker)
		}
		if short := shorthands[t.Device.Model.Name()]; short != "" && e.shop.Size == 1 && e.rand.IntN(20) == 0 {
			r.model = short
		}
		if t.Outcome == "no-fault" {
			well = append(well, len(rows))
		}
		if len(t.Lines) == 0 {
			rows = append(rows, r)
		}
		for j := range t.Lines {
			r.line = &t.Lines[j]
			rows = append(rows, r)
			r.first = false
		}
	}
	if len(well) < slipsReadyEarly+slipsMinus {
		return rows // too small a shop for slips
	}
	for k := range slipsReadyEarly + slipsMinus {
		r := &rows[well[k*len(well)/(slipsReadyEarly+slipsMinus)]]
		r.readyEarly, r.minus = k < slipsReadyEarly, k >= slipsReadyEarly
		e.files.Emptied++
	}
	var slipped []row
	for i, r := range rows {
		slipped = append(slipped, r)
		if k := i * slipsDuplicate / len(rows); k != (i+1)*slipsDuplicate/len(rows) && !r.readyEarly && !r.minus {
			slipped = append(slipped, r)
			e.files.Duplicates++
		}
	}
	for k := range slipsNoModel + slipsNoDate {
		lost := *e.shop.Tickets[len(e.shop.Tickets)/2+k].Device // some device, a ticket of its own
		t := e.shop.Tickets[len(e.shop.Tickets)/2+k]
		t.Number += "X"
		t.Device, t.Lines = &lost, nil
		slipped = append(slipped, row{ticket: &t, first: true, maker: lost.Model.Maker, model: lost.Model.Label,
			noModel: k < slipsNoModel, noDate: k >= slipsNoModel})
		e.files.Broken++
	}
	e.files.Rows = len(slipped)
	return slipped
}
