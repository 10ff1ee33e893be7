package ingest

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"faultgrain/ingest/history"

	_ "github.com/duckdb/duckdb-go/v2"
)

// write puts a log into a folder of its own and returns its path.
func write(t testing.TB, name, content string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func ingest(t testing.TB, dir string, opt Options, logs ...string) Summary {
	t.Helper()
	opt.History = dir
	sum, err := Run(context.Background(), logs, opt)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range sum.Files {
		if f.Accepted+f.Quarantined+f.Duplicate != f.Read {
			t.Errorf("%s: %d accepted + %d quarantined + %d duplicate != %d read", f.Name, f.Accepted, f.Quarantined, f.Duplicate, f.Read)
		}
	}
	return sum
}

// engine is one DuckDB for all tests of the package.
var engine = sync.OnceValues(func() (*sql.DB, error) { return sql.Open("duckdb", "") })

// table reads columns of the current rows of a table, one text per row, sorted. Nothing is "-".
func table(t testing.TB, dir, name string, columns ...string) []string {
	t.Helper()
	h, err := history.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	db, err := engine()
	if err != nil {
		t.Fatal(err)
	}
	list := func(table string) string {
		var quoted []string
		for _, f := range h.Files(table) {
			quoted = append(quoted, "'"+f+"'")
		}
		return "[" + strings.Join(quoted, ",") + "]"
	}
	if len(h.Files(name)) == 0 {
		return nil
	}
	query := fmt.Sprintf("SELECT %s FROM read_parquet(%s)", strings.Join(columns, ", "), list(name))
	if len(h.Files("replaced")) > 0 && slices.Contains([]string{"visits", "faults", "parts"}, name) {
		query += fmt.Sprintf(" WHERE visit NOT IN (SELECT visit FROM read_parquet(%s) WHERE visit IS NOT NULL)", list("replaced"))
	}
	rows, err := db.Query(query)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var out []string
	names, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	cells := make([]any, len(names))
	for i := range cells {
		cells[i] = new(any)
	}
	for rows.Next() {
		if err := rows.Scan(cells...); err != nil {
			t.Fatal(err)
		}
		var texts []string
		for _, c := range cells {
			v := *c.(*any)
			if v == nil {
				v = "-"
			}
			texts = append(texts, fmt.Sprint(v))
		}
		out = append(out, strings.Join(texts, " | "))
	}
	if rows.Err() != nil {
		t.Fatal(rows.Err())
	}
	slices.Sort(out)
	return out
}

func same(t testing.TB, what string, got, want []string) {
	t.Helper()
	if !slices.Equal(got, want) {
		t.Errorf("%s:\n got  %s\n want %s", what, strings.Join(got, "\n      "), strings.Join(want, "\n      "))
	}
}

const visitColumns = "ticket, shop, strftime(opened AT TIME ZONE 'UTC', '%Y-%m-%d %H:%M'), strftime(ready AT TIME ZONE 'UTC', '%Y-%m-%d %H:%M'), outcome, model, class, bench_minutes, charge, currency, unread"

func TestPlainLog(t *testing.T) {
	log := write(t, "log.csv", `ticket,opened,ready,outcome,class,maker,model,serial,fault,found,part,lot,grade,quantity,unit_cost,minutes,charge,currency
1,2026-01-05 10:00,2026-01-06 09:00,repaired,phone,Lark,Lark 7,SN12345678,no picture,display broken,display,A1,aftermarket,1,35.50,45,99,EUR
1,2026-01-05 10:00,2026-01-06 09:00,repaired,phone,Lark,Lark 7,SN12345678,no picture,display broken,battery,B2,original,1,12,45,99,EUR
2,2026-01-05,,no-fault,phone,Lark,Lark 7,,display flickers,,,,,,,,,
3,2026-01-07,2026-01-07,repaired,tablet,Corvo,Corvo 3,,the loudspeaker is broken,,,,,,,0:30,"1,200.50",EUR
4,2026-01-08,,,tablet,Corvo,Corvo 3,,zzz qqq,,,,,,,,,
`)
	dir := t.TempDir()
	sum := ingest(t, dir, Options{}, log)
	if sum.Visits != 4 || sum.Parts != 2 || sum.Quarantined != 0 || sum.Files[0].Accepted != 5 {
		t.Errorf("summary %+v", sum)
	}
	same(t, "visits", table(t, dir, "visits", visitColumns), []string{
		"1 |  | 2026-01-05 10:00 | 2026-01-06 09:00 | repaired | Lark 7 | phone | 45 | 99 | EUR | false",
		"2 |  | 2026-01-05 00:00 | - | no-fault | Lark 7 | phone | - | - | - | false",
		"3 |  | 2026-01-07 00:00 | 2026-01-07 00:00 | repaired | Corvo 3 | tablet | 30 | 1200.5 | EUR | false",
		"4 |  | 2026-01-08 00:00 | - | - | Corvo 3 | tablet | - | - | - | true",
	})
	same(t, "faults", table(t, dir, "faults", "ticket, component, basis"), []string{
		"1 | battery | part", "1 | display | part", "3 | loudspeaker | text",
	})
	same(t, "parts", table(t, dir, "parts", "ticket, component, lot, grade, quantity, unit_cost, currency"), []string{
		"1 | battery | B2 | original | 1 | 12 | EUR", "1 | display | A1 | aftermarket | 1 | 35.5 | EUR",
	})
}
