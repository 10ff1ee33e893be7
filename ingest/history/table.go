package history

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"os"

	"github.com/apache/arrow-go/v18/arrow"
	"github.com/apache/arrow-go/v18/arrow/ipc"
	"github.com/apache/arrow-go/v18/parquet"
	"github.com/apache/arrow-go/v18/parquet/compress"
	"github.com/apache/arrow-go/v18/parquet/file"
	"github.com/apache/arrow-go/v18/parquet/metadata"
	"github.com/apache/arrow-go/v18/parquet/schema"
)

// rowGroup is how many rows are held in memory before they are written. Larger groups read a little faster,
// smaller ones keep the writer small: a segment whose tables each hold a group takes about 30 MiB for them.
const rowGroup = 64 * 1024

// A table writes one Parquet file: cells are appended to cols, and next ends a row. The file is made when the first
// row group is written.
type table struct {
	path    string
	schema  *arrow.Schema
	cols    []column // in the order of the schema's fields
	wrap    func(io.Writer) io.Writer
	rows    int64 // ended so far
	pending int   // of them not yet written
	out     *output
	w       *file.Writer
}

// newTable takes cols in the order of the schema's fields, of which there are as many.
func newTable(path string, wrap func(io.Writer) io.Writer, s *arrow.Schema, cols ...column) table {
	for i, f := range s.Fields() {
		switch c := cols[i].(type) {
		case *words:
			c.nullable = f.Nullable
		case *texts:
			c.nullable = f.Nullable
		case *doubles:
			c.nullable = f.Nullable
		case *longs:
			c.nullable = f.Nullable
		}
	}
	return table{path: path, wrap: wrap, schema: s, cols: cols}
}

func (t *table) next() error {
	t.rows++
	t.pending++
	if t.pending < rowGroup {
		return nil
	}
	return t.flush()
}

func (t *table) start() error {
	if t.w != nil {
		return nil
	}
	root, props, err := parquetSchema(t.schema, t.cols)
	if err != nil {
		return err
	}
	meta := metadata.NewKeyValueMetadata()
	if err := meta.Append("ARROW:schema", arrowSchema(t.schema)); err != nil {
		return err
	}
	if t.out, err = create(t.path, t.wrap); err != nil {
		return err
	}
	t.w, err = file.NewParquetWriterWithError(t.out, root, file.WithWriterProps(props), file.WithWriteMetadata(meta))
	return err
}

// flush writes the pending rows as a row group.
func (t *table) flush() error {
	if err := t.start(); err != nil {
		return explain(writing(t.path, err))
	}
	if t.pending == 0 {
		return nil
	}
	if err := t.writeGroup(); err != nil {
		return explain(writing(t.path, err))
	}
	t.pending = 0
	return nil
}

func (t *table) writeGroup() error {
	group, err := t.w.AppendRowGroupChecked()
	if err != nil {
		return err
	}
	for _, c := range t.cols {
		w, err := group.NextColumn()
		if err != nil {
			return err
		}
		if err := c.write(w); err != nil {
			return err
		}
		if err := w.Close(); err != nil {
			return err
		}
	}
	return group.Close()
}

// close writes what is pending and the footer and says what the file is. It is on the disk once settle is through with it.
func (t *table) close(settle func(*output)) (FileRecord, error) {
	err := t.flush()
	if err == nil {
		err = t.w.Close()
	}
	if err == nil {
		err = t.out.flush()
	}
	if err != nil {
		return FileRecord{}, explain(err)
	}
	settle(t.out)
	rec := FileRecord{SHA256: t.out.hash(), Rows: t.rows, Bytes: t.out.size}
	t.out = nil
	return rec, nil
}

// abandon closes the file without finishing it.
func (t *table) abandon() {
	if t.out != nil {
		_ = t.out.f.Close() // the file is thrown away
	}
}

// An output is a file that hashes what is written to it.
type output struct {
	path string
	f    *os.File
	buf  *bufio.Writer
	sum  hash.Hash
	size int64
}

// create makes a new file readable by its owner only. wrap, when set, stands between and may fail (tests).
func create(path string, wrap func(io.Writer) io.Writer) (*output, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return nil, err
	}
	o := &output{path: path, f: f, sum: sha256.New()}
	var w io.Writer = f
	if wrap != nil {
		w = wrap(f)
	}
	o.buf = bufio.NewWriterSize(io.MultiWriter(w, o.sum), 1<<16)
	return o, nil
}

