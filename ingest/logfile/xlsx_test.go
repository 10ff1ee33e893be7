package logfile

import (
	"archive/zip"
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// book writes a workbook; each sheet is rows of cells, a style code may stand before a number as "code=number".
func book(t testing.TB, build func(b *excelize.File)) string {
	t.Helper()
	b := excelize.NewFile()
	build(b)
	path := filepath.Join(t.TempDir(), "log.xlsx")
	if err := b.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	return path
}

func fillSheet(t testing.TB, b *excelize.File, sheet string, rows ...[]any) {
	t.Helper()
	if _, err := b.NewSheet(sheet); err != nil {
		t.Fatal(err)
	}
	for i, r := range rows {
		at, err := excelize.CoordinatesToCellName(1, i+1)
		if err != nil {
			t.Fatal(err)
		}
		if err := b.SetSheetRow(sheet, at, &r); err != nil {
			t.Fatal(err)
		}
	}
}

func style(t testing.TB, b *excelize.File, sheet, from, to string, s excelize.Style) {
	t.Helper()
	id, err := b.NewStyle(&s)
	if err == nil {
		err = b.SetCellStyle(sheet, from, to, id)
	}
	if err != nil {
		t.Fatal(err)
	}
}

func TestWorkbookCellsAreMeantAsShown(t *testing.T) {
	german, euro := `dd.mm.yyyy\ hh:mm`, `#,##0.00\ [$€-407]`
	path := book(t, func(b *excelize.File) {
		fillSheet(t, b, "Sheet1",
			[]any{"Repairs of May"},
			[]any{},
			[]any{"Auftrag", " Eingang", "fertig", "Dauer", "Preis", "Befund", "Serial"},
			[]any{1001, time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC), 46145.604166666664, 0.03125, 49.5, "Akku", "0012"},
			[]any{},
			[]any{1002, "04.05.2026", 46146, 1.0416666666666667, 1234567.25, "Größe <ok> & \"so\"", 12345678901234567},
			[]any{1003, 46147, 46147.5, 45, 0.1, true, "#N/A"},
		)
		style(t, b, "Sheet1", "B4", "B4", excelize.Style{NumFmt: 14})
		style(t, b, "Sheet1", "C4", "C7", excelize.Style{CustomNumFmt: &german})
		style(t, b, "Sheet1", "D4", "D5", excelize.Style{NumFmt: 20})
		style(t, b, "Sheet1", "D6", "D6", excelize.Style{NumFmt: 46})
		style(t, b, "Sheet1", "E4", "E7", excelize.Style{CustomNumFmt: &euro})
	})
	header, rows, f := table(t, path, Options{})
	if want := "Auftrag|Eingang|fertig|Dauer|Preis|Befund|Serial"; header != want || f.Format != "xlsx" || f.Line != 3 {
		t.Errorf("got %s, line %d, %q, want xlsx, line 3, %q", f.Format, f.Line, header, want)
	}
	// 46145 is 2026-05-03: 46143 days after 1899-12-30 is 2026-05-01 by any calendar.
	want := []string{
		"4|1001|2026-05-03|2026-05-03 14:30:00|0:45|49.5|Akku|0012",
		`6|1002|04.05.2026|2026-05-04|25:00|1234567.25|Größe <ok> & "so"|12345678901234567`,
		"7|1003|46147|2026-05-05 12:00:00|45|0.1|1|#N/A",
	}
	if !slices.Equal(rows, want) {
		t.Errorf("got  %q\nwant %q", rows, want)
	}
}

