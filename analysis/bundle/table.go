package bundle

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/apache/arrow-go/v18/arrow"
	"github.com/apache/arrow-go/v18/arrow/array"
	"github.com/apache/arrow-go/v18/arrow/memory"
	"github.com/apache/arrow-go/v18/parquet"
	"github.com/apache/arrow-go/v18/parquet/compress"
	"github.com/apache/arrow-go/v18/parquet/file"
	"github.com/apache/arrow-go/v18/parquet/pqarrow"

	"faultgrain/schemas"
)

const version = schemas.BundleVersion

// maxRows is the most rows a table of a bundle may have.
const maxRows = 1_000_000

// A column moves one field of a row of type R to a builder, and back.
type column[R any] struct {
	put func(array.Builder, *R)
	get func(arrow.Array, int, *R) error
}

func textColumn[R any](field func(*R) *string) column[R] {
	return column[R]{
		func(b array.Builder, r *R) { b.(*array.StringBuilder).Append(*field(r)) },
		func(a arrow.Array, i int, r *R) error {
			*field(r) = a.(*array.String).Value(i)
			return checkText(*field(r))
		},
	}
}

func countColumn[R any](field func(*R) *int) column[R] {
	return column[R]{
		func(b array.Builder, r *R) { b.(*array.Int64Builder).Append(int64(*field(r))) },
		func(a arrow.Array, i int, r *R) error {
			n := a.(*array.Int64).Value(i)
			if n < 0 || n > maxCount {
				return fmt.Errorf("found count %d, want 0 to %d", n, maxCount)
			}
			*field(r) = int(n)
			return nil
		},
	}
}

func moneyColumn[R any](field func(*R) *schemas.Float) column[R] {
	return column[R]{
		func(b array.Builder, r *R) {
			if f := field(r); f.OK {
				b.(*array.Float64Builder).Append(f.V)
			} else {
				b.AppendNull()
			}
		},
		func(a arrow.Array, i int, r *R) error {
			if a.IsNull(i) {
				return nil
			}
			v := schemas.Known(a.(*array.Float64).Value(i))
			if !v.OK || v.V < 0 {
				return errors.New("want money, 0 or more")
			}
			*field(r) = v
			return nil
		},
	}
}

func monthColumn[R any](field func(*R) *Month) column[R] {
	return column[R]{
		func(b array.Builder, r *R) { b.(*array.StringBuilder).Append(field(r).String()) },
		func(a arrow.Array, i int, r *R) (err error) {
			*field(r), err = ParseMonth(a.(*array.String).Value(i))
			return err
		},
	}
}

// A table is one Parquet file of a bundle.
type tableOf[R any] struct {
	name    string
	schema  *arrow.Schema
	columns []column[R]
}

func visitsTable() tableOf[Visits] {
	return tableOf[Visits]{"visits.parquet", schemas.BundleVisits(), []column[Visits]{
		textColumn(func(r *Visits) *string { return &r.Model }), textColumn(func(r *Visits) *string { return &r.Class }),
		textColumn(func(r *Visits) *string { return &r.Maker }), textColumn(func(r *Visits) *string { return &r.Family }),
		monthColumn(func(r *Visits) *Month { return &r.From }), monthColumn(func(r *Visits) *Month { return &r.To }),
		countColumn(func(r *Visits) *int { return &r.Visits }),
	}}
}

func faultsTable() tableOf[Faults] {
	return tableOf[Faults]{"faults.parquet", schemas.BundleFaults(), []column[Faults]{
		textColumn(func(r *Faults) *string { return &r.Model }), textColumn(func(r *Faults) *string { return &r.Component }),
		{func(b array.Builder, r *Faults) { b.(*array.BooleanBuilder).Append(r.Cause) },
			func(a arrow.Array, i int, r *Faults) error { r.Cause = a.(*array.Boolean).Value(i); return nil }},
		monthColumn(func(r *Faults) *Month { return &r.From }), monthColumn(func(r *Faults) *Month { return &r.To }),
		countColumn(func(r *Faults) *int { return &r.Visits }), toldColumn(),
	}}
}

// toldColumn is the number of faults, null where it is not told.
func toldColumn() column[Faults] {
	plain := countColumn(func(r *Faults) *int { return &r.Faults })
	return column[Faults]{
		func(b array.Builder, r *Faults) {
			if r.Told {
				plain.put(b, r)
			} else {
				b.AppendNull()
			}
		},
		func(a arrow.Array, i int, r *Faults) error {
			if r.Told = !a.IsNull(i); !r.Told {
				return nil
			}
			return plain.get(a, i, r)
		},
	}
}

func pairsTable() tableOf[Pair] {
	return tableOf[Pair]{"pairs.parquet", schemas.BundlePairs(), []column[Pair]{
		textColumn(func(r *Pair) *string { return &r.Model }), textColumn(func(r *Pair) *string { return &r.A }), textColumn(func(r *Pair) *string { return &r.B }),
		monthColumn(func(r *Pair) *Month { return &r.From }), monthColumn(func(r *Pair) *Month { return &r.To }),
		countColumn(func(r *Pair) *int { return &r.Both }), countColumn(func(r *Pair) *int { return &r.AOnly }),
		countColumn(func(r *Pair) *int { return &r.BOnly }), countColumn(func(r *Pair) *int { return &r.Neither }),
	}}
}

