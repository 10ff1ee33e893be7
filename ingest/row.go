package ingest

import (
	"bytes"
	"fmt"
	"unicode"

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
func (l *lane) readRow(s *source, c *logfile.Chunk, row int, ticket, shop []byte) (q refusal, ok bool) {
	ln, ly := &l.line, &s.layout
	ln.reset()
	ln.file, ln.number = s.index, c.Line(row)
	if cells.Blank(ticket) {
		ticket = nil
	}
	ln.ticket, ln.shop = view(ticket), view(shop)
	if width := c.Width(row); width == 1 && ly.width > 1 {
		ln.ticket = "" // a torn line or a remark between the rows: its only cell may be anything
		return ragged(ln, width, ly.width), false
	} else if width < ly.width {
		l.accounts[s.index].ragged++
	} else if width > ly.width && overflows(c, row, ly.width) {
		return ragged(ln, width, ly.width), false
	}
	if ticket == nil {
		return l.missing(s, c, row, columns.Ticket, "the ticket's number"), false
	}
	for i := range ly.dates {
		d := &ly.dates[i]
		cell := cells.Trim(c.Cell(row, d.column))
		if len(cell) == 0 || cells.Blank(cell) {
			if d.of == openedAt && !s.lines {
				return l.missing(s, c, row, columns.Opened, "the date the device came in"), false
			}
			continue
		}
		m, read := d.dates.Parse(cell)
		switch {
		case read:
			ln.instants[d.of] = instant{micros: l.run.zone.Micros(m), day: m.Day, set: true, clock: m.Clock}
		case d.of == openedAt && !s.lines:
			return refusal{ticket: ln.ticket, shop: ln.shop, column: s.file.Header[d.column], reason: ReasonBadDate,
				found: shownDate(cell), want: wantedDate(d.dates.Order), raw: l.maskedRow(s, c, row)}, false
		default:
			ln.empty(instantColumn[d.of], "no date")
		}
	}
	l.readDevice(s, c, row)
	if !s.lines && ln.words[makerWord] == "" && ln.words[familyWord] == "" && ln.words[modelWord] == "" && ln.words[classWord] == "" {
		return l.missing(s, c, row, columns.Model, "the model, or at least the maker or the class"), false
	}
	l.readIdentity(s, c, row)
	l.readFaults(s, c, row)
	l.readAmounts(s, c, row)
	if s.lines {
		ln.lines = true
		ln.refusal = refusal{column: s.header(columns.Ticket), reason: ReasonNoTicketRow, found: shownTicket(ticket),
			want: "a row of this ticket in a log of tickets, read in the same run", raw: l.maskedRow(s, c, row)}
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
func overflows(c *logfile.Chunk, row, width int) bool {
	for col := width; col < c.Width(row); col++ {
		if len(cells.Trim(c.Cell(row, col))) > 0 {
			return true
		}
	}
	return false
}

// cell is the trimmed cell of a meaning, or what columns.toml says for all rows; blank ones are empty.
func (l *lane) cell(s *source, c *logfile.Chunk, row int, of columns.Meaning) []byte {
	if col := s.layout.at[of]; col >= 0 {
		if cell := cells.Trim(c.Cell(row, col)); len(cell) > 0 && !cells.Blank(cell) {
			return cell
		}
	}
	return s.constants[of]
}

func (l *lane) readDevice(s *source, c *logfile.Chunk, row int) {
	ln := &l.line
	ln.words[makerWord] = view(l.cell(s, c, row, columns.Maker))
	ln.words[familyWord] = view(l.cell(s, c, row, columns.Family))
	ln.words[modelWord] = view(l.cell(s, c, row, columns.Model))
	if cell := l.cell(s, c, row, columns.Class); len(cell) > 0 {
		ln.words[classWord], _ = l.classes.get(cell)
	} else if model := ln.words[modelWord]; model != "" {
		if class, known := l.classes.get(bytesOf(model)); known && class != "" {
			ln.words[modelWord], ln.words[classWord] = "", class // a kind of device under the header "Device"
		}
	}
}

// readIdentity reads outcome, serial, week of manufacture and technician.
func (l *lane) readIdentity(s *source, c *logfile.Chunk, row int) {
	ln := &l.line
	if cell := l.cell(s, c, row, columns.Outcome); len(cell) > 0 {
		word, known := l.outcomes.get(cell)
		if ln.words[outcomeWord] = word; !known {
			ln.empty("outcome", "no known outcome; name it under [outcomes] in columns.toml")
			ln.unreadValue("outcome", cell)
		}
	}
	if cell := l.cell(s, c, row, columns.MadeWeek); len(cell) > 0 {
		if year, week, ok := cells.Week(cell); ok {
			ln.words[weekWord] = l.keep(func(b []byte) []byte { return cells.AppendWeek(b, year, week) })
		} else {
			ln.empty("made_week", "no week such as 2026-W07")
		}
	}
	if cell := l.cell(s, c, row, columns.Serial); len(cell) > 0 {
		var ok bool
		if l.serial, ok = cells.AppendSerial(l.serial[:0], cell); ok {
			ln.keys[deviceKey] = l.run.tx.DeviceKey(view(l.serial))
			l.readPrefix()
		} else {
			ln.empty("serial", "identifies no device")
		}
	}
	if cell := l.cell(s, c, row, columns.Technician); len(cell) > 0 {
		ln.keys[technicianKey] = l.technician(cell)
	}
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

// technician is the key of a name, however it is cased and spaced.
func (l *lane) technician(cell []byte) history.Key {
	if k, ok := l.technicians[string(cell)]; ok {
		return k
	}
	name := string(bytes.ToLower(bytes.Join(bytes.FieldsFunc(cell, unicode.IsSpace), []byte{' '})))
	k := l.run.tx.TechnicianKey(name)
	if len(l.technicians) < maxWords {
		l.technicians[string(cell)] = k
	}
	return k
}

// readFaults reads components from part cells, findings and free text, and the part lines.
func (l *lane) readFaults(s *source, c *logfile.Chunk, row int) {
	ln, ly := &l.line, &s.layout
	var part reading
	said := uint64(0) // hash of what the part cells say; 0 for nothing
	for _, col := range ly.parts {
		r := l.run.texts.of(lexicon.Part, c.Cell(row, col))
		if !r.said {
			continue
		}
		part = unite(part, r.reading)
		said = max(1, xxh3.HashSeed(cells.Trim(c.Cell(row, col)), said))
		if r.unread {
			ln.unreadValue("part", c.Cell(row, col))
		}
	}
	ln.part = part
	for _, col := range ly.found {
		r := l.run.texts.of(lexicon.Found, c.Cell(row, col))
		ln.found = unite(ln.found, r.reading)
		ln.told = ln.told || r.said
		if r.unread {
			l.unreadFinding(c.Cell(row, col))
		}
	}
	if ln.part.named || ln.found.named {
		ln.told = true // what the customer said is not asked: a part or a finding names the component
		l.readParts(s, c, row, said)
		return
	}
	for _, col := range ly.text {
		r := l.run.texts.of(lexicon.Text, c.Cell(row, col))
		ln.text = unite(ln.text, r.reading)
		ln.told = ln.told || r.said
	}
	for _, col := range ly.notes {
		r := l.run.texts.of(lexicon.Text, c.Cell(row, col))
		ln.text = unite(ln.text, r.reading)
		if len(ly.found)+len(ly.text) == 0 {
			ln.told = ln.told || r.said
		}
	}
	l.readParts(s, c, row, said)
}

// readParts makes the part lines of a row: one, or one per component where a part cell names several.
func (l *lane) readParts(s *source, c *logfile.Chunk, row int, said uint64) {
	ln := &l.line
	var p history.Part
	p.PartNo = view(l.cell(s, c, row, columns.PartNo))
	p.Lot = view(l.cell(s, c, row, columns.Lot))
	cost := false
	for i := range s.layout.numbers {
		n := &s.layout.numbers[i]
		cell := c.Cell(row, n.column)
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
			p.Currency = l.currency(s, c, row, sign, n.currency)
		}
	}
	if said == 0 && p.PartNo == "" && p.Lot == "" && !cost {
		return
	}
	p.Supplier = view(l.cell(s, c, row, columns.Supplier))
	p.Grade = l.readGrade(s, c, row)
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

// readGrade reads a part's grade. A cell that says the grade is unknown says so much; one that is blank says nothing.
func (l *lane) readGrade(s *source, c *logfile.Chunk, row int) string {
	if grade, _ := l.grades.get(cells.Trim(c.Cell(row, s.layout.at[columns.Grade]))); grade != "" {
		return grade
	}
	cell := l.cell(s, c, row, columns.Grade)
	if len(cell) == 0 {
		return ""
	}
	grade, known := l.grades.get(cell)
	if !known {
		l.line.unreadValue("grade", cell)
		return schemas.GradeUnknown
	}
	return grade
}

// readAmounts reads bench minutes and the charge.
func (l *lane) readAmounts(s *source, c *logfile.Chunk, row int) {
	ln := &l.line
	for i := range s.layout.numbers {
		n := &s.layout.numbers[i]
		if n.of != columns.Minutes && n.of != columns.Charge {
			continue
		}
		cell := cells.Trim(c.Cell(row, n.column))
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
			ln.words[currencyWord] = l.currency(s, c, row, sign, n.currency)
		}
	}
}

// currency settles the currency of an amount: its own sign, the row's currency column, the header,
// the shop's.
func (l *lane) currency(s *source, c *logfile.Chunk, row int, sign, header string) string {
	if sign != "" {
		return sign
	}
	home := l.run.opt.Settings.Currency
	if cell := l.cell(s, c, row, columns.Currency); len(cell) > 0 {
		if code, ok := l.currencies.get(cell); ok {
			return code
		}
	}
	if header != "" {
		return header
	}
	return home
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
func (l *lane) missing(s *source, c *logfile.Chunk, row int, of columns.Meaning, want string) refusal {
	column := s.header(of)
	if column == "" {
		column = of.String()
	}
	return refusal{ticket: l.line.ticket, shop: l.line.shop, column: column, reason: ReasonMissing, want: want, raw: l.maskedRow(s, c, row)}
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
func (l *lane) maskedRow(s *source, c *logfile.Chunk, row int) string {
	if ticket := l.line.ticket; ticket != "" && shownTicket(bytesOf(ticket)) != ticket {
		return mask
	}
	if col := s.layout.at[columns.Opened]; col >= 0 {
		if cell := cells.Trim(c.Cell(row, col)); len(cell) > 0 && !dateLike.Match(cell) {
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
		cell := cells.Trim(c.Cell(row, col))
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