func (o *output) Write(p []byte) (int, error) {
	n, err := o.buf.Write(p)
	o.size += int64(n)
	return n, err
}

// flush hands the system what is still held back. Nothing may be written after it.
func (o *output) flush() error {
	if err := o.buf.Flush(); err != nil {
		return writing(o.path, err)
	}
	return nil
}

// hash is the SHA-256, in hex, of a file that was flushed.
func (o *output) hash() string { return hex.EncodeToString(o.sum.Sum(nil)) }

// settle waits until the disk has the file, and closes it.
func (o *output) settle() error {
	err := o.f.Sync()
	if cerr := o.f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return explain(writing(o.path, err))
	}
	return nil
}

// parquetSchema translates the flat Arrow schemas of package schemas. Words are dictionary-encoded; visit numbers and
// instants, which rise by small steps, and counts, which are small, are stored as deltas; nothing else gains by either.
// What is packed like that, or is a keyed hash, hardly shrinks further and is not compressed: that reads and writes faster.
func parquetSchema(s *arrow.Schema, cols []column) (*schema.GroupNode, *parquet.WriterProperties, error) {
	props := []parquet.WriterProperty{
		parquet.WithCompression(compress.Codecs.Zstd), parquet.WithCompressionLevel(1),
		parquet.WithDictionaryDefault(false), parquet.WithStats(false), parquet.WithVersion(parquet.V2_LATEST),
		parquet.WithBatchSize(16 * 1024), parquet.WithDictionaryPageSizeLimit(4 * maxDictionary),
		parquet.WithCreatedBy("faultgrain"),
	}
	var nodes schema.FieldList
	for i, f := range s.Fields() {
		node, err := parquetNode(f)
		if err != nil {
			return nil, nil, err
		}
		nodes = append(nodes, node)
		switch cols[i].(type) {
		case *words:
			props = append(props, parquet.WithDictionaryFor(f.Name, true), parquet.WithCompressionFor(f.Name, compress.Codecs.Uncompressed))
		case *longs:
			props = append(props, parquet.WithStatsFor(f.Name, true))
			if f.Name == "visit" || f.Name == "faults" || f.Name == "components" || f.Type.ID() == arrow.TIMESTAMP {
				props = append(props, parquet.WithEncodingFor(f.Name, parquet.Encodings.DeltaBinaryPacked),
					parquet.WithCompressionFor(f.Name, compress.Codecs.Uncompressed))
			}
		case *texts:
			if f.Type.ID() == arrow.BINARY {
				props = append(props, parquet.WithCompressionFor(f.Name, compress.Codecs.Uncompressed))
			}
		}
	}
	root, err := schema.NewGroupNode("schema", parquet.Repetitions.Required, nodes, -1)
	return root, parquet.NewWriterProperties(props...), err
}

func parquetNode(f arrow.Field) (schema.Node, error) {
	rep := parquet.Repetitions.Required
	if f.Nullable {
		rep = parquet.Repetitions.Optional
	}
	switch f.Type.ID() {
	case arrow.INT64:
		return schema.NewInt64Node(f.Name, rep, -1), nil
	case arrow.UINT64:
		return schema.NewPrimitiveNodeLogical(f.Name, rep, schema.NewIntLogicalType(64, false), parquet.Types.Int64, -1, -1)
	case arrow.TIMESTAMP:
		return schema.NewPrimitiveNodeLogical(f.Name, rep, schema.NewTimestampLogicalType(true, schema.TimeUnitMicros), parquet.Types.Int64, -1, -1)
	case arrow.FLOAT64:
		return schema.NewFloat64Node(f.Name, rep, -1), nil
	case arrow.BOOL:
		return schema.NewBooleanNode(f.Name, rep, -1), nil
	case arrow.STRING:
		return schema.NewPrimitiveNodeLogical(f.Name, rep, schema.StringLogicalType{}, parquet.Types.ByteArray, -1, -1)
	case arrow.BINARY:
		return schema.NewByteArrayNode(f.Name, rep, -1), nil
	}
	return nil, fmt.Errorf("field %s: no Parquet form for %s", f.Name, f.Type)
}

// arrowSchema is the text that Arrow readers look for under "ARROW:schema": units, meanings and privacy classes travel in it.
func arrowSchema(s *arrow.Schema) string {
	var buf bytes.Buffer
	w := ipc.NewWriter(&buf, ipc.WithSchema(s))
	_ = w.Close() // a bytes.Buffer takes everything
	return base64.StdEncoding.EncodeToString(buf.Bytes())
}
