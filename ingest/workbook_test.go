package ingest

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// workbook writes sheets, given in pairs of name and rows.
func workbook(t testing.TB, sheets ...any) string {
	t.Helper()
	b := excelize.NewFile()
	for i := 0; i < len(sheets); i += 2 {
		name := sheets[i].(string)
		if _, err := b.NewSheet(name); err != nil {
			t.Fatal(err)
		}
		for row, cells := range sheets[i+1].([][]any) {
			at, err := excelize.CoordinatesToCellName(1, row+1)
			if err == nil {
				err = b.SetSheetRow(name, at, &cells)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := b.DeleteSheet("Sheet1"); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "log.xlsx")
	if err := b.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	return path
}

// A workbook is read whole: tickets on one sheet, part lines on another, in either order; sheets that are no log are
// left out and told. The same workbook again adds nothing.
func TestWorkbook(t *testing.T) {
	tickets := [][]any{{"Auftrag", "Eingang", "Gerät", "Befund"}, {"A1", "2026-01-05", "Lark 7", "Display gebrochen"}, {"A2", "2026-01-06", "Lark 8", ""}}
	lines := [][]any{{"Auftrag", "Ersatzteil", "Einkaufspreis"}, {"A2", "Akku", 12.5}, {"A2", "Ladebuchse", 4}}
	cover := [][]any{{"Bericht", "Monat"}, {"Werkstatt", "Januar"}}
	people := [][]any{{"Auftrag", "Kunde", "Telefon"}, {"A1", "Somebody", "555"}}
	for name, path := range map[string]string{
		"tickets first": workbook(t, "Deckblatt", cover, "Tickets", tickets, "Kunden", people, "Teile", lines),
		"lines first":   workbook(t, "Teile", lines, "Kunden", people, "Deckblatt", cover, "Tickets", tickets),
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			sum := ingest(t, dir, Options{}, path)
			same(t, "faults", table(t, dir, "faults", "ticket, component, basis"),
				[]string{"A1 | display | found", "A2 | battery | part", "A2 | charge-port | part"})
			same(t, "parts", table(t, dir, "parts", "ticket, component, unit_cost"), []string{"A2 | battery | 12.5", "A2 | charge-port | 4"})
			var skipped []string
			for _, f := range sum.Files {
				skipped = append(skipped, f.Skipped...)
			}
			slices.Sort(skipped)
			same(t, "sheets left out", skipped, []string{"Deckblatt", "Kunden"})
			again := ingest(t, dir, Options{}, path)
			if again.New != 0 || again.Replaced != 0 {
				t.Errorf("the same workbook again: %d new, %d replaced", again.New, again.Replaced)
			}
		})
	}
}

// What is doubted of a log's columns is told; a key of columns.toml is doubted where no log of the run has its column.
func TestDoubtsAreTold(t *testing.T) {
	toml := write(t, "columns.toml", "[columns]\nWerkzeug = \"part\"\nHobel = \"notes\"\n")
	log := write(t, "log.csv", "ticket,date,model,Werkzeug,zorp\n1,2026-01-05,Lark 7,display,x\n")
	lines := write(t, "lines.csv", "ticket,part\n1,battery\n")
	sum := ingest(t, t.TempDir(), Options{Columns: toml}, log, lines)
	same(t, "doubts of the log", sum.Files[0].Doubts, []string{`column "date" is read as opened, a guess`,
		`column "zorp" is not read: no meaning known`, `columns.toml names "Hobel", no column of this file`})
	same(t, "doubts of the lines", sum.Files[1].Doubts, []string{`columns.toml names "Hobel", no column of this file`})
}

// A log that tells of devices and faults but of no day they came in is no log of part lines: it stops the run and says
// what it lacks, instead of setting every row aside.
func TestLogWithoutDays(t *testing.T) {
	_, err := Run(t.Context(), []string{write(t, "log.csv", "ticket,zorp,model,fault,part\n1,2026-01-05,Lark 7,screen cracked,display\n")},
		Options{History: t.TempDir() + "/history"})
	if err == nil || !strings.Contains(err.Error(), "log.csv") || !strings.Contains(err.Error(), "no column for opened") {
		t.Errorf("error %v, want the file and the missing column", err)
	}
}

// A vague item that comes in on a day is a device.
func TestItemIsADevice(t *testing.T) {
	dir := t.TempDir()
	ingest(t, dir, Options{}, write(t, "log.csv", "id,received,item,diagnosis,status\n1,2026-01-05,Lark 7,screen cracked,Fixed\n"))
	same(t, "visits", table(t, dir, "visits", "ticket, model, outcome"), []string{"1 | Lark 7 | repaired"})
}
