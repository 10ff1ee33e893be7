package ingest

import (
	"bytes"
	"fmt"

	"faultgrain/ingest/cells"
	"faultgrain/ingest/columns"
	"faultgrain/ingest/history"
	"faultgrain/ingest/lexicon"
	"faultgrain/ingest/logfile"
	"faultgrain/schemas"

	"github.com/zeebo/xxh3"
)

// readRow fills the lane's line with what a row says. ok is false for a row that can't be accepted,
// with what to put into the quarantine.
//
// A row needs a ticket, a date of opening and a device; one of a log of part lines needs only the
// ticket. A cell that need not be there and can't be read is emptied, and noted.
func (l *lane) readRow(s *source, row *logfile.Row, number int64, ticket, shop []byte) (q refusal, ok bool) {
	ln, ly := &l.line, &s.layout
	ln.reset()
	ln.file, ln.number = s.index, number
	if cells.Blank(ticket) {
		ticket = nil
	}
	ln.ticket, ln.shop = view(ticket), view(shop)
	if width := row.Width(); width == 1 && ly.width > 1 {
		ln.ticket = "" // a torn line or a remark between the rows: its only cell may be anything
		return ragged(ln, width, ly.width), false
	} else if width < ly.width {
		l.accounts[s.index].ragged++
	} else if width > ly.width && overflows(row, ly.width) {
		return ragged(ln, width, ly.width), false
	}
	if ticket == nil {
		return l.missing(s, row, columns.Ticket, "the ticket's number"), false
	}
	for i := range ly.dates {
		d := &ly.dates[i]
		cell := cells.Trim(row.Cell(d.column))
		if len(cell) == 0 || cells.Blank(cell) {
			if d.of == openedAt && !s.lines {
				return l.missing(s, row, columns.Opened, "the date the device came in"), false
			}
			continue
		}
		m, read := d.dates.Parse(cell)
		switch {
		case read:
			ln.instants[d.of] = instant{micros: l.run.zone.Micros(m), day: m.Day, set: true, clock: m.Clock}
		case d.of == openedAt && !s.lines:
			return refusal{ticket: ln.ticket, shop: ln.shop, column: s.file.Header[d.column], reason: ReasonBadDate,
				found: shownDate(cell), want: wantedDate(d.dates.Order), raw: l.maskedRow(s, row)}, false
		default:
			ln.empty(instantColumn[d.of], "no date")
		}
	}
	l.readDevice(s, row)
	if !s.lines && ln.words[makerWord] == "" && ln.words[familyWord] == "" && ln.words[modelWord] == "" && ln.words[classWord] == "" {
		return l.missing(s, row, columns.Model, "the model, or at least the maker or the class"), false
	}
	l.readIdentity(s, row)
	l.readFaults(s, row)
	l.readAmounts(s, row)
	if s.lines {
		ln.lines = true
		ln.refusal = refusal{column: s.header(columns.Ticket), reason: ReasonNoTicketRow, found: shownTicket(ticket),
			want: "a row of this ticket in a log of tickets, read in the same run", raw: l.maskedRow(s, row)}
	}
	return refusal{}, true
}

// ragged refuses a row whose cells can't be told apart. Nothing of it is shown, for any cell may be anything.
func ragged(ln *line, width, want int) refusal {
	return refusal{ticket: ln.ticket, shop: ln.shop, reason: ReasonRagged, found: fmt.Sprintf("cells: %d", width),
		want: fmt.Sprintf("%d cells, as the header has; put quotes around a cell that holds the delimiter or a line break", want), raw: mask}
}

// empty notes that a cell could not be used.
func (ln *line) empty(column, why string) {
	ln.notices = append(ln.notices, notice{"emptied", column, why})
}

// overflows says whether a row has anything beyond the header's last column.
func overflows(row *logfile.Row, width int) bool {
	for col := width; col < row.Width(); col++ {
		if len(cells.Trim(row.Cell(col))) > 0 {
			return true
		}
	}
	return false
}

// cell is the trimmed cell of a meaning, or what columns.toml says for all rows; blank ones are empty.
func (s *source) cell(row *logfile.Row, of columns.Meaning) []byte {
	if col := s.layout.at[of]; col >= 0 {
		if cell := cells.Trim(row.Cell(col)); len(cell) > 0 && !cells.Blank(cell) {
			return cell
		}
	}
	return s.constants[of]
}

