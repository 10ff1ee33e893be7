package history

import (
	"fmt"
	"strings"

	"github.com/apache/arrow-go/v18/arrow"
	"github.com/apache/arrow-go/v18/arrow/array"
	"github.com/apache/arrow-go/v18/arrow/memory"
	"github.com/apache/arrow-go/v18/parquet"
	"github.com/apache/arrow-go/v18/parquet/file"
	"github.com/zeebo/xxh3"
)

// A column gathers the cells of one row group and writes them as one Parquet column chunk.
// Nullable columns carry a definition level per row: 1 for a value, 0 for null.
type column interface {
	write(w file.ColumnChunkWriter) error // writes and empties
}

// levels are the definition levels of a nullable column; nil stays nil for a required one.
type levels struct {
	nullable bool
	def      []int16
}

func (l *levels) add(present bool) {
	if !l.nullable {
		return
	}
	if present {
		l.def = append(l.def, 1)
	} else {
		l.def = append(l.def, 0)
	}
}

func (l *levels) empty() { l.def = l.def[:0] }

// longs holds 64-bit integers: numbers, counts, microseconds, hashes.
type longs struct {
	levels
	vals []int64
}

func (c *longs) add(v int64) { c.addIf(v, true) }

func (c *longs) addIf(v int64, ok bool) {
	c.levels.add(ok)
	if ok {
		c.vals = append(c.vals, v)
	}
}

func (c *longs) write(w file.ColumnChunkWriter) error {
	_, err := w.(*file.Int64ColumnChunkWriter).WriteBatch(c.vals, c.def, nil)
	c.vals = c.vals[:0]
	c.empty()
	return err
}

// doubles holds measures and money.
type doubles struct {
	levels
	vals []float64
}

func (c *doubles) addIf(v float64, ok bool) {
	c.levels.add(ok)
	if ok {
		c.vals = append(c.vals, v)
	}
}

func (c *doubles) write(w file.ColumnChunkWriter) error {
	_, err := w.(*file.Float64ColumnChunkWriter).WriteBatch(c.vals, c.def, nil)
	c.vals = c.vals[:0]
	c.empty()
	return err
}

// bools holds required flags.
type bools struct{ vals []bool }

func (c *bools) add(v bool) { c.vals = append(c.vals, v) }

func (c *bools) write(w file.ColumnChunkWriter) error {
	_, err := w.(*file.BooleanColumnChunkWriter).WriteBatch(c.vals, nil, nil)
	c.vals = c.vals[:0]
	return err
}

// texts holds strings that hardly repeat: tickets, keys, raw rows. The bytes stand end to end in one buffer.
type texts struct {
	levels
	buf  []byte
	ends []int
	vals []parquet.ByteArray
}

// add takes the empty string of a nullable column for null.
func (c *texts) add(s string) {
	present := !c.nullable || s != ""
	c.levels.add(present)
	if present {
		c.buf = append(c.buf, s...)
		c.ends = append(c.ends, len(c.buf))
	}
}

func (c *texts) addKey(k Key) {
	c.levels.add(!k.IsZero())
	if !k.IsZero() {
		c.buf = append(c.buf, k[:]...)
		c.ends = append(c.ends, len(c.buf))
	}
}

func (c *texts) write(w file.ColumnChunkWriter) error {
	start := 0
	for _, end := range c.ends {
		c.vals = append(c.vals, c.buf[start:end])
		start = end
	}
	_, err := w.(*file.ByteArrayColumnChunkWriter).WriteBatch(c.vals, c.def, nil)
	c.buf, c.ends, c.vals = c.buf[:0], c.ends[:0], c.vals[:0]
	c.empty()
	return err
}

// words holds strings that repeat: models, components, outcomes, keys of few people. Each distinct one is kept once per row
// group and written as a Parquet dictionary.
type words struct {
	levels
	dict  []string
	bytes int     // of dict
	ids   []int32 // of rows, into dict
	table []int32 // open addressing by hash: 1 + index into dict, 0 is free; at most half full
}