func partsTable() tableOf[Parts] {
	return tableOf[Parts]{"parts.parquet", schemas.BundleParts(), []column[Parts]{
		textColumn(func(r *Parts) *string { return &r.Component }), textColumn(func(r *Parts) *string { return &r.Grade }),
		moneyColumn(func(r *Parts) *schemas.Float { return &r.CostFrom }), moneyColumn(func(r *Parts) *schemas.Float { return &r.CostBelow }),
		textColumn(func(r *Parts) *string { return &r.Currency }),
		monthColumn(func(r *Parts) *Month { return &r.From }), monthColumn(func(r *Parts) *Month { return &r.To }),
		countColumn(func(r *Parts) *int { return &r.Lines }),
	}}
}

// write gives the rows as Parquet, uncompressed: the zip file around it compresses, and a reader can refuse anything else.
func (t tableOf[R]) write(w io.Writer, rows []R) error {
	b := array.NewRecordBuilder(memory.DefaultAllocator, t.schema)
	defer b.Release()
	for i := range rows {
		for j, c := range t.columns {
			c.put(b.Field(j), &rows[i])
		}
	}
	batch := b.NewRecordBatch()
	defer batch.Release()
	props := parquet.NewWriterProperties(parquet.WithCompression(compress.Codecs.Uncompressed), parquet.WithDictionaryDefault(false), parquet.WithCreatedBy("faultgrain"))
	out, err := pqarrow.NewFileWriter(t.schema, struct{ io.Writer }{w}, props, pqarrow.NewArrowWriterProperties(pqarrow.WithStoreSchema()))
	if err != nil {
		return err
	}
	return errors.Join(out.Write(batch), out.Close())
}

// read refuses any other schema, compression, null where none may be, and more than maxRows rows.
func (t tableOf[R]) read(ctx context.Context, data []byte) (rows []R, err error) {
	defer func() { // the Parquet reader panics on some damaged files
		if p := recover(); p != nil {
			rows, err = nil, fmt.Errorf("damaged: %v", p)
		}
	}()
	raw, err := file.NewParquetReader(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("damaged: %w", err)
	}
	defer raw.Close()
	if err := checkChunks(raw); err != nil {
		return nil, err
	}
	in, err := pqarrow.NewFileReader(raw, pqarrow.ArrowReadProperties{BatchSize: 1 << 10}, memory.DefaultAllocator)
	if err != nil {
		return nil, fmt.Errorf("damaged: %w", err)
	}
	schema, err := in.Schema()
	if err != nil {
		return nil, fmt.Errorf("damaged: %w", err)
	}
	if err := t.checkSchema(schema); err != nil {
		return nil, err
	}
	batches, err := in.GetRecordReader(ctx, nil, nil)
	if err != nil {
		return nil, fmt.Errorf("damaged: %w", err)
	}
	defer batches.Release()
	for batches.Next() {
		batch := batches.RecordBatch()
		if len(rows)+int(batch.NumRows()) > maxRows {
			return nil, fmt.Errorf("more than %d rows", maxRows)
		}
		for j := range t.columns {
			if n := batch.Column(j).NullN(); n > 0 && !t.schema.Field(j).Nullable {
				return nil, fmt.Errorf("column %q: %d empty cells, want none", t.schema.Field(j).Name, n)
			}
		}
		for i := range int(batch.NumRows()) {
			var r R
			for j, c := range t.columns {
				if err := c.get(batch.Column(j), i, &r); err != nil {
					return nil, fmt.Errorf("row %d: column %q: %w", len(rows)+1, t.schema.Field(j).Name, err)
				}
			}
			rows = append(rows, r)
		}
	}
	if err := batches.Err(); err != nil && !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("damaged: %w", err)
	}
	if int64(len(rows)) != raw.NumRows() {
		return nil, fmt.Errorf("damaged: holds %d rows, says %d", len(rows), raw.NumRows())
	}
	return rows, nil
}

// checkChunks refuses what could grow in memory far beyond its size: compression, dictionaries and too many rows.
func checkChunks(in *file.Reader) error {
	meta := in.MetaData()
	if n := in.NumRows(); n < 0 || n > maxRows {
		return fmt.Errorf("says %d rows, want at most %d", n, maxRows)
	}
	if n := in.NumRowGroups(); n > 1024 {
		return fmt.Errorf("%d row groups, want at most 1,024", n)
	}
	for g := range in.NumRowGroups() {
		group := meta.RowGroup(g)
		for c := range group.NumColumns() {
			chunk, err := group.ColumnChunk(c)
			if err != nil {
				return fmt.Errorf("damaged: %w", err)
			}
			if chunk.Compression() != compress.Codecs.Uncompressed || chunk.HasDictionaryPage() {
				return errors.New("is compressed inside, want plain pages")
			}
			if chunk.NumValues() > maxRows {
				return fmt.Errorf("says %d values, want at most %d", chunk.NumValues(), maxRows)
			}
		}
	}
	return nil
}

func (t tableOf[R]) checkSchema(s *arrow.Schema) error {
	if s.NumFields() != t.schema.NumFields() {
		return fmt.Errorf("found %d columns, want %d", s.NumFields(), t.schema.NumFields())
	}
	for i, want := range t.schema.Fields() {
		if got := s.Field(i); got.Name != want.Name || !arrow.TypeEqual(got.Type, want.Type) {
			return fmt.Errorf("column %d: found %q of type %s, want %q of type %s", i+1, clip(got.Name), got.Type, want.Name, want.Type)
		}
	}
	return nil
}
