package logfile

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math/big"
	"strconv"
	"strings"
	"time"

	"github.com/apache/arrow-go/v18/parquet"
	"github.com/apache/arrow-go/v18/parquet/file"
	"github.com/apache/arrow-go/v18/parquet/schema"
)

var (
	parquetMagic  = []byte("PAR1")
	parquetLocked = []byte("PARE")
)

// isParquet says whether a file starts as Parquet does.
func isParquet(sample []byte) bool {
	return bytes.HasPrefix(sample, parquetMagic) || bytes.HasPrefix(sample, parquetLocked)
}

// parquetRows is how many rows are read at a time, at most.
const parquetRows = 4096

// openParquet takes every column that has one value per row; members of structs are named outer.inner. Lists are left out.
func (f *File) openParquet(ctx context.Context) error {
	if f.Packing != "" {
		return fmt.Errorf("%s: a packed Parquet file; unpack it first", f.Path)
	}
	in, err := f.parquetFile()
	if err != nil {
		return err
	}
	defer in.Close()
	f.Format, f.Encoding, f.Line = "parquet", UTF8, 0
	columns := in.MetaData().Schema
	for i := range columns.NumColumns() {
		if c := columns.Column(i); c.MaxRepetitionLevel() == 0 {
			f.Header = append(f.Header, c.Path())
		} else {
			f.Skipped = append(f.Skipped, c.Path())
		}
	}
	if len(f.Header) == 0 || in.NumRows() == 0 {
		return fmt.Errorf("%s: no rows in it; export the log again", f.Path)
	}
	f.start = func(ctx context.Context) (records, io.Closer, error) {
		in, err := f.parquetFile()
		if err != nil {
			return nil, nil, err
		}
		return &parquetRecords{ctx: ctx, in: in, size: f.chunkBytes}, in, nil
	}
	return ctx.Err()
}

func (f *File) parquetFile() (in *file.Reader, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("%s: damaged Parquet (%v); export it again", f.Path, r)
		}
	}()
	if in, err = file.OpenParquetFile(f.Path, false); err != nil {
		return nil, fmt.Errorf("%s: damaged or locked Parquet (%w); export it again", f.Path, err)
	}
	return in, nil
}

// parquetRecords reads row groups in order, a few thousand rows of all columns at a time. Lines are rows, from 1.
type parquetRecords struct {
	ctx     context.Context
	in      *file.Reader
	size    int
	group   int // the next one
	left    int64
	columns []func(n int) ([]string, error) // of the group at hand
	row     int64
	filler  filler
}

func (r *parquetRecords) next(c *Chunk) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("row %d: damaged Parquet (%v); export it again", r.row, p)
		}
	}()
	r.filler.begin(c, r.row+1)
	for len(c.buf) < r.size {
		if r.left == 0 {
			if r.group == r.in.NumRowGroups() {
				break
			}
			if err := r.nextGroup(); err != nil {
				return err
			}
			continue
		}
		if err := r.batch(); err != nil {
			return err
		}
	}
	if len(c.rows) == 0 {
		return io.EOF
	}
	c.Bytes = len(c.buf)
	r.filler.finish()
	return nil
}

func (r *parquetRecords) nextGroup() error {
	if err := r.ctx.Err(); err != nil {
		return err
	}
	g := r.in.RowGroup(r.group)
	r.group, r.left, r.columns = r.group+1, g.NumRows(), r.columns[:0]
	for i := range g.NumColumns() {
		if r.in.MetaData().Schema.Column(i).MaxRepetitionLevel() > 0 {
			continue
		}
		c, err := g.Column(i)
		if err != nil {
			return err
		}
		read, err := textColumn(c)
		if err != nil {
			return fmt.Errorf("column %q: %w", c.Descriptor().Path(), err)
		}
		r.columns = append(r.columns, read)
	}
	return nil
}

func (r *parquetRecords) batch() error {
	n := int(min(r.left, parquetRows))
	texts := make([][]string, len(r.columns))
	for i, read := range r.columns {
		var err error
		if texts[i], err = read(n); err != nil {
			return fmt.Errorf("rows from %d: %w", r.row+1, err)
		}
	}
	for row := range n {
		r.row++
		r.filler.start(r.row)
		for i := range texts {
			r.filler.cell(texts[i][row])
		}
		r.filler.end()
	}
	r.left -= int64(n)
	return nil
}

