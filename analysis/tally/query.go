package tally

import (
	"context"
	"database/sql"
	"fmt"
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
	return queryRows[T](ctx, log.db, text, args...)
}

type queryer interface {
	QueryContext(ctx context.Context, text string, args ...any) (*sql.Rows, error)
}

func queryRows[T any](ctx context.Context, db queryer, text string, args ...any) ([]T, error) {
	rows, err := db.QueryContext(ctx, text, args...)
	if err != nil {
		return nil, fmt.Errorf("tally: %w", err)
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return nil, fmt.Errorf("tally: %w", err)
	}
	var row T
	cells, err := cellsOf(reflect.ValueOf(&row).Elem(), columns)
	if err != nil {
		return nil, err
	}
	var out []T
	for rows.Next() {
		if err := rows.Scan(cells...); err != nil {
			return nil, fmt.Errorf("tally: %w", err)
		}
		out = append(out, row)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("tally: %w", err)
	}
	return out, nil
}

// cellsOf gives one scanner per column, each bound to its field of v.
func cellsOf(v reflect.Value, columns []string) ([]any, error) {
	fields, names := []reflect.Value{v}, []string{""}
	if v.Kind() == reflect.Struct && !scannable(v) {
		fields, names = fields[:0], names[:0]
		for i := range v.NumField() {
			fields = append(fields, v.Field(i))
			names = append(names, v.Type().Field(i).Tag.Get("sql"))
		}
	}
	if len(fields) != len(columns) {
		return nil, fmt.Errorf("tally: query gives %d columns %v, %s takes %d", len(columns), columns, v.Type(), len(fields))
	}
	cells := make([]any, len(columns))
	for i, c := range columns {
		at := i
		for j, n := range names {
			if n == c {
				at = j
			}
		}
		if names[at] != "" && names[at] != c {
			return nil, fmt.Errorf("tally: query gives column %q, %s has no field for it", c, v.Type())
		}
		if s, ok := fields[at].Addr().Interface().(sql.Scanner); ok {
			cells[i] = s
			continue
		}
		cells[i] = &cell{column: c, into: fields[at].Addr().Interface()}
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
type cell struct {
	column string
	into   any
}

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
	return fmt.Errorf("column %q: %T does not fit %T", c.column, src, c.into)
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
