package history

import (
	"context"
	"fmt"

	"github.com/apache/arrow-go/v18/parquet"
	"github.com/apache/arrow-go/v18/parquet/file"
)

// cells are one column of one row group, a slot per row. Null slots are not ok and hold the zero value.
type cells struct {
	ok      []bool // nil when every row has a value
	longs   []int64
	doubles []float64
	bools   []bool
	texts   []parquet.ByteArray
}

func (c *cells) has(i int) bool { return c.ok == nil || c.ok[i] }

func (c *cells) text(i int) string { return string(c.texts[i]) }

// scan reads the named columns of a Parquet file, a row group at a time; fn gets them in that order. A file that is no
// Parquet, or is damaged, is an error.
func scan(ctx context.Context, path string, names []string, fn func(rows int, cols []cells) error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("read %s: damaged: %v", path, r)
		}
	}()
	f, err := file.OpenParquetFile(path, false)
	if err != nil {
		return fmt.Errorf("read %s: %w", path, err)
	}
	defer func() { _ = f.Close() }() // only read
	at := make([]int, len(names))
	for i, name := range names {
		if at[i] = f.MetaData().Schema.ColumnIndexByName(name); at[i] < 0 {
			return fmt.Errorf("read %s: no column %q", path, name)
		}
	}
	for g := range f.NumRowGroups() {
		if err := ctx.Err(); err != nil {
			return err
		}
		group := f.RowGroup(g)
		rows := int(group.NumRows())
		cols := make([]cells, len(names))
		for i := range names {
			r, err := group.Column(at[i])
			if err == nil {
				cols[i], err = readCells(r, rows)
			}
			if err != nil {
				return fmt.Errorf("read %s: column %s: %w", path, names[i], err)
			}
		}
		if err := fn(rows, cols); err != nil {
			return err
		}
	}
	return nil
}

func readCells(r file.ColumnChunkReader, rows int) (c cells, err error) {
	var def []int16
	if r.Descriptor().MaxDefinitionLevel() > 0 {
		def = make([]int16, rows)
	}
	var n int64
	var present int
	switch r := r.(type) {
	case *file.Int64ColumnChunkReader:
		c.longs = make([]int64, rows)
		n, present, err = r.ReadBatch(int64(rows), c.longs, def, nil)
		c.longs = spread(c.longs, def, present)
	case *file.Float64ColumnChunkReader:
		c.doubles = make([]float64, rows)
		n, present, err = r.ReadBatch(int64(rows), c.doubles, def, nil)
		c.doubles = spread(c.doubles, def, present)
	case *file.BooleanColumnChunkReader:
		c.bools = make([]bool, rows)
		n, present, err = r.ReadBatch(int64(rows), c.bools, def, nil)
		c.bools = spread(c.bools, def, present)
	case *file.ByteArrayColumnChunkReader:
		c.texts = make([]parquet.ByteArray, rows)
		n, present, err = r.ReadBatch(int64(rows), c.texts, def, nil)
		c.texts = spread(c.texts, def, present)
	default:
		return c, fmt.Errorf("type %s is not one of ours", r.Type())
	}
	if err == nil && n != int64(rows) {
		err = fmt.Errorf("%d values for %d rows", n, rows)
	}
	if def != nil {
		c.ok = make([]bool, rows)
		for i, d := range def {
			c.ok[i] = d > 0
		}
	}
	return c, err
}

// spread moves the values, which stand together at the front, to the slots of the rows that have one.
func spread[T any](vals []T, def []int16, present int) []T {
	if def == nil {
		return vals
	}
	var zero T
	for i := len(vals) - 1; i >= 0; i-- {
		if def[i] > 0 && present > 0 {
			present--
			vals[i] = vals[present]
		} else {
			vals[i] = zero
		}
	}
	return vals
}
