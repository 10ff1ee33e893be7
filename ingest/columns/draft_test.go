package columns

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"faultgrain/ingest/logfile"

	"pgregory.net/rapid"
)

var update = flag.Bool("update", false, "rewrite testdata/*.golden")

// drafted drafts a log given as rows of cells, without a file.
func drafted(t interface{ Fatal(...any) }, header []string, rows [][]string) (string, *draft) {
	d, err := newDraft(header)
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		d.add(func(col int) []byte {
			if col < len(row) {
				return []byte(row[col])
			}
			return nil
		}, int64(i+2))
	}
	d.whole = true
	var out bytes.Buffer
	if err := d.write(&out, "log.csv", "CSV"); err != nil {
		t.Fatal(err)
	}
	return out.String(), d
}

// A log of part lines does without the day, and so without the second column that tells it.
func TestDraftOfWhatNobodyNeedsTwice(t *testing.T) {
	text, _ := drafted(t, []string{"ticket", "date", "date", "EK €"}, nil)
	if !strings.Contains(text, `as little use as "date"`) {
		t.Errorf("the second date goes without a word:\n%s", text)
	}
}

// Whatever the log, the drafted file loads, and maps every column as the draft says.
func TestDraftWorksUnchanged(t *testing.T) {
	names := rapid.OneOf(
		rapid.SampledFrom([]string{"ticket", "Auftrag", "opened", "date", "Datum", "model", "Gerät", "fault", "Kunde", "price", "", " ", "#2", "x#2", "x", "Notiz", "Zeit (h)", "EK €", "s/n", "id"}),
		rapid.String(),
		rapid.StringMatching(`[a-c"\\#= ]{0,4}`),
	)
	cell := rapid.OneOf(
		rapid.SampledFrom([]string{"", "1", "12,50", "1.234", "2026-05-03", "03/04/2026", "15/04/2026", "04/15/2026", "screen", "battery dead", "repaired", "phone", "a@b.example", "0170 1234567", "260531793113837", "KW 7 2026", "45 min", "12 €", "EUR"}),
		rapid.String(),
	)
	rapid.Check(t, func(t *rapid.T) {
		header := rapid.SliceOfN(names, 1, 8).Draw(t, "header")
		var rows [][]string
		for range rapid.IntRange(0, 12).Draw(t, "rows") {
			rows = append(rows, rapid.SliceOfN(cell, len(header), len(header)).Draw(t, "row"))
		}
		text, d := drafted(t, header, rows)
		c, err := parseConfig("columns.toml", []byte(text))
		if err != nil {
			t.Fatalf("%v in\n%s", err, text)
		}
		m, err := Recognise(header, c)
		var missing *MissingColumns
		if err != nil && !errors.As(err, &missing) && !errors.Is(err, ErrNoLog) {
			t.Fatalf("%v with\n%s", err, text)
		}
		if err != nil {
			return
		}
		for i, g := range guessAll(&d.m, d.p) {
			if _, named := d.m.keyOf(i); named && m.Of[i] != g.meaning {
				t.Fatalf("column %d %q is %v, the draft says %v:\n%s", i, header[i], m.Of[i], g.meaning, text)
			}
		}
		if len(m.Unused) > 0 {
			t.Fatalf("unused keys %q in\n%s", m.Unused, text)
		}
	})
}

