// Package tallytest writes small histories for tests of the question packages.
//
// In: visits as Go values. Out: a history folder as ingest would leave it, or a Log opened on it.
// It refuses to be used outside tests.
package tallytest

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"database/sql/driver"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/duckdb/duckdb-go/v2"

	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

// A Visit is one ticket with its faults and part lines. Empty means unknown; Opened and Model are needed.
// Times are instants; use UTC unless the test is about zones.
type Visit struct {
	Ticket, Shop                         string // no Ticket: numbered by place
	Opened, Ready, Collected             time.Time
	Outcome, Class, Maker, Family, Model string
	Device                               string // any text; the same text is the same device
	MadeWeek, SerialPrefix               string
	Minutes, Charge                      schemas.Float
	Currency                             string
	Unread                               bool
	Faults                               []string // component ids; basis found
	Parts                                []Part
}

// A Part is one part line.
type Part struct {
	Component, PartNo, Supplier, Lot, Grade string
	Quantity, UnitCost                      schemas.Float
	Currency                                string
}

// A Segment is what one ingest adds: its visits, and the visits of earlier segments it replaces,
// each as {segment number, row}, segments counted from 1 and rows from 0.
type Segment struct {
	Visits   []Visit
	Replaces [][2]int
	Quality  []schemas.QualityRow
}

// Open writes visits as a history of one segment and opens it.
func Open(tb testing.TB, visits []Visit, opt tally.Options) *tally.Log {
	tb.Helper()
	return OpenDir(tb, History(tb, Segment{Visits: visits}), opt)
}

// OpenDir opens a history folder and closes it when the test ends.
func OpenDir(tb testing.TB, dir string, opt tally.Options) *tally.Log {
	tb.Helper()
	log, err := tally.Open(tb.Context(), dir, opt)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() {
		if err := log.Close(); err != nil {
			tb.Error(err)
		}
	})
	return log
}

// History writes a history folder and returns its name.
func History(tb testing.TB, segments ...Segment) string {
	tb.Helper()
	dir := tb.TempDir()
	type file struct {
		SHA256 string `json:"sha256"`
		Rows   int    `json:"rows"`
		Bytes  int64  `json:"bytes"`
	}
	type entry struct {
		Number int             `json:"number"`
		Files  map[string]file `json:"files"`
	}
	var entries []entry
	for i, s := range segments {
		number := i + 1
		e := entry{Number: number, Files: map[string]file{}}
		tables := s.tables(number)
		if err := writeParquet(tb.Context(), dir, number, tables); err != nil {
			tb.Fatal(err)
		}
		for table, rows := range tables {
			e.Files[table] = file{Rows: len(rows)}
		}
		entries = append(entries, e)
	}
	raw, err := json.Marshal(map[string]any{"version": 1, "segments": entries})
	if err != nil {
		tb.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "manifest.json"), raw, 0o600); err != nil {
		tb.Fatal(err)
	}
	return dir
}

func (s Segment) tables(number int) map[string][][]driver.Value {
	rows := map[string][][]driver.Value{"visits": nil, "faults": nil, "parts": nil, "replaced": nil, "quality": nil}
	add := func(table string, cells ...driver.Value) { rows[table] = append(rows[table], cells) }
	for i, v := range s.Visits {
		id := int64(number)<<32 | int64(i)
		ticket := v.Ticket
		if ticket == "" {
			ticket = fmt.Sprintf("%d-%d", number, i)
		}
		add("visits", id, ticket, v.Shop, instant(v.Opened), instant(v.Ready), instant(v.Collected), text(v.Outcome), text(v.Maker),
			text(v.Family), v.Model, text(v.Class), key(v.Device), text(v.MadeWeek), text(v.SerialPrefix), number64(v.Minutes),
			number64(v.Charge), text(v.Currency), nil, v.Unread)
		for _, c := range v.Faults {
			add("faults", id, ticket, v.Shop, c, schemas.BasisFound)
		}
		for _, p := range v.Parts {
			add("parts", id, ticket, v.Shop, text(p.Component), text(p.PartNo), text(p.Supplier), text(p.Lot), text(p.Grade),
				number64(p.Quantity), number64(p.UnitCost), text(p.Currency))
		}
	}
	for _, r := range s.Replaces {
		add("replaced", int64(r[0])<<32|int64(r[1]))
	}
	for _, q := range s.Quality {
		add("quality", q.Topic, q.Subject, int64(q.Count), q.Note)
	}
	return rows
}

func text(s string) driver.Value {
	if s == "" {
		return nil
	}
	return s
}

func instant(t time.Time) driver.Value {
	if t.IsZero() {
		return nil
	}
	return t.UTC()
}

func number64(f schemas.Float) driver.Value {
	if !f.OK {
		return nil
	}
	return f.V
}

func key(device string) driver.Value {
	if device == "" {
		return nil
	}
	sum := sha256.Sum256([]byte(device)) // any 16 bytes will do here
	return sum[:16]
}

//go:embed tables.sql
var tablesSQL string

// writeParquet writes the tables of one segment; names come from this file alone.
func writeParquet(ctx context.Context, dir string, number int, tables map[string][][]driver.Value) error {
	connector, err := duckdb.NewConnector("", nil)
	if err != nil {
		return err
	}
	db := sql.OpenDB(connector)
	defer db.Close()
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	if _, err := conn.ExecContext(ctx, tablesSQL); err != nil {
		return err
	}
	for table, rows := range tables {
		err := conn.Raw(func(dc any) error {
			a, err := duckdb.NewAppenderFromConn(dc.(driver.Conn), "", table)
			if err != nil {
				return err
			}
			for _, r := range rows {
				if err := a.AppendRow(r...); err != nil {
					return errors.Join(err, a.Close())
				}
			}
			return a.Close()
		})
		if err != nil {
			return fmt.Errorf("%s: %w", table, err)
		}
		path := filepath.Join(dir, table, fmt.Sprintf("seg-%06d.parquet", number))
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return err
		}
		copying := "COPY " + table + " TO '" + strings.ReplaceAll(path, "'", "''") + "' (FORMAT parquet)"
		if _, err := conn.ExecContext(ctx, copying); err != nil {
			return err
		}
	}
	return nil
}
