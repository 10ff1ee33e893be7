package columns

import (
	"encoding/csv"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"faultgrain/ingest/cells"
)

// What the headers mean is what a speaker of the language would say; common practice, no source.
func TestHeadersAreRecognised(t *testing.T) {
	tests := []struct {
		name   string
		header string // parted by |
		want   string // meanings; - is unknown
	}{
		{"plain", "ticket|shop|opened|ready|collected|outcome|class|maker|family|model|serial|made_week|fault|found|notes|part|part_no|supplier|lot|grade|quantity|unit_cost|minutes|charge|currency|technician",
			"ticket|shop|opened|ready|collected|outcome|class|maker|family|model|serial|made_week|fault|found|notes|part|part_no|supplier|lot|grade|quantity|unit_cost|minutes|charge|currency|technician"},
		{"open standard v0.3", "id|data_provider|country|partner_product_category|product_category|product_category_id|brand|year_of_manufacture|product_age|repair_status|repair_barrier_if_end_of_life|group_identifier|event_date|problem",
			"ticket|ignore|ignore|ignore|class|ignore|maker|ignore|ignore|outcome|ignore|ignore|opened|fault"},
		{"open standard v0.1", "id|data_provider|country|language|product_category|brand|model|year_of_manufacture|repair_status|group_identifier|date|problem",
			"ticket|ignore|ignore|ignore|class|maker|model|ignore|outcome|ignore|opened|fault"},
		{"english", "Job No.|Date In|Date Completed|Customer Name|Phone|Make|Model|IMEI|Reported Fault|Diagnosis|Parts Used|Part Cost (GBP)|Labour Time (hrs)|Total Price|Repaired By",
			"ticket|opened|ready|personal|personal|maker|model|serial|fault|found|part|unit_cost|minutes|charge|technician"},
		{"camel", "jobNumber|createdAt|completedAt|deviceBrand|deviceModel|serialNumber|problemDescription|unitCost|labourMinutes|customerEmail",
			"ticket|opened|ready|maker|model|serial|fault|unit_cost|minutes|personal"},
		{"german", "Auftrags-Nr.|Annahmedatum|Fertig am|Abgeholt am|Kunde|Telefon|Gerätetyp|Hersteller|Modell|Seriennummer|Fehlerbeschreibung|Befund|Ersatzteil|Artikelnr.|Lieferant|Chargennummer|Menge|Einkaufspreis|Arbeitszeit (min)|Rechnungsbetrag|Währung|Techniker|Bemerkungen|Status",
			"ticket|opened|ready|collected|personal|personal|class|maker|model|serial|fault|found|part|part_no|supplier|lot|quantity|unit_cost|minutes|charge|currency|technician|notes|outcome"},
		{"german digraphs", "Geraet|Waehrung|Qualitaet|Stueckzahl|Auftrag|Eingang", "model|currency|grade|quantity|ticket|opened"},
		{"french", "N° de dossier|Date d'entrée|Date de sortie|Marque|Modèle|N° de série|Panne déclarée|Diagnostic|Pièce|Fournisseur|Quantité|Prix d'achat|Durée|Montant TTC|Technicien|Nom du client",
			"ticket|opened|collected|maker|model|serial|fault|found|part|supplier|quantity|unit_cost|minutes|charge|technician|personal"},
		{"dutch", "Reparatienummer|Ontvangen op|Gereed op|Opgehaald op|Merk|Model|Serienummer|Klacht|Diagnose|Onderdeel|Leverancier|Aantal|Inkoopprijs|Werktijd|Verkoopprijs|Monteur|Klantnaam",
			"ticket|opened|ready|collected|maker|model|serial|fault|found|part|supplier|quantity|unit_cost|minutes|charge|technician|personal"},
		{"spanish", "Nº de orden|Fecha de entrada|Fecha de entrega|Marca|Modelo|Número de serie|Avería|Diagnóstico|Pieza|Proveedor|Cantidad|Coste unitario|Minutos|Importe|Técnico|Cliente|Estado",
			"ticket|opened|collected|maker|model|serial|fault|found|part|supplier|quantity|unit_cost|minutes|charge|technician|personal|outcome"},
		{"danish", "Sagsnr.|Indleveringsdato|Færdig|Afhentet|Mærke|Model|Serienummer|Fejlbeskrivelse|Diagnose|Reservedel|Leverandør|Antal|Indkøbspris|Arbejdstid|Pris|Tekniker|Kundenavn",
			"ticket|opened|ready|collected|maker|model|serial|fault|found|part|supplier|quantity|unit_cost|minutes|charge|technician|personal"},
		{"part lines", "ticket|date|part|qty|price", "ticket|ignore|part|quantity|unit_cost"},
		{"sure beats maybe", "id|job no|date|received|description|fault", "-|ticket|-|opened|-|fault"},
		{"dotted", "job.id|job.opened|device.maker|device.model|part.name|part.unit_cost|customer.name|customer.phone", "ticket|opened|maker|model|part|unit_cost|personal|personal"},
		{"several texts", "ticket|opened|model|fault|problem|part 1|part 2", "ticket|opened|model|fault|fault|part|part"},
		{"device is the class where a model stands beside", "ticket|opened|Device|Brand|Model", "ticket|opened|class|maker|model"},
		{"empty and repeated", "ticket||opened|model|model", "ticket|-|opened|model|-"},
		{"money charge and batch charge", "Auftrag|Annahme|Modell|Ersatzteil|Charge|Rechnungsbetrag", "ticket|opened|model|part|lot|charge"},
		{"plain charge without a lot", "ticket|opened|model|fault|minutes|charge", "ticket|opened|model|fault|minutes|charge"},
		{"cost without parts", "ticket|opened|model|cost", "ticket|opened|model|charge"},
		{"cost with parts", "ticket|opened|model|part|cost|price", "ticket|opened|model|part|unit_cost|charge"},
		{"quantity, price, total", "ticket|opened|model|part|qty|price|total", "ticket|opened|model|part|quantity|unit_cost|charge"},
		{"repair date beside the day it came", "Orden|Fecha de entrada|Fecha reparación|Modelo", "ticket|opened|ready|model"},
		{"repair date alone", "Orden|Fecha reparación|Modelo", "ticket|opened|model"},
		{"not what it sounds like", "ticket|opened|model|repair type|product description|condition|job description", "ticket|opened|model|-|-|-|fault"},
		{"slips of the keyboard", "Auftragsnumer|Anahmedatum|Manufacturor|Fehlerbeschreibugn|partner", "ticket|opened|maker|fault|-"},
		{"one thing twice", "Ticket / Job|Opened|Hersteller/Modell|Fault / Issue|Color/Size", "ticket|opened|model|fault|-"},
		{"mail", "ticket|opened|model|E-Mail-Adresse|Kunden-Mobilnummer|Unlock code|Straße", "ticket|opened|model|personal|personal|personal|personal"},
	}
	for _, tt := range tests {
		header := strings.Split(tt.header, "|")
		m, err := Recognise(header, nil)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		for i, want := range strings.Split(tt.want, "|") {
			if want == "-" {
				want = "unknown"
			}
			if got := m.Of[i].String(); got != want {
				t.Errorf("%s: %q is %s, want %s", tt.name, header[i], got, want)
			}
		}
	}
}

