package export

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/apache/arrow-go/v18/arrow/ipc"
	"github.com/apache/arrow-go/v18/parquet/file"

	"faultgrain/ingest"
	"faultgrain/ingest/history"
)

const log = `ticket,opened,ready,maker,model,class,found,part,part_no,unit_cost,currency
J1,2026-05-01,2026-05-02,Lark,Lark 7,phone,,battery,=1+2,3.20,EUR
J2,2026-05-03,,Lark,Lark 7,phone,display,,,,
J3,31/02/2026,,Lark,Lark 7,phone,display,,,,
`

// J2 again, later: the first version must not be exported.
const later = `ticket,opened,ready,maker,model,class,found
J2,2026-05-03,2026-05-09,Lark,Lark 7,phone,hinge
`

func ingested(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	hist := filepath.Join(dir, "history")
	for name, text := range map[string]string{"a.csv": log, "b.csv": later} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"a.csv", "b.csv"} {
		if _, err := ingest.Run(context.Background(), []string{filepath.Join(dir, name)}, ingest.Options{History: hist}); err != nil {
			t.Fatal(err)
		}
	}
	return hist
}

func TestCSVHoldsTheCurrentTicketsAndNoFormula(t *testing.T) {
	out := filepath.Join(t.TempDir(), "out")
	files, err := Write(context.Background(), ingested(t), out, CSV)
	if err != nil {
		t.Fatal(err)
	}
	rows := map[string]int64{}
	for _, f := range files {
		rows[filepath.Base(f.Path)] = f.Rows
	}
	for name, want := range map[string]int64{"visits.csv": 2, "faults.csv": 2, "parts.csv": 1, "quarantine.csv": 1} {
		if rows[name] != want {
			t.Errorf("%s has %d rows, want %d", name, rows[name], want)
		}
	}
	visits := read(t, out, "visits.csv")
	if !strings.Contains(visits, ",J2,,2026-05-03T00:00:00Z,2026-05-09T00:00:00Z,") {
		t.Errorf("the later version of J2 is missing:\n%s", visits)
	}
	if parts := read(t, out, "parts.csv"); !strings.Contains(parts, ",'=1+2,") {
		t.Errorf("a formula could run:\n%s", parts)
	}
	if faults := read(t, out, "faults.csv"); !strings.Contains(faults, "hinge,found") || strings.Contains(faults, "display") {
		t.Errorf("faults of the replaced version are exported:\n%s", faults)
	}
	if q := read(t, out, "quarantine.csv"); !strings.Contains(q, "a.csv,4,opened,bad-date,31/02/2026") {
		t.Errorf("the quarantined row is not told:\n%s", q)
	}
}

func TestParquetAndArrowHoldTheSameRows(t *testing.T) {
	hist, out := ingested(t), t.TempDir()
	if _, err := Write(context.Background(), hist, out, Parquet); err != nil {
		t.Fatal(err)
	}
	r, err := file.OpenParquetFile(filepath.Join(out, "visits.parquet"), false)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if r.NumRows() != 2 {
		t.Errorf("visits.parquet has %d rows, want 2", r.NumRows())
	}
	if _, err := Write(context.Background(), hist, out, Arrow); err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(filepath.Join(out, "visits.arrow"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	in, err := ipc.NewFileReader(f)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	n := int64(0)
	for {
		b, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		n += b.NumRows()
	}
	if n != 2 {
		t.Errorf("visits.arrow has %d rows, want 2", n)
	}
	if unit, ok := in.Schema().Field(3).Metadata.GetValue("unit"); !ok || unit != "UTC timestamp" {
		t.Errorf("the field's unit is %q", unit)
	}
}

func TestWriteRefuses(t *testing.T) {
	if _, err := Write(context.Background(), t.TempDir(), t.TempDir(), CSV); !errors.Is(err, history.ErrNoHistory) {
		t.Errorf("no history: %v", err)
	}
	if _, err := Write(context.Background(), t.TempDir(), t.TempDir(), "xls"); err == nil || !strings.Contains(err.Error(), "want csv, parquet or arrow") {
		t.Errorf("unknown format: %v", err)
	}
}

func read(t *testing.T, dir, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
