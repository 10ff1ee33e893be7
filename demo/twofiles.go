package demo

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"time"

	"github.com/xuri/excelize/v2"
)

// ticketHeader is the ticket sheet of shop three: the plain headers without the part line.
var ticketHeader = []string{"ticket", "shop", "opened", "ready", "collected", "outcome", "class", "maker", "model", "serial", "made_week",
	"customer", "phone", "email", "address", "fault", "found", "notes", "minutes", "charge", "currency", "technician"}

// writeTwoFiles writes tickets.xlsx, one row per ticket with real spreadsheet dates, and parts.jsonl,
// one object per part line. A duplicate of a ticket row stands in the sheet, of a part line nowhere.
func (e *exporter) writeTwoFiles(rows []row) error {
	book := excelize.NewFile()
	sheet := book.GetSheetName(0)
	w, err := book.NewStreamWriter(sheet)
	if err != nil {
		return err
	}
	style, err := book.NewStyle(&excelize.Style{NumFmt: 22}) // date and clock
	if err != nil {
		return err
	}
	header := make([]any, len(ticketHeader))
	for i, h := range ticketHeader {
		header[i] = h
	}
	if err := w.SetRow("A1", header); err != nil {
		return err
	}
	date := func(t time.Time) any {
		if t.IsZero() {
			return nil
		}
		return excelize.Cell{StyleID: style, Value: t}
	}
	number := func(v float64) any {
		if v == 0 {
			return nil
		}
		return v
	}
	var lines bytes.Buffer
	encode := json.NewEncoder(&lines)
	encode.SetEscapeHTML(false)
	e.files.Rows, e.files.Duplicates = 0, 0
	at := 1
	for i, r := range rows {
		again := i > 0 && rows[i-1].ticket == r.ticket && rows[i-1].line == r.line
		t, d := r.ticket, r.ticket.Device
		if r.line != nil && !again {
			l := r.line
			if err := encode.Encode(partLine{t.Number, l.Part, l.PartNo, l.Supplier, l.Lot, l.Grade, l.Quantity, l.UnitCost}); err != nil {
				return err
			}
			e.files.Rows++
		}
		if !r.first {
			continue
		}
		var opened any = date(t.Opened)
		ready, minutes := t.Ready, math.Round(t.Minutes)
		class, maker, model := d.Model.Class, r.maker, r.model
		if r.noModel {
			class, maker, model = "", "", ""
		}
		if r.noDate {
			opened = "31 febr 2026"
		}
		if r.readyEarly {
			ready = t.Opened.AddDate(0, -1, 0)
		}
		if r.minus {
			minutes = -minutes
		}
		at++
		if err := w.SetRow(fmt.Sprintf("A%d", at), []any{t.Number, e.shop.Name, opened, date(ready), date(t.Collected), t.Outcome, class, maker, model,
			d.Serial, d.MadeWeek, d.Owner.Name(), d.Owner.Phone, d.Owner.Mail, d.Owner.Street, t.Fault, t.Found, t.Notes,
			number(minutes), number(t.Charge), "EUR", t.Technician}); err != nil {
			return err
		}
		e.files.Rows++
		if again {
			e.files.Duplicates++
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	var out bytes.Buffer
	if err := book.Write(&out); err != nil {
		return err
	}
	tickets, err := e.create("tickets.xlsx", out.Bytes())
	if err != nil {
		return err
	}
	parts, err := e.create("parts.jsonl", lines.Bytes())
	e.files.Logs = []string{tickets, parts}
	return err
}

// partLine is one line of parts.jsonl, with the plain headers as keys.
type partLine struct {
	Ticket   string  `json:"ticket"`
	Part     string  `json:"part"`
	PartNo   string  `json:"part_no"`
	Supplier string  `json:"supplier"`
	Lot      string  `json:"lot,omitempty"`
	Grade    string  `json:"grade"`
	Quantity int     `json:"quantity"`
	UnitCost float64 `json:"unit_cost"`
}
