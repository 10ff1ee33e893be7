package tally

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"math/big"
	"reflect"
	"time"

	"github.com/duckdb/duckdb-go/v2"

	"faultgrain/schemas"
)

// Query runs one statement and returns its rows. Values are bound ($1 or sql.Named), never spliced.
//
// T is a struct, or a single string, int, int64, float64, bool, time.Time or schemas.Float. Columns find
// their field by the tag `sql:"column"`, or by position where T has no tags. A column without a field,
// a field without a column, and NULL in an int, float64 or bool field are errors; NULL is "" in a string,
// the zero time in a time.Time and unknown in a schemas.Float. Times are wall clock, labelled UTC.
func Query[T any](ctx context.Context, log *Log, text string, args ...any) ([]T, error) {
	conn, err := log.db.Conn(ctx)
	if err != nil {
		return nil, fmt.Errorf("tally: %w", err)
	}
	defer conn.Close()
	return queryRows[T](ctx, conn, text, args...)
}

// Each is Query for more rows than should be held at once: fn sees one after the other, each only until it returns.
func Each[T any](ctx context.Context, log *Log, fn func(*T), text string, args ...any) error {
	conn, err := log.db.Conn(ctx)
	if err != nil {
		return fmt.Errorf("tally: %w", err)
	}
	defer conn.Close()
	return eachRow(ctx, conn, fn, text, args...)
}

// A Lent table is a small one that Go hands to a query: it lives on the query's connection.
type Lent struct {
	Create string // CREATE OR REPLACE TEMP TABLE ...
	Table  string
	Rows   [][]any // in the order of its columns
}

// QueryWith is Query with a lent table to join.
func QueryWith[T any](ctx context.Context, log *Log, lent Lent, text string, args ...any) ([]T, error) {
	conn, err := log.db.Conn(ctx)
	if err != nil {
		return nil, fmt.Errorf("tally: %w", err)
	}
	defer conn.Close()
	if _, err := conn.ExecContext(ctx, lent.Create); err != nil {
		return nil, fmt.Errorf("tally: %w", err)
	}
	if err := appendRows(conn, lent.Table, lent.Rows); err != nil {
		return nil, fmt.Errorf("tally: %w", err)
	}
	return queryRows[T](ctx, conn, text, args...)
}

func queryRows[T any](ctx context.Context, conn *sql.Conn, text string, args ...any) (out []T, err error) {
	err = eachRow(ctx, conn, func(row *T) { out = append(out, *row) }, text, args...)
	return out, err
}

// eachRow asks the driver itself: database/sql takes longer over each row than DuckDB does to find it.
func eachRow[T any](ctx context.Context, conn *sql.Conn, fn func(*T), text string, args ...any) error {
	err := conn.Raw(func(dc any) error {
		values, err := bound(dc, args)
		if err != nil {
			return err
		}
		rows, err := dc.(driver.QueryerContext).QueryContext(ctx, text, values)
		if err != nil {
			return err
		}
		defer rows.Close()
		return read(ctx, rows, fn)
	})
	if err != nil {
		return fmt.Errorf("tally: %w", err)
	}
	return nil
}

// read hands fn all rows.
func read[T any](ctx context.Context, rows driver.Rows, fn func(*T)) error {
	var row T
	columns := rows.Columns()
	cells, err := cellsOf(reflect.ValueOf(&row).Elem(), columns)
	if err != nil {
		return err
	}
	values := make([]driver.Value, len(cells))
	for n := 1; ; n++ {
		switch err := rows.Next(values); {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		}
		for i, c := range cells {
			if err := c.Scan(values[i]); err != nil {
				return fmt.Errorf("column %q: %w", columns[i], err)
			}
		}
		fn(&row)
		if n%(1<<16) == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
	}
}

