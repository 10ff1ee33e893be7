package tally

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"embed"
	"fmt"
	"math"
	"strconv"
	"time"

	"github.com/duckdb/duckdb-go/v2"
)

//go:embed load/*.sql
var loadSQL embed.FS

// configure runs on the first connection, for all of them. Names of settings are fixed; values are bound where DuckDB
// allows it.
func configure(ctx context.Context, conn driver.ExecerContext, opt Options) error {
	for _, s := range []struct {
		sql string
		val driver.Value
	}{
		{"SET autoinstall_known_extensions = false", nil},
		{"SET autoload_known_extensions = false", nil},
		{"SET TimeZone = 'UTC'", nil},
		{"SET preserve_insertion_order = false", nil},
		{"SET threads = $1", int64(opt.Threads)},
		{"SET memory_limit = $1", strconv.FormatInt(opt.MemoryLimit, 10) + "B"},
		{"SET temp_directory = $1", opt.TempDir},
	} {
		var args []driver.NamedValue
		if s.val != nil {
			args = []driver.NamedValue{{Ordinal: 1, Value: s.val}}
		}
		if _, err := conn.ExecContext(ctx, s.sql, args); err != nil {
			return fmt.Errorf("%s: %w", s.sql, err)
		}
	}
	return nil
}

// load runs load/*.sql in order on one connection, then shuts the door to files and the network.
func (l *Log) load(ctx context.Context, files fileLists, opt Options) error {
	conn, err := l.db.Conn(ctx)
	if err != nil {
		return fmt.Errorf("open the analysis database: %w", err)
	}
	defer conn.Close()
	if len(files.visits) == 0 {
		return ErrEmpty
	}
	step := func(name string, args ...any) error {
		text, err := loadSQL.ReadFile("load/" + name)
		if err != nil {
			return err
		}
		if _, err := conn.ExecContext(ctx, string(text), args...); err != nil {
			return fmt.Errorf("load the history (%s): %w", name, err)
		}
		return nil
	}
	if err := setFiles(ctx, conn, files); err != nil {
		return err
	}
	opened := []string{"stored.sql"}
	for _, s := range []struct {
		files      []string
		some, none string
	}{
		{files.faults, "stored_faults.sql", "no_faults.sql"},
		{files.parts, "stored_parts.sql", "no_parts.sql"},
		{files.replaced, "retired.sql", ""},
		{files.quality, "quality.sql", ""},
	} {
		switch {
		case len(s.files) > 0:
			opened = append(opened, s.some)
		case s.none != "":
			opened = append(opened, s.none)
		}
	}
	for _, name := range opened {
		if err := step(name); err != nil {
			return err
		}
	}
	if err := appendRows(conn, "segment", files.segments); err != nil {
		return err
	}
	if err := l.settleDays(ctx, conn, opt); err != nil {
		return err
	}
	end := l.AsOf.AddDate(0, 0, 1).UnixMicro()
	for _, s := range []struct {
		name string
		args []any
	}{
		{"words.sql", nil},
		{"models.sql", nil},
		{"lots.sql", nil},
		{"model.sql", nil},
		{"visit.sql", []any{sql.Named("end", end)}},
		{"device.sql", nil},
		{"many.sql", nil},
		{"fault_more.sql", []any{sql.Named("causes", opt.Causes)}},
		{"fault.sql", nil},
		{"repeat.sql", nil},
		{"both.sql", nil},
		{"part.sql", []any{sql.Named("end", end)}},
		{"count.sql", nil},
	} {
		switch s.name {
		case "models.sql":
			s.name, err = wordTypes(ctx, conn, "models", maxModels)
		case "lots.sql":
			s.name, err = wordTypes(ctx, conn, "lots", maxWords)
		}
		if err != nil {
			return err
		}
		if err := step(s.name, s.args...); err != nil {
			return err
		}
	}
	totals, err := queryRows[Totals](ctx, conn, loadText("totals.sql"), sql.Named("end", end))
	if err != nil {
		return err
	}
	l.Totals = totals[0]
	if l.Totals.Visits == 0 {
		return ErrEmpty
	}
	return step("doors.sql")
}

// setFiles hands the file lists to the loading SQL as variables of the connection.
func setFiles(ctx context.Context, conn *sql.Conn, f fileLists) error {
	for _, v := range []struct {
		sql  string
		list []string
	}{
		{"SET VARIABLE visit_files = $1", f.visits},
		{"SET VARIABLE fault_files = $1", f.faults},
		{"SET VARIABLE part_files = $1", f.parts},
		{"SET VARIABLE replaced_files = $1", f.replaced},
		{"SET VARIABLE quality_files = $1", f.quality},
	} {
		if len(v.list) == 0 {
			continue
		}
		if _, err := conn.ExecContext(ctx, v.sql, v.list); err != nil {
			return fmt.Errorf("load the history: %w", err)
		}
	}
	return nil
}