// A shop's own German sheet, invented: what the draft says of it is kept for reading.
func TestDraftOfGermanSheet(t *testing.T) {
	dir := t.TempDir()
	log := filepath.Join(dir, "mai.csv")
	var b strings.Builder
	b.WriteString("Auftrags-Nr.;Annahme;Fertig am;Kunde;Tel.;Gerät;Marke;Feld A;Feld B;Teil;EK;Dauer (h);Rechnung;Ausgang;Xyz;\n")
	for i := range 60 {
		fmt.Fprintf(&b, "%d;%02d.05.2026;%02d.05.2026;Max Muster%d;0170/55501%02d;%s;%s;Display gesprungen seit Tag %d;%s;%s;%d,50;0,5;%d,00 €;%s;%s;kunde%d@example.org\n",
			4000+i, i/3+1, i/3+2, i, i, pick(i, "Handy", "Tablet"), pick(i/2, "Lark", "Finch"), i, pick(i, "Display", "Akku", "Ladebuchse"),
			pick(i, "Display LK", "", "Akku LK"), 5+i, 50+i, pick(i, "repariert", "KVA abgelehnt", "an Absender", "repariert"), pick(i, "a", "b"), i)
	}
	if err := os.WriteFile(log, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := logfile.Open(context.Background(), log, logfile.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := Draft(context.Background(), &out, f); err != nil {
		t.Fatal(err)
	}
	for _, secret := range []string{"Muster", "0170", "55501", "kunde1", "seit Tag"} {
		if strings.Contains(out.String(), secret) {
			t.Errorf("the draft shows %q", secret)
		}
	}
	path := filepath.Join(dir, "columns.toml")
	if err := os.WriteFile(path, out.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	c, err := LoadConfig(path)
	if err != nil {
		t.Fatal(err)
	}
	m, err := Recognise(f.Header, c)
	if err != nil {
		t.Fatal(err)
	}
	want := "ticket opened ready personal personal class maker fault found part unit_cost minutes charge outcome ignore personal"
	var got []string
	for _, x := range m.Of {
		got = append(got, x.String())
	}
	if strings.Join(got, " ") != want {
		t.Errorf("got  %s\nwant %s", strings.Join(got, " "), want)
	}
	if m.PerUnit[11] != 60 {
		t.Errorf("hours count %v minutes", m.PerUnit[11])
	}
	golden(t, "german.golden", out.Bytes())
}

func pick(i int, of ...string) string { return of[i%len(of)] }

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs (go test ./ingest/columns -update rewrites it)\ngot:\n%s\nwant:\n%s", path, got, want)
	}
}

func TestDraftOfAmbiguousDates(t *testing.T) {
	var rows [][]string
	for i := range 40 { // four rows a day, 1 to 10 March, day first
		rows = append(rows, []string{fmt.Sprint(i), fmt.Sprintf("%02d/03/2026", i/4+1), "Lark 7"})
	}
	text, _ := drafted(t, []string{"ticket", "opened", "model"}, rows)
	if !strings.Contains(text, "\ndates = \"day-first\"\n") || !strings.Contains(text, "rows stand in order") {
		t.Errorf("the order of the rows settles nothing:\n%s", text)
	}
	text, _ = drafted(t, []string{"ticket", "opened", "model"}, [][]string{{"1", "03/04/2026", "Lark 7"}})
	if strings.Contains(text, "\ndates = ") || !strings.Contains(text, "# dates = \"day-first\"\n# dates = \"month-first\"") {
		t.Errorf("one date settles the order:\n%s", text)
	}
}

func TestDraftOfDatesWithPoints(t *testing.T) {
	text, _ := drafted(t, []string{"Auftrag", "Annahme", "Modell"}, [][]string{{"1", "03.04.2026", "Lark 7"}})
	if !strings.Contains(text, "\ndates = \"day-first\"\n") || !strings.Contains(text, "DOUBT: \"03.04.2026\"") {
		t.Errorf("no guess, or one without a doubt:\n%s", text)
	}
}

func TestDraftOfNoLog(t *testing.T) {
	text, _ := drafted(t, []string{"a", "b"}, [][]string{{"x y", "z"}})
	if !strings.Contains(text, "is this a repair log?") {
		t.Errorf("no doubt about\n%s", text)
	}
}

func TestDraftGuessesFromContent(t *testing.T) {
	header := []string{"a", "b", "c", "d", "e", "f", "g", "h", "i", "j"}
	want := []Meaning{Ticket, Opened, Ready, Model, Serial, Fault, Outcome, Charge, Minutes, MadeWeek}
	// 15-digit numbers with their Luhn digit, made up from an example of 3GPP TS 23.003
	imeis := []string{"260531793113837", "350000000000006", "260531793113837"}
	var rows [][]string
	for i := range 30 {
		rows = append(rows, []string{fmt.Sprintf("R-%04d", i), fmt.Sprintf("2026-05-%02d", i/2+1), fmt.Sprintf("2026-05-%02d 17:00", i/2+3),
			pick(i, "Lark 7", "Lark 8", "Lark 9"), pick(i, imeis...), fmt.Sprintf("screen cracked after fall number %d", i),
			pick(i, "repaired", "no fault found", "declined"), fmt.Sprintf("€ %d.50", 40+i), pick(i, "45 min", "1h 10m"), fmt.Sprintf("2025-W%02d", i+1)})
	}
	_, d := drafted(t, header, rows)
	for i, g := range guessAll(&d.m, d.p) {
		if g.meaning != want[i] || g.doubt == "" {
			t.Errorf("column %s: %v (doubt %q), want %v with a doubt", header[i], g.meaning, g.doubt, want[i])
		}
	}
}