func TestUnitsAndCurrenciesInHeaders(t *testing.T) {
	m, err := Recognise([]string{"ticket", "Labour hours", "cost EUR", "Price (£)"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if m.PerUnit[1] != 60 || m.PerUnit[2] != 1 {
		t.Errorf("minutes per unit: %v", m.PerUnit)
	}
	if m.Currency[2] != "EUR" || m.Currency[3] != "GBP" || m.Currency[0] != "" {
		t.Errorf("currencies: %q", m.Currency)
	}
	for header, want := range map[string]string{"price eur": "EUR", "Price (all parts)": "", "price PLN": "PLN", "Pris kr.": "DKK", "price": ""} {
		m, err := Recognise([]string{"ticket", "opened", "model", header}, nil)
		if err != nil || m.Of[3] != Charge || m.Currency[3] != want {
			t.Errorf("%q: %v in %q, %v; want charge in %q", header, m.Of[3], m.Currency[3], err, want)
		}
	}
	for header, want := range map[string]float64{"Arbeitszeit (h)": 60, "Arbeitsstunden": 60, "Minuten": 1, "Duration [sec]": 1.0 / 60, "Repair time": 1, "Horas de trabajo": 60} {
		m, err := Recognise([]string{"ticket", header}, nil)
		if err != nil || m.Of[1] != Minutes || m.PerUnit[1] != want {
			t.Errorf("%q: %v, %v per unit, %v; want minutes, %v", header, m.Of[1], m.PerUnit[1], err, want)
		}
	}
}

func TestNoLogIsRefused(t *testing.T) {
	_, err := Recognise([]string{"latitude", "longitude", "elevation"}, nil)
	if !errors.Is(err, ErrNoLog) || !strings.Contains(err.Error(), "faultgrain columns") {
		t.Errorf("got %v, want ErrNoLog", err)
	}
	_, err = Recognise([]string{"opened", "model", "fault"}, nil)
	var missing *MissingColumns
	if !errors.As(err, &missing) || missing.Missing[0] != "ticket" {
		t.Errorf("got %v, want a missing ticket column", err)
	}
}

func TestShapes(t *testing.T) {
	for header, want := range map[string][2]bool{ // complete, lines
		"ticket|opened|model":           {true, false},
		"ticket|opened|maker":           {true, false},
		"ticket|part|quantity":          {false, true},
		"ticket|found":                  {false, false},
		"ticket|opened|model|part|cost": {true, false},
	} {
		m, err := Recognise(strings.Split(header, "|"), nil)
		if err != nil || m.Complete() != want[0] || m.Lines() != want[1] {
			t.Errorf("%s: complete %v, lines %v, %v; want %v", header, m.Complete(), m.Lines(), err, want)
		}
	}
}

func TestDoubts(t *testing.T) {
	m, err := Recognise([]string{"ticket", "opened", "Gerät", "Xyz", "", "Kunde"}, &Config{Columns: map[string]string{"Fehlt": "lot"}})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{`column "Gerät" is read as model, a guess`, `column "Xyz" is not read: no meaning known`, "column 5 has no header and is not read",
		`columns.toml names "Fehlt", no column of this file`}
	if got := m.Doubts(); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// The open files hold every status and header of the standard as people export them.
func TestOpenDataIsRecognised(t *testing.T) {
	dir := os.Getenv("FAULTGRAIN_OPENDATA")
	if dir == "" {
		t.Skip("FAULTGRAIN_OPENDATA is not set: no open data to read")
	}
	files, err := filepath.Glob(filepath.Join(dir, "*.csv"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no CSV files in %s: %v", dir, err)
	}
	for _, path := range files {
		f, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		r := csv.NewReader(f)
		r.LazyQuotes, r.FieldsPerRecord, r.ReuseRecord = true, -1, true
		header, err := r.Read()
		if err != nil {
			t.Fatal(err)
		}
		m, err := Recognise(slices.Clone(header), nil)
		if err != nil {
			t.Errorf("%s: %v", filepath.Base(path), err)
			continue
		}
		for _, of := range []Meaning{Ticket, Opened, Maker, Class, Fault, Outcome} {
			if !m.Has(of) {
				t.Errorf("%s: no column for %v", filepath.Base(path), of)
			}
		}
		status, day := m.Col(Outcome), m.Col(Opened)
		unread, undated := 0, 0
		for {
			row, err := r.Read()
			if err == io.EOF {
				break
			}
			if err != nil || len(row) <= max(status, day) {
				continue
			}
			if _, ok := m.Words.Outcome([]byte(row[status])); !ok {
				unread++
			}
			if _, ok := (cells.Dates{}).Parse([]byte(row[day])); !ok && row[day] != "" {
				undated++
			}
		}
		if unread+undated > 0 {
			t.Errorf("%s: %d statuses and %d dates unread", filepath.Base(path), unread, undated)
		}
	}
}

func TestWords(t *testing.T) {
	m, err := Recognise([]string{"ticket"}, &Config{Outcomes: map[string]string{"abgefertigt": "repaired", "failed": "uneconomic"}, Classes: map[string]string{"Flieger": "Drone"}})
	if err != nil {
		t.Fatal(err)
	}
	for cell, want := range map[string]string{
		"Fixed": "repaired", "REPAIRED": "repaired", "Repairable": "returned-unrepaired", "End of life": "uneconomic", "Unknown": "", "": "",
		"no fault found": "no-fault", "NFF": "no-fault", "kein Fehler gefunden": "no-fault", "nicht repariert": "returned-unrepaired", "Repariert": "repaired",
		"réparé": "repaired", "Devis refusé": "declined", "niet gerepareerd": "returned-unrepaired", "in behandeling": "open", "Sin avería": "no-fault",
		"færdig": "repaired", "faerdig": "repaired", "Ikke rentabel": "uneconomic", "abgefertigt": "repaired", "failed": "uneconomic",
		"Repaired - screen": "repaired", "Status: waiting for parts": "open", "could not be repaired today": "returned-unrepaired", "was not ever repaired": "?",
		"BER": "uneconomic", "ja": "repaired", "no": "returned-unrepaired", "banana": "?", "open, declined": "?", "no-fault": "no-fault", "returned-unrepaired": "returned-unrepaired",
	} {
		got, ok := m.Words.Outcome([]byte(cell))
		if !ok {
			got = "?"
		}
		if got != want {
			t.Errorf("Outcome(%q) = %q, want %q", cell, got, want)
		}
	}
	for cell, want := range map[string]string{
		"OEM": "original", "original": "original", "Non-original": "aftermarket", "nicht original": "aftermarket", "Original gebraucht": "pulled", "refurb": "refurbished",
		"reconditionné": "refurbished", "brugt": "pulled", "unknown": "unknown", "": "", "Nachbau A": "aftermarket", "shiny": "?",
	} {
		got, ok := m.Words.Grade([]byte(cell))
		if !ok {
			got = "?"
		}
		if got != want {
			t.Errorf("Grade(%q) = %q, want %q", cell, got, want)
		}
	}
	for cell, want := range map[string]string{
		"Mobile": "phone", "Handy": "phone", "Tablet": "tablet", "Desktop computer": "desktop", "Games console": "console", "Headphones": "audio", "Bærbar computer": "laptop",
		"Mobile phone / Smartphone": "phone", "Watch/clock": "watch/clock", "PC accessory": "pc accessory", "Phone, tablet": "phone, tablet", "Flieger": "drone", "Coffee  Maker": "coffee maker", "Unknown": "", "": "", "TV": "tv",
	} {
		if got, _ := m.Words.Class([]byte(cell)); got != want {
			t.Errorf("Class(%q) = %q, want %q", cell, got, want)
		}
	}
}
