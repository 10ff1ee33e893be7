package ingest

import (
	"faultgrain/ingest/cells"
	"faultgrain/ingest/columns"
	"faultgrain/ingest/history"
	"faultgrain/ingest/logfile"
	"faultgrain/schemas"
)

// readParts makes the part lines of a row: one, or one per component where a part cell names several.
func (l *lane) readParts(s *source, row *logfile.Row, said uint64) {
	ln := &l.line
	var p history.Part
	p.PartNo = recall(&l.read.partNos, s, row, columns.PartNo)
	p.Lot = recall(&l.read.lots, s, row, columns.Lot)
	cost := false
	for i := range s.layout.numbers {
		n := &s.layout.numbers[i]
		cell := row.Cell(n.column)
		if len(cell) == 0 || n.of != columns.UnitCost && n.of != columns.Quantity {
			continue
		}
		cell = cells.Trim(cell)
		if cells.Blank(cell) {
			continue
		}
		if n.of == columns.Quantity {
			if v, ok := cells.Quantity(cell, n.mark); ok {
				p.Quantity = schemas.Known(v)
			} else {
				ln.empty("quantity", "no number of pieces")
			}
			continue
		}
		p.UnitCost, p.Currency = l.money(s, row, n, cell, "unit_cost")
		cost = p.UnitCost.V != 0
	}
	if said == 0 && p.PartNo == "" && p.Lot == "" && !cost {
		return
	}
	p.Supplier = recall(&l.read.suppliers, s, row, columns.Supplier)
	grade := recall(&l.read.grades, s, row, columns.Grade)
	if p.Grade = grade.word; grade.unread {
		ln.unreadValue("grade", s.cell(row, columns.Grade))
	}
	if len(ln.part.components) < 2 {
		if len(ln.part.components) == 1 {
			p.Component = ln.part.components[0]
		}
		ln.parts = append(ln.parts, partLine{Part: p, said: said})
		return
	}
	if p.UnitCost.OK {
		ln.empty("unit_cost", "one price for several parts")
	}
	for _, component := range ln.part.components {
		ln.parts = append(ln.parts, partLine{Part: history.Part{Component: component, Supplier: p.Supplier, Grade: p.Grade}, said: said})
	}
}

// readAmounts reads bench minutes and the charge.
func (l *lane) readAmounts(s *source, row *logfile.Row) {
	ln := &l.line
	for i := range s.layout.numbers {
		n := &s.layout.numbers[i]
		if n.of != columns.Minutes && n.of != columns.Charge {
			continue
		}
		cell := cells.Trim(row.Cell(n.column))
		if len(cell) == 0 || cells.Blank(cell) {
			continue
		}
		if n.of == columns.Minutes {
			if v, ok := cells.Minutes(cell, n.mark, n.perUnit); ok {
				ln.amounts[benchMinutes] = schemas.Known(v)
			} else {
				ln.empty("minutes", "no time such as 45, 0:45 or 1h 15m")
			}
			continue
		}
		ln.amounts[charge], ln.words[currencyWord] = l.money(s, row, n, cell, "charge")
	}
}

// money reads an amount and its currency; one that can't be is unknown, and noted under the column.
func (l *lane) money(s *source, row *logfile.Row, n *numberColumn, cell []byte, column string) (schemas.Float, string) {
	v, sign, ok := cells.Money(cell, n.mark, l.run.opt.Settings.Currency)
	switch {
	case !ok:
		l.line.empty(column, "no amount of money")
	case v < 0:
		l.line.empty(column, "below zero")
	default:
		return schemas.Known(v), l.currency(s, row, sign, n.currency)
	}
	return schemas.Float{}, ""
}

// currency settles the currency of an amount: its own sign, the row's currency column, the header,
// the shop's.
func (l *lane) currency(s *source, row *logfile.Row, sign, header string) string {
	if sign != "" {
		return sign
	}
	if code := recall(&l.read.currencies, s, row, columns.Currency); code != "" {
		return code
	}
	if header != "" {
		return header
	}
	return l.run.opt.Settings.Currency
}