// recall is what the cell of a meaning was read as, or what columns.toml says for all rows.
func recall[T comparable](m *memo[T], s *source, row *logfile.Row, of columns.Meaning) T {
	var nothing T
	if got := m.get(row.Cell(s.layout.at[of])); got != nothing {
		return got
	}
	return m.get(s.constants[of])
}

func (l *lane) readDevice(s *source, row *logfile.Row) {
	w := &l.line.words
	w[makerWord] = recall(&l.read.makers, s, row, columns.Maker)
	w[familyWord] = recall(&l.read.families, s, row, columns.Family)
	model := recall(&l.read.models, s, row, columns.Model)
	w[modelWord] = model.name
	if class := recall(&l.read.classes, s, row, columns.Class); class != "" {
		w[classWord] = class
	} else if model.class != "" {
		w[modelWord], w[classWord] = "", model.class // a kind of device under the header "Device"
	}
}

// readIdentity reads outcome, serial, week of manufacture and technician.
func (l *lane) readIdentity(s *source, row *logfile.Row) {
	ln := &l.line
	outcome := recall(&l.read.outcomes, s, row, columns.Outcome)
	if ln.words[outcomeWord] = outcome.word; outcome.unread {
		ln.empty("outcome", "no known outcome; name it under [outcomes] in columns.toml")
		ln.unreadValue("outcome", s.cell(row, columns.Outcome))
	}
	week := recall(&l.read.weeks, s, row, columns.MadeWeek)
	if ln.words[weekWord] = week.word; week.unread {
		ln.empty("made_week", "no week such as 2026-W07")
	}
	if cell := s.cell(row, columns.Serial); len(cell) > 0 {
		var ok bool
		if l.serial, ok = cells.AppendSerial(l.serial[:0], cell); ok {
			if string(l.serial) != string(l.keyed) { // the rows of one ticket name one device
				l.keyed, l.keyOf = append(l.keyed[:0], l.serial...), l.run.tx.DeviceKey(view(l.serial))
			}
			ln.keys[deviceKey] = l.keyOf
			l.readPrefix()
		} else {
			ln.empty("serial", "identifies no device")
		}
	}
	ln.keys[technicianKey] = recall(&l.read.technicians, s, row, columns.Technician)
}

// readPrefix keeps the first characters of the serial, as many as shop.toml allows for the maker, and
// never all of it.
func (l *lane) readPrefix() {
	if len(l.run.prefixes) == 0 {
		return
	}
	w := &l.line.words
	d := l.device(w[makerWord], w[familyWord], w[modelWord], w[classWord])
	n := l.run.prefixes[cells.Key(d.Maker)]
	if n > 0 && n < len(l.serial) {
		w[prefixWord] = l.keep(func(b []byte) []byte { return append(b, l.serial[:n]...) })
	}
}

// keep appends text to the lane's room and returns it. Texts are valid until the next ticket.
func (l *lane) keep(add func([]byte) []byte) string {
	from := len(l.made)
	l.made = add(l.made)
	return view(l.made[from:])
}

// readFaults reads components from part cells, findings and free text, and the part lines.
func (l *lane) readFaults(s *source, row *logfile.Row) {
	ln, ly := &l.line, &s.layout
	var part reading
	said := uint64(0) // hash of what the part cells say; 0 for nothing
	for _, col := range ly.parts {
		r := l.read.components.get(row.Cell(col))
		if !r.said {
			continue
		}
		part = unite(part, r.reading)
		said = max(1, xxh3.HashSeed(cells.Trim(row.Cell(col)), said))
		if r.unread {
			ln.unreadValue("part", row.Cell(col))
		}
	}
	ln.part = part
	for _, col := range ly.found {
		r := l.read.findings.get(row.Cell(col))
		ln.found = unite(ln.found, r.reading)
		ln.told = ln.told || r.said
		if r.unread {
			l.unreadFinding(row.Cell(col))
		}
	}
	if ln.part.named || ln.found.named {
		ln.told = true // what the customer said is not asked: a part or a finding names the component
		l.readParts(s, row, said)
		return
	}
	for _, col := range ly.text {
		r := l.run.texts.of(lexicon.Text, row.Cell(col))
		ln.text = unite(ln.text, r.reading)
		ln.told = ln.told || r.said
	}
	for _, col := range ly.notes {
		r := l.run.texts.of(lexicon.Text, row.Cell(col))
		ln.text = unite(ln.text, r.reading)
		if len(ly.found)+len(ly.text) == 0 {
			ln.told = ln.told || r.said
		}
	}
	l.readParts(s, row, said)
}

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
		v, sign, ok := cells.Money(cell, n.mark, l.run.opt.Settings.Currency)
		switch {
		case !ok:
			ln.empty("unit_cost", "no amount of money")
		case v < 0:
			ln.empty("unit_cost", "below zero")
		default:
			p.UnitCost, cost = schemas.Known(v), v != 0
			p.Currency = l.currency(s, row, sign, n.currency)
		}
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
		v, sign, ok := cells.Money(cell, n.mark, l.run.opt.Settings.Currency)
		switch {
		case !ok:
			ln.empty("charge", "no amount of money")
		case v < 0:
			ln.empty("charge", "below zero")
		default:
			ln.amounts[charge] = schemas.Known(v)
			ln.words[currencyWord] = l.currency(s, row, sign, n.currency)
		}
	}
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

