package logfile

import (
	"os"
	"slices"
	"strings"
	"testing"
)

// The file was written by DuckDB from testdata/kinds.sql, whose values these are.
func TestParquetKinds(t *testing.T) {
	header, rows, f := table(t, "testdata/kinds.parquet", Options{})
	if want := "ticket|model|opened|ready|zoned|cost|discount|wide|share|done|device.maker|device.year|at|serial|id"; header != want || f.Format != "parquet" {
		t.Errorf("got %s, %q, want %q", f.Format, header, want)
	}
	if !slices.Equal(f.Skipped, []string{"list.list.element"}) {
		t.Errorf("skipped %q, want the list", f.Skipped)
	}
	const id = "ad4fa921-4817-42a7-ad68-351e64cfbd5f"
	want := []string{
		"1|0||2026-05-01|2026-05-01 10:11:12|2026-05-01T08:11:12Z|0.00|0.00|0.0000|0|true|Lark|2020|10:11:12|18446744073709551615|" + id,
		"2|1|Größe 1|2026-05-02||2026-05-01T08:11:12Z|1.25|-0.01|1.2500|0.25|false|Lark|2021|10:11:12|18446744073709551614|" + id,
		"3|2|Größe 2|2026-05-03|2026-05-01 12:11:12|2026-05-01T08:11:12Z|2.50|-0.02|2.5000|0.5|true|Lark|2022|10:11:12|18446744073709551613|" + id,
		"4|3||2026-05-04|2026-05-01 13:11:12|2026-05-01T08:11:12Z|3.75|-0.03|3.7500|0.75|false|Lark|2023|10:11:12|18446744073709551612|" + id,
	}
	if !slices.Equal(rows, want) {
		t.Errorf("got  %q\nwant %q", rows, want)
	}
	if _, small, _ := table(t, "testdata/kinds.parquet", Options{ChunkBytes: 1}); !slices.Equal(small, want) {
		t.Errorf("small chunks give %q", small)
	}
}

func TestDamagedParquet(t *testing.T) {
	whole, err := os.ReadFile("testdata/kinds.parquet")
	if err != nil {
		t.Fatal(err)
	}
	for name, file := range map[string][]byte{
		"cut short":  whole[:len(whole)/2],
		"only magic": []byte("PAR1"),
		"no footer":  append(slices.Clone(whole[:len(whole)-12]), make([]byte, 12)...),
	} {
		if _, err := Open(t.Context(), write(t, "log.parquet", file), Options{}); err == nil || !strings.Contains(err.Error(), "export it again") {
			t.Errorf("%s: got %v", name, err)
		}
	}
	flipped := slices.Clone(whole)
	for i := 4; i < 400; i++ {
		flipped[i] ^= 0x5a
	}
	f, err := Open(t.Context(), write(t, "log.parquet", flipped), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := tableRows(t.Context(), f); err == nil || !strings.Contains(err.Error(), "log.parquet") {
		t.Errorf("damaged pages: got %v", err)
	}
}