func TestWorkbookSheets(t *testing.T) {
	path := book(t, func(b *excelize.File) {
		fillSheet(t, b, "Sheet1", []any{"only a title"})
		fillSheet(t, b, "April", []any{"ticket", "opened", "model"}, []any{1, "2026-04-01", "Lark 7"})
		fillSheet(t, b, "Prices", []any{"part", "cost"}, []any{"display", 30})
		fillSheet(t, b, "May", []any{"model", "ticket", "opened", "note"}, []any{"Lark 8", 2, "2026-05-01", "x"}, []any{"Lark 9", 3, "2026-05-02"})
		fillSheet(t, b, "Secret", []any{"ticket", "opened", "model"}, []any{9, "2026-04-01", "Lark 7"})
		if err := b.SetSheetVisible("Secret", false); err != nil {
			t.Fatal(err)
		}
	})
	header, rows, f := table(t, path, Options{})
	want := []string{"2|1|2026-04-01|Lark 7|", "2|2|2026-05-01|Lark 8|x", "3|3|2026-05-02|Lark 9|"}
	if header != "ticket|opened|model|note" || !slices.Equal(rows, want) || !slices.Equal(f.Sheets, []string{"April", "May"}) {
		t.Errorf("got %q, %q of %q, want %q", header, rows, f.Sheets, want)
	}
	if len(f.Further) != 1 || !slices.Equal(f.Further[0].Header, []string{"part", "cost"}) || !slices.Equal(f.Further[0].Sheets, []string{"Prices"}) {
		t.Errorf("further logs: got %+v, want the sheet of prices", f.Further)
	}
	own, err := f.Hash(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if other, err := f.Further[0].Hash(t.Context()); err != nil || other == own {
		t.Errorf("the sheets of prices and tickets have the hash %s, %v", other, err)
	}
	header, rows, _ = table(t, path, Options{Sheet: "prices", ChunkBytes: 1})
	if header != "part|cost" || !slices.Equal(rows, []string{"2|display|30"}) {
		t.Errorf("named sheet: got %q, %q", header, rows)
	}
	if _, err := Open(t.Context(), path, Options{Sheet: "June"}); err == nil || !strings.Contains(err.Error(), "Sheet1, April, Prices, May") {
		t.Errorf("no such sheet: got %v", err)
	}
}

func TestNumberFormats(t *testing.T) {
	for code, want := range map[string]cellForm{
		"yyyy-mm-dd": asDate, "d/m/yy": asDate, "mmmm": asDate, "[$-407]d. mmmm yyyy": asDate, "dd.mm.yyyy hh:mm;@": asDate,
		"h:mm AM/PM": asTime, "hh:mm:ss": asTime, "[h]:mm": asDuration, "[mm]:ss": asDuration, "ss.0": asDuration,
		"General": asStored, "0.00": asStored, `#,##0.00 "days"`: asStored, `0\d`: asStored, "[Red]0": asStored, "[$€-407] 0.00": asStored, "0.00E+00": asStored, "@": asStored,
	} {
		if got := formOf(164, code); got != want {
			t.Errorf("%s: got form %d, want %d", code, got, want)
		}
	}
}

func TestDates1904(t *testing.T) {
	path := book(t, func(b *excelize.File) {
		yes := true
		if err := b.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &yes}); err != nil {
			t.Fatal(err)
		}
		fillSheet(t, b, "Sheet1", []any{"ticket", "opened"}, []any{1, 44681}, []any{2, 44682})
		style(t, b, "Sheet1", "B2", "B3", excelize.Style{NumFmt: 14})
	})
	// the two date systems are 1462 days apart: 44681 + 1462 = 46143, which is 2026-05-01
	if _, rows, _ := table(t, path, Options{}); !slices.Equal(rows, []string{"2|1|2026-05-01", "3|2|2026-05-02"}) {
		t.Errorf("got %q", rows)
	}
}

func TestWorkbooksThatCannotBeRead(t *testing.T) {
	packed := func(name string, size uint64) []byte {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		w, err := z.CreateRaw(&zip.FileHeader{Name: name, UncompressedSize64: size, CompressedSize64: 3})
		if err == nil {
			_, err = w.Write([]byte("abc"))
		}
		if err == nil {
			err = z.Close()
		}
		if err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	whole, err := os.ReadFile(book(t, func(b *excelize.File) {
		fillSheet(t, b, "Sheet1", []any{"ticket", "opened"}, []any{1, 2})
	}))
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		file []byte
		want string
	}{
		"bomb":          {packed("xl/worksheets/sheet1.xml", 2<<30), "unpacks to more than"},
		"another zip":   {packed("mimetype", 3), "log.xlsx"},
		"cut short":     {whole[:len(whole)/2], "damaged workbook"},
		"old or locked": {append(slices.Clone(cfbMagic), make([]byte, 600)...), "without a password"},
	} {
		if _, err := Open(t.Context(), write(t, "log.xlsx", c.file), Options{}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", name, err, c.want)
		}
	}
	empty := book(t, func(b *excelize.File) { fillSheet(t, b, "Sheet1", []any{"ticket", "opened"}) })
	if _, err := Open(t.Context(), empty, Options{}); err == nil || !strings.Contains(err.Error(), "no sheet with a header and rows") {
		t.Errorf("header only: got %v", err)
	}
}