// wordTypes picks how the texts of a kind are kept: as words where they repeat, as plain text where a log has
// more than most of them, so that a word list would not pay.
func wordTypes(ctx context.Context, conn *sql.Conn, kind string, most int) (string, error) {
	type count struct {
		Words int `sql:"words"`
	}
	n, err := queryRows[count](ctx, conn, loadText(kind+"_count.sql"))
	if err != nil {
		return "", err
	}
	if n[0].Words > most {
		return kind + "_text.sql", nil
	}
	return kind + "_words.sql", nil
}

// Longest word lists worth keeping as a DuckDB enum; those of models stand in nearly every result.
const (
	maxWords  = 100_000
	maxModels = 20_000
)

// settleDays finds the first and the last day of the log and fills zone_day for the days between.
func (l *Log) settleDays(ctx context.Context, conn *sql.Conn, opt Options) error {
	type span struct {
		First  sql.NullInt64 `sql:"first"`
		Opened sql.NullInt64 `sql:"opened"`
		Last   sql.NullInt64 `sql:"last"`
		Latest sql.NullInt64 `sql:"latest"`
	}
	rows, err := queryRows[span](ctx, conn, loadText("span.sql"), sql.Named("grace", graceDays*dayMicros))
	if err != nil {
		return err
	}
	s := rows[0]
	if !s.First.Valid {
		return ErrEmpty
	}
	day := func(micros int64) time.Time {
		y, m, d := time.UnixMicro(micros).In(l.Zone).Date()
		return time.Date(y, m, d, 0, 0, 0, 0, l.Zone)
	}
	l.From, l.AsOf = day(s.First.Int64), day(max(s.Opened.Int64, s.Last.Int64))
	if !opt.AsOf.IsZero() {
		y, m, d := opt.AsOf.Date()
		l.AsOf = time.Date(y, m, d, 0, 0, 0, 0, l.Zone)
	}
	if l.AsOf.Before(l.From) {
		return fmt.Errorf("%w up to %s; the first was opened on %s", ErrEmpty, l.AsOf.Format(time.DateOnly), l.From.Format(time.DateOnly))
	}
	return appendRows(conn, "zone_day", zoneDays(l.Zone, s.First.Int64, max(s.Latest.Int64, s.Opened.Int64)))
}

// graceDays is how long after the last visit was opened a ready or collected date still moves the
// as-of day; later ones are taken for slips of the pen.
const graceDays = 62

const dayMicros = int64(24 * time.Hour / time.Microsecond)

// zoneDays has one row per UTC day from first to last (microseconds since 1970): day number, the
// instant the zone's offset changes (or none), the offset before and after it, in microseconds.
// A zone changes at most once a day.
func zoneDays(zone *time.Location, first, last int64) [][]driver.Value {
	from, to := floorDay(first), floorDay(last)
	to = min(to, from+maxZoneDays)
	rows := make([][]driver.Value, 0, to-from+1)
	for d := from; d <= to; d++ {
		start, end := d*dayMicros, (d+1)*dayMicros
		before, after := offset(zone, start), offset(zone, end-1)
		change := int64(math.MaxInt64)
		if before != after {
			lo, hi := start, end-1 // offset(lo) == before, offset(hi) == after
			for hi-lo > 1 {
				if mid := lo + (hi-lo)/2; offset(zone, mid) == before {
					lo = mid
				} else {
					hi = mid
				}
			}
			change = hi
		}
		rows = append(rows, []driver.Value{d, change, before, after})
	}
	return rows
}

// maxZoneDays bounds the zone table when a log holds an absurd date; days beyond keep UTC.
const maxZoneDays = 200 * 366

func floorDay(micros int64) int64 {
	d := micros / dayMicros
	if micros%dayMicros < 0 {
		d--
	}
	return d
}

func offset(zone *time.Location, micros int64) int64 {
	_, s := time.UnixMicro(micros).In(zone).Zone()
	return int64(s) * int64(time.Second/time.Microsecond)
}

// appendRows fills a small table.
func appendRows[V any](conn *sql.Conn, table string, rows [][]V) error {
	return conn.Raw(func(dc any) error {
		a, err := duckdb.NewAppenderFromConn(dc.(driver.Conn), "", table)
		if err != nil {
			return fmt.Errorf("load the history (%s): %w", table, err)
		}
		for _, r := range rows {
			values := make([]driver.Value, len(r))
			for i, v := range r {
				values[i] = v
			}
			if err := a.AppendRow(values...); err != nil {
				return fmt.Errorf("fill the table %s: %w", table, err)
			}
		}
		return a.Close()
	})
}

func loadText(name string) string {
	text, err := loadSQL.ReadFile("load/" + name)
	if err != nil {
		panic(err) // embedded at build time
	}
	return string(text)
}
