package demo

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"time"

	"golang.org/x/text/encoding/charmap"
)

// germanHeader is the log of shop two: its own words, some of which no list of synonyms knows.
var germanHeader = []string{"Auftrag", "Standort", "rein", "fertig", "geholt", "Stand", "Geräteart", "Hersteller", "Gerät", "Kennung", "KW gebaut",
	"Kunde", "Telefon", "E-Mail", "Anschrift", "Kunde sagt", "Befund", "Notiz", "verbaut", "Artikel", "Lieferant", "Los/Charge", "Güte", "Stück",
	"EK", "Zeit", "VK", "Bearbeiter"}

var (
	germanOutcomes = map[string]string{"repaired": "repariert", "no-fault": "kein Fehler", "uneconomic": "Totalschaden",
		"declined": "Kunde will nicht", "returned-unrepaired": "unrepariert zurück", "open": "offen"}
	germanClasses = map[string]string{"phone": "Handy", "tablet": "Tablet", "laptop": "Notebook", "watch": "Uhr", "console": "Konsole"}
	germanGrades  = map[string]string{"original": "Original", "aftermarket": "Nachbau", "pulled": "Schlachtteil", "refurbished": "aufgemöbelt"}
)

// germanColumns is columns.toml of shop two. It speaks of its own headers only, so that it may stand
// beside other logs in one run.
const germanColumns = `# What the columns of auftraege.csv mean, as far as the software could not know.
# faultgrain columns auftraege.csv drafts such a file.

[columns]
"rein" = "opened"
"fertig" = "ready"
"geholt" = "collected"
"Stand" = "outcome"
"Gerät" = "model"
"Kennung" = "serial"
"KW gebaut" = "made_week"
"Kunde sagt" = "fault"
"Artikel" = "part_no"
"Los/Charge" = "lot"
"Güte" = "grade"
"EK" = "unit_cost"
"Zeit" = "minutes"
"VK" = "charge"

[dates_in]
"rein" = "day-first"
"fertig" = "day-first"
"geholt" = "day-first"

[decimal_in]
"EK" = ","
"VK" = ","

[outcomes]
"Kunde will nicht" = "declined"

[grades]
"Schlachtteil" = "pulled"
"aufgemöbelt" = "refurbished"

[classes]
"Uhr" = "watch"
`

// writeGerman writes auftraege.csv: Windows-1252, semicolons, decimal commas, day-first dates with a
// clock, minutes as 0:45, money with the sign behind; and columns.toml, which says what is what.
func (e *exporter) writeGerman(rows []row) error {
	var out bytes.Buffer
	line := func(cells []string) {
		for i, cell := range cells {
			if i > 0 {
				out.WriteByte(';')
			}
			if strings.ContainsAny(cell, ";\"\n") {
				cell = `"` + strings.ReplaceAll(cell, `"`, `""`) + `"`
			}
			out.WriteString(cell)
		}
		out.WriteString("\r\n")
	}
	line(germanHeader)
	for _, r := range rows {
		t, d := r.ticket, r.ticket.Device
		opened, ready := germanTime(t.Opened), germanTime(t.Ready)
		class, maker, model := germanClasses[d.Model.Class], r.maker, r.model
		minutes := germanMinutes(t.Minutes)
		if r.noModel {
			class, maker, model = "", "", ""
		}
		if r.noDate {
			opened = "31.02.2026 10:00"
		}
		if r.readyEarly {
			ready = germanTime(t.Opened.AddDate(0, -1, 0))
		}
		if r.minus {
			minutes = "-" + minutes
		}
		cells := []string{t.Number, e.shop.Name, opened, ready, germanTime(t.Collected), germanOutcomes[t.Outcome], class, maker, model, d.Serial, d.MadeWeek,
			d.Owner.Name(), d.Owner.Phone, d.Owner.Mail, d.Owner.Street, t.Fault, t.Found, t.Notes}
		if l := r.line; l != nil {
			cells = append(cells, l.Part, l.PartNo, l.Supplier, l.Lot, germanGrades[l.Grade], strconv.Itoa(l.Quantity), germanMoney(l.UnitCost))
		} else {
			cells = append(cells, "", "", "", "", "", "", "")
		}
		line(append(cells, minutes, germanMoney(t.Charge), t.Technician))
	}
	encoded, err := charmap.Windows1252.NewEncoder().Bytes(out.Bytes())
	if err != nil {
		return err
	}
	path, err := e.create("auftraege.csv", encoded)
	if err != nil {
		return err
	}
	e.files.Logs = []string{path}
	e.files.Columns, err = e.create("columns.toml", []byte(germanColumns))
	return err
}

func germanTime(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("02.01.2006 15:04")
}

func germanMinutes(v float64) string {
	if v == 0 {
		return ""
	}
	m := int(v + 0.5)
	return fmt.Sprintf("%d:%02d", m/60, m%60)
}

// germanMoney writes 1.234,50 € for 1234.5.
func germanMoney(v float64) string {
	if v == 0 {
		return ""
	}
	whole, cents, _ := strings.Cut(strconv.FormatFloat(v, 'f', 2, 64), ".")
	if len(whole) > 3 {
		whole = whole[:len(whole)-3] + "." + whole[len(whole)-3:]
	}
	return whole + "," + cents + " €"
}