// textColumn reads a column chunk as text, so many rows a call. Dates and instants are written as ISO 8601 has it, instants in UTC
// with their Z; numbers as they are, decimals with their point.
func textColumn(r file.ColumnChunkReader) (func(n int) ([]string, error), error) {
	d := r.Descriptor()
	def := d.MaxDefinitionLevel()
	switch r := r.(type) {
	case *file.BooleanColumnChunkReader:
		return texts(r.ReadBatch, def, strconv.FormatBool), nil
	case *file.Int32ColumnChunkReader:
		return texts(r.ReadBatch, def, func(v int32) string { return integerText(d, int64(v)) }), nil
	case *file.Int64ColumnChunkReader:
		return texts(r.ReadBatch, def, func(v int64) string { return integerText(d, v) }), nil
	case *file.Int96ColumnChunkReader:
		return texts(r.ReadBatch, def, func(v parquet.Int96) string { return instantText(v.ToTime(), false) }), nil
	case *file.Float32ColumnChunkReader:
		return texts(r.ReadBatch, def, func(v float32) string { return floatText(float64(v), 32) }), nil
	case *file.Float64ColumnChunkReader:
		return texts(r.ReadBatch, def, func(v float64) string { return floatText(v, 64) }), nil
	case *file.ByteArrayColumnChunkReader:
		return texts(r.ReadBatch, def, func(v parquet.ByteArray) string { return bytesText(d, v) }), nil
	case *file.FixedLenByteArrayColumnChunkReader:
		return texts(r.ReadBatch, def, func(v parquet.FixedLenByteArray) string { return bytesText(d, v) }), nil
	}
	return nil, fmt.Errorf("type %s can't be read", r.Type())
}

// texts reads n rows; those without a value are empty.
func texts[T any](read func(int64, []T, []int16, []int16) (int64, int, error), full int16, text func(T) string) func(n int) ([]string, error) {
	return func(n int) ([]string, error) {
		values := make([]T, n)
		var levels []int16
		if full > 0 {
			levels = make([]int16, n)
		}
		rows, present, err := read(int64(n), values, levels, nil)
		if err == nil && rows != int64(n) {
			err = errors.New("fewer values than rows; export it again")
		}
		if err != nil {
			return nil, err
		}
		out := make([]string, n)
		next := 0
		for i := range out {
			if levels == nil || levels[i] == full {
				if next == present {
					return nil, errors.New("fewer values than rows; export it again")
				}
				out[i] = text(values[next])
				next++
			}
		}
		return out, nil
	}
}

func floatText(v float64, bits int) string {
	if v != v {
		return "" // NaN is no answer
	}
	return strconv.FormatFloat(v, 'f', -1, bits)
}

func integerText(d *schema.Column, v int64) string {
	switch t := d.LogicalType().(type) {
	case schema.DateLogicalType:
		return time.Unix(v*86_400, 0).UTC().Format("2006-01-02")
	case schema.TimestampLogicalType:
		return instantText(inUnit(v, t.TimeUnit()), t.IsAdjustedToUTC() && !t.IsFromConvertedType())
	case schema.TimeLogicalType:
		return inUnit(v, t.TimeUnit()).Format("15:04:05")
	case schema.DecimalLogicalType:
		return decimalText(big.NewInt(v), t.Scale())
	case schema.IntLogicalType:
		if !t.IsSigned() && d.PhysicalType() == parquet.Types.Int64 {
			return strconv.FormatUint(uint64(v), 10)
		}
		if !t.IsSigned() {
			return strconv.FormatUint(uint64(uint32(v)), 10)
		}
	}
	return strconv.FormatInt(v, 10)
}

func inUnit(v int64, unit schema.TimeUnitType) time.Time {
	switch unit {
	case schema.TimeUnitMillis:
		return time.UnixMilli(v).UTC()
	case schema.TimeUnitNanos:
		return time.Unix(0, v).UTC()
	}
	return time.UnixMicro(v).UTC()
}

// instantText writes a Z only where the file says that its instants are UTC; others are on the shop's own clock.
func instantText(t time.Time, utc bool) string {
	if utc {
		return t.Format("2006-01-02T15:04:05Z")
	}
	return t.Format("2006-01-02 15:04:05")
}

func bytesText(d *schema.Column, v []byte) string {
	if t, ok := d.LogicalType().(schema.DecimalLogicalType); ok {
		n := new(big.Int).SetBytes(v)
		if len(v) > 0 && v[0]&0x80 != 0 { // two's complement
			n.Sub(n, new(big.Int).Lsh(big.NewInt(1), uint(8*len(v))))
		}
		return decimalText(n, t.Scale())
	}
	if _, ok := d.LogicalType().(schema.UUIDLogicalType); ok && len(v) == 16 {
		return fmt.Sprintf("%08x-%04x-%04x-%04x-%012x", binary.BigEndian.Uint32(v), v[4:6], v[6:8], v[8:10], v[10:])
	}
	return strings.ToValidUTF8(string(v), "")
}

// decimalText is n / 10^scale, exactly.
func decimalText(n *big.Int, scale int32) string {
	digits := new(big.Int).Abs(n).String()
	if scale > 0 {
		if pad := int(scale) + 1 - len(digits); pad > 0 {
			digits = strings.Repeat("0", pad) + digits
		}
		at := len(digits) - int(scale)
		digits = digits[:at] + "." + digits[at:]
	}
	if n.Sign() < 0 {
		return "-" + digits
	}
	return digits
}
