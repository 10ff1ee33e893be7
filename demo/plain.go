package demo

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"time"
)

// plainHeader is the log of shop one: the plain headers, and what a till adds about people.
var plainHeader = []string{"ticket", "shop", "opened", "ready", "collected", "outcome", "class", "maker", "model", "serial", "made_week",
	"customer", "phone", "email", "address", "fault", "found", "notes", "part", "part_no", "supplier", "lot", "grade", "quantity", "unit_cost",
	"minutes", "charge", "currency", "technician"}

// writePlain writes repairs.csv: UTF-8, commas, plain headers, ISO dates, one part a row.
func (e *exporter) writePlain(rows []row) error {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	if err := w.Write(plainHeader); err != nil {
		return err
	}
	for _, r := range rows {
		t, d := r.ticket, r.ticket.Device
		opened, ready := isoTime(t.Opened), isoTime(t.Ready)
		class, maker, model := d.Model.Class, r.maker, r.model
		minutes := plainNumber(t.Minutes, 0)
		if r.noModel {
			class, maker, model = "", "", ""
		}
		if r.noDate {
			opened = "2026-02-31 10:00"
		}
		if r.readyEarly {
			ready = isoTime(t.Opened.AddDate(0, -1, 0))
		}
		if r.minus {
			minutes = "-" + minutes
		}
		cells := []string{t.Number, e.shop.Name, opened, ready, isoTime(t.Collected), t.Outcome, class, maker, model, d.Serial, d.MadeWeek,
			d.Owner.Name(), d.Owner.Phone, d.Owner.Mail, d.Owner.Street, t.Fault, t.Found, t.Notes}
		if l := r.line; l != nil {
			cells = append(cells, l.Part, l.PartNo, l.Supplier, l.Lot, l.Grade, strconv.Itoa(l.Quantity), plainNumber(l.UnitCost, 2))
		} else {
			cells = append(cells, "", "", "", "", "", "", "")
		}
		cells = append(cells, minutes, plainNumber(t.Charge, 2), "EUR", t.Technician)
		if err := w.Write(cells); err != nil {
			return err
		}
	}
	w.Flush()
	path, err := e.create("repairs.csv", out.Bytes())
	e.files.Logs = []string{path}
	return err
}

func isoTime(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2006-01-02 15:04")
}

// plainNumber is empty for 0, which means not told.
func plainNumber(v float64, digits int) string {
	if v == 0 {
		return ""
	}
	return strconv.FormatFloat(v, 'f', digits, 64)
}