// unite is the union of two readings.
func unite(a, b reading) reading {
	if len(a.components) == 0 {
		b.clear = a.clear || b.clear
		return b
	}
	if len(b.components) == 0 {
		a.clear = a.clear || b.clear
		return a
	}
	out := reading{named: a.named || b.named, clear: a.clear || b.clear, components: make([]string, 0, len(a.components)+len(b.components))}
	for i, j := 0, 0; i < len(a.components) || j < len(b.components); {
		switch {
		case j == len(b.components) || i < len(a.components) && a.components[i] < b.components[j]:
			out.components = append(out.components, a.components[i])
			i++
		case i == len(a.components) || b.components[j] < a.components[i]:
			out.components = append(out.components, b.components[j])
			j++
		default:
			out.components = append(out.components, a.components[i])
			i, j = i+1, j+1
		}
	}
	return out
}

func (s *source) header(of columns.Meaning) string {
	if col := s.layout.at[of]; col >= 0 {
		return s.file.Header[col]
	}
	return ""
}

// missing refuses a row for want of a cell every row needs.
func (l *lane) missing(s *source, row *logfile.Row, of columns.Meaning, want string) refusal {
	column := s.header(of)
	if column == "" {
		column = of.String()
	}
	return refusal{ticket: l.line.ticket, shop: l.line.shop, column: column, reason: ReasonMissing, want: want, raw: l.maskedRow(s, row)}
}

func wantedDate(o cells.Order) string {
	switch o {
	case cells.DayFirst:
		return "a day that exists, day first, such as 28.02.2026"
	case cells.MonthFirst:
		return "a day that exists, month first, such as 02/28/2026"
	}
	return "a day that exists, such as 2026-02-28"
}

// maskedRow is a row as it stood, with columns masked that hold personal data or may. A row whose
// ticket is none, or that has something other than a date where its date should be, may have slipped:
// then all of it is masked.
func (l *lane) maskedRow(s *source, row *logfile.Row) string {
	if ticket := l.line.ticket; ticket != "" && shownTicket(bytesOf(ticket)) != ticket {
		return mask
	}
	if col := s.layout.at[columns.Opened]; col >= 0 {
		if cell := cells.Trim(row.Cell(col)); len(cell) > 0 && !dateLike.Match(cell) {
			return mask
		}
	}
	delimiter := byte(',')
	if s.file.Delimiter != "" {
		delimiter = s.file.Delimiter[0]
	}
	b := l.shown[:0]
	for col := range s.layout.width {
		if col > 0 {
			b = append(b, delimiter)
		}
		cell := cells.Trim(row.Cell(col))
		of := s.columns.Of[col]
		switch {
		case len(cell) == 0:
		case of.Masked(), of.Date() && !dateLike.Match(cell):
			b = append(b, mask...)
		default:
			from := len(b)
			if b = appendShown(b, cell); bytes.IndexByte(b[from:], delimiter) >= 0 || bytes.IndexByte(b[from:], '\n') >= 0 {
				quoted := append([]byte{'"'}, bytes.ReplaceAll(b[from:], []byte{'"'}, []byte(`""`))...)
				b = append(append(b[:from], quoted...), '"')
			}
		}
	}
	l.shown = b
	return view(b)
}

// unreadValue notes a cell of words that nothing knows, so that a person can name it.
func (ln *line) unreadValue(column string, cell []byte) {
	ln.notices = append(ln.notices, notice{"unread-value", column + ": " + briefly(cell), unreadNote(column)})
}
