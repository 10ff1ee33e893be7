package export

import (
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"io"
	"strconv"
	"time"

	"github.com/apache/arrow-go/v18/arrow"
	"github.com/apache/arrow-go/v18/arrow/array"
	"github.com/apache/arrow-go/v18/arrow/ipc"
	"github.com/apache/arrow-go/v18/parquet"
	"github.com/apache/arrow-go/v18/parquet/compress"
	"github.com/apache/arrow-go/v18/parquet/pqarrow"

	"faultgrain/schemas"
)

func parquetSink(w io.Writer, schema *arrow.Schema) (sink, error) {
	props := parquet.NewWriterProperties(parquet.WithCompression(compress.Codecs.Zstd))
	// The writer closes what it writes to if it can; the file is ours to close.
	out, err := pqarrow.NewFileWriter(schema, struct{ io.Writer }{w}, props, pqarrow.NewArrowWriterProperties(pqarrow.WithStoreSchema()))
	if err != nil {
		return sink{}, err
	}
	return sink{func(b arrow.RecordBatch) error { return withSchema(b, schema, out.WriteBuffered) }, out.Close}, nil
}

func arrowSink(w io.Writer, schema *arrow.Schema) (sink, error) {
	out, err := ipc.NewFileWriter(w, ipc.WithSchema(schema))
	if err != nil {
		return sink{}, err
	}
	return sink{func(b arrow.RecordBatch) error { return withSchema(b, schema, out.Write) }, out.Close}, nil
}

// withSchema hands a batch on under our schema, whose fields say unit, meaning and privacy class.
func withSchema(b arrow.RecordBatch, schema *arrow.Schema, write func(arrow.RecordBatch) error) error {
	if b.NumCols() != int64(schema.NumFields()) {
		return fmt.Errorf("a segment has %d columns, want %d", b.NumCols(), schema.NumFields())
	}
	named := array.NewRecordBatch(schema, b.Columns(), b.NumRows())
	defer named.Release()
	return write(named)
}

func csvLines(w io.Writer) *csv.Writer { return csv.NewWriter(w) }

func csvSink(w io.Writer, schema *arrow.Schema) (sink, error) {
	out := csvLines(w)
	line := make([]string, schema.NumFields())
	for i, f := range schema.Fields() {
		line[i] = f.Name
	}
	if err := out.Write(line); err != nil {
		return sink{}, err
	}
	write := func(b arrow.RecordBatch) error {
		for row := range int(b.NumRows()) {
			for i := range line {
				cell, err := csvCell(b.Column(i), row)
				if err != nil {
					return fmt.Errorf("column %s: %w", b.ColumnName(i), err)
				}
				line[i] = cell
			}
			if err := out.Write(line); err != nil {
				return err
			}
		}
		return nil
	}
	return sink{write, func() error { out.Flush(); return out.Error() }}, nil
}

// csvCell writes one value: null is empty, instants are UTC to the second, keys hexadecimal; text that a spreadsheet
// would take for a formula gets an apostrophe.
func csvCell(col arrow.Array, row int) (string, error) {
	if col.IsNull(row) {
		return "", nil
	}
	switch c := col.(type) {
	case *array.String:
		return schemas.Disarm(c.Value(row)), nil
	case *array.Binary:
		return hex.EncodeToString(c.Value(row)), nil
	case *array.Timestamp:
		return c.Value(row).ToTime(c.DataType().(*arrow.TimestampType).Unit).UTC().Format(time.RFC3339), nil
	case *array.Int64:
		return strconv.FormatInt(c.Value(row), 10), nil
	case *array.Float64:
		return strconv.FormatFloat(c.Value(row), 'g', -1, 64), nil
	case *array.Boolean:
		return strconv.FormatBool(c.Value(row)), nil
	case *array.Dictionary:
		return csvCell(c.Dictionary(), c.GetValueIndex(row))
	}
	return "", fmt.Errorf("type %s has no CSV form", col.DataType())
}