// maxDictionary bounds the distinct bytes of one row group's dictionary page; beyond it plain values are cheaper to read.
const maxDictionary = 1 << 19

// add takes the empty string of a nullable column for null.
func (c *words) add(s string) {
	if c.nullable && s == "" {
		c.levels.add(false)
		c.ids = append(c.ids, 0)
		return
	}
	c.levels.add(true)
	c.ids = append(c.ids, c.id(s))
}

// addKey takes the zero key for null.
func (c *words) addKey(k Key) {
	if k.IsZero() {
		c.add("")
		return
	}
	c.levels.add(true)
	c.ids = append(c.ids, c.id(string(k[:])))
}

// id is the place of a string in the dictionary.
func (c *words) id(s string) int32 {
	if 2*len(c.dict) >= len(c.table) {
		c.grow()
	}
	mask := uint64(len(c.table) - 1)
	for at := xxh3.HashString(s) & mask; ; at = (at + 1) & mask {
		id := c.table[at] - 1
		if id < 0 {
			c.dict = append(c.dict, strings.Clone(s)) // callers reuse their memory
			c.bytes += len(s) + 4
			c.table[at] = int32(len(c.dict))
			return int32(len(c.dict)) - 1
		}
		if c.dict[id] == s {
			return id
		}
	}
}

// grow makes the table twice as large.
func (c *words) grow() {
	c.table = make([]int32, max(16, 2*len(c.table)))
	mask := uint64(len(c.table) - 1)
	for id, s := range c.dict {
		at := xxh3.HashString(s) & mask
		for c.table[at] != 0 {
			at = (at + 1) & mask
		}
		c.table[at] = int32(id) + 1
	}
}

func (c *words) write(w file.ColumnChunkWriter) error {
	err := c.writeChunk(w)
	clear(c.table)
	c.dict, c.ids, c.bytes = c.dict[:0], c.ids[:0], 0
	c.empty()
	return err
}

func (c *words) writeChunk(w file.ColumnChunkWriter) error {
	if c.bytes > maxDictionary {
		return c.writePlain(w)
	}
	encoder, ok := w.CurrentEncoder().(interface{ PutDictionary(arrow.Array) error })
	if !ok {
		return fmt.Errorf("column %s has no dictionary encoder", w.Descr().Name())
	}
	if err := encoder.PutDictionary(stringArray(c.dict)); err != nil {
		return err
	}
	return w.WriteDictIndices(c.indices(), c.def, nil)
}

func (c *words) writePlain(w file.ColumnChunkWriter) error {
	w.FallbackToPlain()
	vals := make([]parquet.ByteArray, 0, len(c.ids))
	for i, id := range c.ids {
		if !c.nullable || c.def[i] == 1 {
			vals = append(vals, parquet.ByteArray(c.dict[id]))
		}
	}
	_, err := w.(*file.ByteArrayColumnChunkWriter).WriteBatch(vals, c.def, nil)
	return err
}

// indices is the Arrow form of ids, nulls marked; it shares their memory.
func (c *words) indices() arrow.Array {
	var valid *memory.Buffer
	nulls := 0
	if c.nullable {
		bits := make([]byte, (len(c.ids)+7)/8)
		for i, d := range c.def {
			if d == 1 {
				bits[i>>3] |= 1 << (i & 7)
			} else {
				nulls++
			}
		}
		valid = memory.NewBufferBytes(bits)
	}
	data := array.NewData(arrow.PrimitiveTypes.Int32, len(c.ids),
		[]*memory.Buffer{valid, memory.NewBufferBytes(arrow.Int32Traits.CastToBytes(c.ids))}, nil, nulls, 0)
	return array.NewInt32Data(data)
}

func stringArray(dict []string) arrow.Array {
	b := array.NewStringBuilder(memory.DefaultAllocator)
	b.AppendValues(dict, nil)
	return b.NewArray()
}