// bound makes the driver's form of the values of a statement.
func bound(dc any, args []any) ([]driver.NamedValue, error) {
	values := make([]driver.NamedValue, len(args))
	for i, a := range args {
		v := driver.NamedValue{Ordinal: i + 1, Value: a}
		if n, ok := a.(sql.NamedArg); ok {
			v.Name, v.Value = n.Name, n.Value
		}
		err := dc.(driver.NamedValueChecker).CheckNamedValue(&v)
		if errors.Is(err, driver.ErrSkip) {
			v.Value, err = driver.DefaultParameterConverter.ConvertValue(v.Value)
		}
		if err != nil {
			return nil, fmt.Errorf("value %d: %w", i+1, err)
		}
		values[i] = v
	}
	return values, nil
}

// cellsOf gives one scanner per column, each bound to its field of v.
func cellsOf(v reflect.Value, columns []string) ([]sql.Scanner, error) {
	fields, names := []reflect.Value{v}, []string{""}
	if v.Kind() == reflect.Struct && !scannable(v) {
		fields, names = fields[:0], names[:0]
		for i := range v.NumField() {
			fields = append(fields, v.Field(i))
			names = append(names, v.Type().Field(i).Tag.Get("sql"))
		}
	}
	if len(fields) != len(columns) {
		return nil, fmt.Errorf("query gives %d columns %v, %s takes %d", len(columns), columns, v.Type(), len(fields))
	}
	cells := make([]sql.Scanner, len(columns))
	for i, c := range columns {
		at := i
		for j, n := range names {
			if n == c {
				at = j
			}
		}
		if names[at] != "" && names[at] != c {
			return nil, fmt.Errorf("query gives column %q, %s has no field for it", c, v.Type())
		}
		if s, ok := fields[at].Addr().Interface().(sql.Scanner); ok {
			cells[i] = s
			continue
		}
		cells[i] = &cell{into: fields[at].Addr().Interface()}
	}
	return cells, nil
}

func scannable(v reflect.Value) bool {
	switch v.Interface().(type) {
	case time.Time, schemas.Float:
		return true
	}
	_, ok := v.Addr().Interface().(sql.Scanner)
	return ok
}

// A cell moves one driver value into a field.
type cell struct{ into any }

// Scan implements sql.Scanner.
func (c *cell) Scan(src any) error {
	switch into := c.into.(type) {
	case *string:
		switch x := src.(type) {
		case nil:
			*into = ""
			return nil
		case string:
			*into = x
			return nil
		}
	case *int:
		n, ok := whole(src)
		*into = int(n)
		if ok {
			return nil
		}
	case *int64:
		n, ok := whole(src)
		*into = n
		if ok {
			return nil
		}
	case *float64:
		f, ok := real(src)
		*into = f
		if ok {
			return nil
		}
	case *schemas.Float:
		if src == nil {
			*into = schemas.Float{}
			return nil
		}
		f, ok := real(src)
		*into = schemas.Known(f)
		if ok {
			return nil
		}
	case *bool:
		if x, ok := src.(bool); ok {
			*into = x
			return nil
		}
	case *time.Time:
		switch x := src.(type) {
		case nil:
			*into = time.Time{}
			return nil
		case time.Time:
			*into = x
			return nil
		}
	}
	return fmt.Errorf("%T does not fit %T", src, c.into)
}

func whole(src any) (int64, bool) {
	switch x := src.(type) {
	case int64:
		return x, true
	case int32:
		return int64(x), true
	case int16:
		return int64(x), true
	case int8:
		return int64(x), true
	case uint32:
		return int64(x), true
	case uint16:
		return int64(x), true
	case uint8:
		return int64(x), true
	case uint64:
		return int64(x), x <= 1<<63-1
	case *big.Int:
		return x.Int64(), x.IsInt64()
	}
	return 0, false
}

func real(src any) (float64, bool) {
	switch x := src.(type) {
	case float64:
		return x, true
	case float32:
		return float64(x), true
	case duckdb.Decimal:
		return x.Float64(), true
	}
	n, ok := whole(src)
	return float64(n), ok
}
