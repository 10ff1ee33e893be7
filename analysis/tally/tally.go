// Package tally opens a history and counts in it.
//
// In: the Parquet segments that ingest wrote. Out: a Log, an in-process DuckDB that holds the current
// version of every ticket, and typed rows of any tally SQL run on it. The loading SQL in load/ is the
// one place that knows files, retired versions and zones and that uses DuckDB's own syntax; tally SQL
// elsewhere keeps to standard SQL on the tables below.
//
// It refuses to compute statistics: SQL returns counts and raw values, Go derives everything else.
// Once the history is loaded the database cannot reach files or the network, and it never installs
// an extension.
//
// Tables of a Log. Text is NULL when unknown, but class, maker, family and model are empty then.
// Times are the shop's local wall clock. Columns typed as enums compare and group as text.
//
//	visit        visit INTEGER (ids from 0, below Totals.VisitIDs; gaps where a version was replaced),
//	             opened TIMESTAMP, ready DATE, collected BOOLEAN (it went back by the as-of day), outcome, model,
//	             device BIGINT (the same number is the same device; NULL without a serial), made_week,
//	             serial_prefix, bench_minutes, charge, parts_cost DOUBLE (of all its part lines; NULL without any, or
//	             when one has no cost or another currency), currency, unread, diagnosed BOOLEAN,
//	             month DATE (first day of the month opened), elapsed_minutes INTEGER (opened to ready, true
//	             elapsed time; to the end of the as-of day when not ready), components UTINYINT (how many
//	             components were found bad, causes aside), component, component_b (the first and the last of
//	             them by name: with 1 or 2 that is all; component_b is NULL below 2), by_text BOOLEAN (they were
//	             read from free text alone)
//	fault        visit, component, is_cause BOOLEAN, model, month, opened, device, by_text (the visit's);
//	             one row per visit and component
//	both_bad     visit, a, b (components, a < b, causes aside), model, month, device (the visit's); one row per visit
//	             and pair of components
//	part         visit, component, part_no, supplier, lot, grade, quantity, unit_cost DOUBLE, currency, model, month,
//	             opened DATE (the visit's day), mended DATE (ready, else collected, else opened; NULL when the job was no repair or
//	             not done by the as-of day), has_device BOOLEAN (the visit has a device), initial (no line of the visit
//	             before it names a component), last, single BOOLEAN (no line of the visit after it, or none at all, is of
//	             the same component); one row per part line
//	model        model, class, maker, family; one row per model
//	count_visit  model, month, visits, diagnosed, unread; one row per model and month
//	count_fault  model, month, component, is_cause, faults; one row per model, month and component
//	repeat_visit visit, device, model, opened, diagnosed, component, component_b (the visit's), near BOOLEAN (two visits
//	             of the device opened less than 30 days apart); one row per visit of a device with 2 to 20 of them (more:
//	             the serial is a placeholder)
//	repeat_fault visit, component, is_cause, model, opened, device, near; one row per visit in repeat_visit and component
//	quality      topic, subject, count, note
//
// A diagnosed visit has at least one row in fault, be it a component or a cause (liquid, drop), or the
// outcome no-fault; unread in count_visit counts unread visits that are not diagnosed.
//
// A model stands under one class, maker and family: those most of its visits carry.
package tally

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"os"
	"runtime"
	"sync"
	"time"

	"github.com/duckdb/duckdb-go/v2"

	"faultgrain/ingest/history"
	"faultgrain/schemas"
)

// ErrEmpty: the history holds no visit up to the as-of day.
var ErrEmpty = errors.New("the history holds no visits")

// Options of Open. The zero value reads everything up to the last day in the log, in UTC.
type Options struct {
	AsOf        time.Time      // last day that counts, read in Zone; zero means the last day in the log
	Zone        *time.Location // the shop's zone; nil means UTC
	Causes      []string       // component ids that are causes; nil means liquid and drop
	MemoryLimit int64          // bytes DuckDB may use before it spills; 0 means 1.5 GiB
	TempDir     string         // where it spills; "" means the system's folder for such things
	Threads     int            // 0 means one per processor
}

// A Log is an opened history. It is safe for concurrent queries. Close it.
type Log struct {
	AsOf   time.Time // the last day that counts, at midnight in Zone
	From   time.Time // the day of the first visit, at midnight in Zone
	Zone   *time.Location
	Totals Totals

	Sources []history.SourceRecord // the logs that were read, in the order they were ingested

	db    *sql.DB
	spill string // removed by Close
}

// Totals count the whole log up to AsOf.
type Totals struct {
	Visits       int `sql:"visits"`
	Diagnosed    int `sql:"diagnosed"`
	Unread       int `sql:"unread"` // not diagnosed, though fault text was given
	Faults       int `sql:"faults"`
	Parts        int `sql:"parts"`
	Devices      int `sql:"devices"`      // visits that carry a device key
	Placeholders int `sql:"placeholders"` // visits whose serial stands on more than 20: read as no serial
	Models       int `sql:"models"`
	Later        int `sql:"later"`     // visits opened after AsOf, left out
	VisitIDs     int `sql:"visit_ids"` // every visit id is below this
}

// Open loads the current version of every ticket of the history in dir.
// A folder without a history is history.ErrNoHistory, a history without visits ErrEmpty.
func Open(ctx context.Context, dir string, opt Options) (*Log, error) {
	files, sources, err := listFiles(dir)
	if err != nil {
		return nil, err
	}
	if opt.Zone == nil {
		opt.Zone = time.UTC
	}
	if opt.Causes == nil {
		opt.Causes = []string{"liquid", "drop"}
	}
	if opt.MemoryLimit == 0 {
		opt.MemoryLimit = 3 << 29
	}
	if opt.Threads == 0 {
		opt.Threads = runtime.GOMAXPROCS(0)
	}
	// A folder of its own: what lies in it stays within DuckDB's reach after the doors are shut.
	spill, err := os.MkdirTemp(opt.TempDir, "faultgrain-*")
	if err != nil {
		return nil, fmt.Errorf("make a folder for what does not fit in memory: %w", err)
	}
	opt.TempDir = spill
	var once sync.Once
	connector, err := duckdb.NewConnector("", func(conn driver.ExecerContext) (err error) {
		once.Do(func() { err = configure(ctx, conn, opt) })
		return err
	})
	if err != nil {
		return nil, errors.Join(fmt.Errorf("open the analysis database: %w", err), os.RemoveAll(spill))
	}
	log := &Log{Zone: opt.Zone, Sources: sources, spill: spill, db: sql.OpenDB(connector)}
	if err := log.load(ctx, files, opt); err != nil {
		return nil, errors.Join(err, log.Close())
	}
	return log, nil
}

// Close frees the database and what it spilled.
func (l *Log) Close() error { return errors.Join(l.db.Close(), os.RemoveAll(l.spill)) }

// Partial returns the month of the as-of day, as 2026-05, and whether it is still Running.
func (l *Log) Partial() (month string, partial bool) {
	return l.AsOf.Format("2006-01"), Running(l.AsOf)
}

// Running is schemas.Running, for those who know the tallies only.
func Running(asOf time.Time) bool { return schemas.Running(asOf) }
