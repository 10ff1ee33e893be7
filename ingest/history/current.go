package history

import (
	"context"
	"errors"
	"fmt"
	"os"

	"github.com/apache/arrow-go/v18/arrow"
	"github.com/apache/arrow-go/v18/arrow/array"
	"github.com/apache/arrow-go/v18/arrow/compute"
	"github.com/apache/arrow-go/v18/arrow/memory"
	"github.com/apache/arrow-go/v18/parquet/file"
	"github.com/apache/arrow-go/v18/parquet/pqarrow"
)

// Current calls fn with the rows of visits, faults or parts that belong to the current version of a ticket, batch by
// batch, oldest segment first. Batches have the table's schema and are released when fn returns.
func (h *History) Current(ctx context.Context, table string, fn func(arrow.RecordBatch) error) error {
	dead := map[int64]struct{}{}
	if h.Retired() {
		var err error
		if dead, err = retiredVisits(ctx, h.Dir, h.Manifest); err != nil {
			return err
		}
	}
	for _, path := range h.Files(table) {
		if err := currentRows(ctx, path, dead, fn); err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
	}
	return nil
}

func currentRows(ctx context.Context, path string, dead map[int64]struct{}, fn func(arrow.RecordBatch) error) (err error) {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	raw, err := file.NewParquetReader(f)
	if err != nil {
		return err
	}
	in, err := pqarrow.NewFileReader(raw, pqarrow.ArrowReadProperties{BatchSize: 1 << 15}, memory.DefaultAllocator)
	if err != nil {
		return err
	}
	rows, err := in.GetRecordReader(ctx, nil, nil)
	if err != nil {
		return err
	}
	defer rows.Release()
	for rows.Next() {
		if err := ctx.Err(); err != nil {
			return err
		}
		batch := rows.RecordBatch()
		if len(dead) > 0 {
			kept, err := without(ctx, batch, dead)
			if err != nil {
				return err
			}
			err = fn(kept)
			kept.Release()
			if err != nil {
				return err
			}
			continue
		}
		if err := fn(batch); err != nil {
			return err
		}
	}
	return rows.Err()
}

// without leaves out the rows of retired visits; the visit's number is the first column of each table.
func without(ctx context.Context, batch arrow.RecordBatch, dead map[int64]struct{}) (arrow.RecordBatch, error) {
	visits, ok := batch.Column(0).(*array.Int64)
	if !ok {
		return nil, fmt.Errorf("column %s has type %s, want int64", batch.ColumnName(0), batch.Column(0).DataType())
	}
	mask := array.NewBooleanBuilder(memory.DefaultAllocator)
	defer mask.Release()
	for i := range visits.Len() {
		_, gone := dead[visits.Value(i)]
		mask.Append(!gone)
	}
	keep := mask.NewArray()
	defer keep.Release()
	return compute.FilterRecordBatch(ctx, batch, keep, compute.DefaultFilterOptions())
}
