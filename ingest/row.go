package ingest

import (
	"fmt"

	"faultgrain/ingest/cells"
	"faultgrain/ingest/columns"
	"faultgrain/ingest/logfile"
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

// overflows says whether a row has anything beyond the header's last column.
func overflows(row *logfile.Row, width int) bool {
	for col := width; col < row.Width(); col++ {
		if len(cells.Trim(row.Cell(col))) > 0 {
			return true
		}
	}
	return false
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

func (s *source) header(of columns.Meaning) string {
	if col := s.layout.at[of]; col >= 0 {
		return s.file.Header[col]
	}
	return ""
}

// empty notes that a cell could not be used.
func (ln *line) empty(column, why string) {
	ln.notices = append(ln.notices, notice{"emptied", column, why})
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
