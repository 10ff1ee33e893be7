package bundle

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"github.com/apache/arrow-go/v18/arrow"
	"github.com/apache/arrow-go/v18/arrow/array"
	"github.com/apache/arrow-go/v18/arrow/memory"
	"github.com/apache/arrow-go/v18/parquet"
	"github.com/apache/arrow-go/v18/parquet/compress"
	"github.com/apache/arrow-go/v18/parquet/pqarrow"
)

const mark = "00112233445566778899aabbccddeeff"

func sample(t testing.TB) *Bundle {
	t.Helper()
	r := rand.New(rand.NewPCG(11, 3))
	c := attacked(r, 14, 4)
	for len(c.tell(LeastThreshold, nil).Pairs) == 0 || len(c.tell(LeastThreshold, nil).Visits) < 3 {
		c = attacked(r, 14, 4)
	}
	for m := c.first; m <= c.last; m++ {
		add(c, c.parts, partKey{"battery", "original", "EUR", 3}, m, 4)
		add(c, c.parts, partKey{"battery", "", "", -1}, m, 3)
		add(c, c.parts, partKey{"battery", "pulled", "EUR", len(bandEdges) - 1}, m, 3)
	}
	made, err := c.make(Options{Threshold: LeastThreshold, Mark: mark})
	if err != nil {
		t.Fatal(err)
	}
	if len(made.Faults) == 0 || len(made.Pairs) == 0 {
		t.Fatal("the sample tells too little")
	}
	return made.Bundle
}

func written(t testing.TB, b *Bundle) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := b.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestRoundTrip(t *testing.T) {
	b := sample(t)
	data := written(t, b)
	got, err := Read(t.Context(), "b.zip", data)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, b) {
		t.Errorf("read %+v, want %+v", got, b)
	}
	if !bytes.Equal(data, written(t, b)) {
		t.Error("written twice, the bytes differ")
	}
}

// rezip takes a bundle's files apart, lets edit change them, and puts them together again.
func rezip(t *testing.T, data []byte, edit func(name string, content []byte) (string, []byte)) []byte {
	t.Helper()
	in, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var buf bytes.Buffer
	out := zip.NewWriter(&buf)
	for _, f := range in.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		content, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		name, content := edit(f.Name, content)
		if content == nil {
			continue
		}
		w, err := out.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(content); err != nil {
			t.Fatal(err)
		}
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

func replace(name string, by []byte) func(string, []byte) (string, []byte) {
	return func(n string, content []byte) (string, []byte) {
		if n == name {
			return n, by
		}
		return n, content
	}
}

func TestHostileBundlesAreRefused(t *testing.T) {
	good := written(t, sample(t))
	broken := func(edit func(*Bundle)) []byte {
		b := sample(t)
		edit(b)
		return written(t, b)
	}
	manifest := func(old, new string) []byte {
		return rezip(t, good, func(n string, c []byte) (string, []byte) {
			if n == manifestName {
				if !bytes.Contains(c, []byte(old)) {
					t.Fatalf("no %s in the manifest", old)
				}
				c = bytes.Replace(c, []byte(old), []byte(new), 1)
			}
			return n, c
		})
	}
	for _, tc := range []struct {
		name string
		data []byte
		want string
	}{
		{"empty", nil, "no whole zip"},
		{"truncated", good[:len(good)*2/3], "no whole zip"},
		{"not a zip", []byte(strings.Repeat("repair log ", 100)), "no whole zip"},
		{"path traversal", rezip(t, good, func(n string, c []byte) (string, []byte) {
			if n == pageName {
				n = "../../index.html"
			}
			return n, c
		}), "no part of a bundle"},
		{"absolute path", rezip(t, good, func(n string, c []byte) (string, []byte) {
			if n == pageName {
				n = "/tmp/index.html"
			}
			return n, c
		}), "no part of a bundle"},
		{"a file missing", rezip(t, good, replace("pairs.parquet", nil)), "holds no pairs.parquet"},
		{"zip bomb", rezip(t, good, replace("visits.parquet", make([]byte, maxEntry+1))), "would unpack"},
		{"the same file twice", rezip(t, good, func(n string, c []byte) (string, []byte) {
			if n == "pairs.parquet" {
				n = "faults.parquet"
			}
			return n, c
		}), "twice"},
		{"damaged table", rezip(t, good, func(n string, c []byte) (string, []byte) {
			if n == "faults.parquet" {
				c = c[:len(c)/2]
			}
			return n, c
		}), "damaged"},
		{"table of another name", rezip(t, good, func(n string, c []byte) (string, []byte) {
			return map[string]string{"faults.parquet": "pairs.parquet", "pairs.parquet": "faults.parquet", "visits.parquet": "visits.parquet", "parts.parquet": "parts.parquet", pageName: pageName, manifestName: manifestName}[n], c
		}), "want"},
		{"wrong types", rezip(t, good, replace("visits.parquet", wrongTypes(t))), `want "visits" of type int64`},
		{"compressed inside", rezip(t, good, replace("visits.parquet", compressed(t))), "plain pages"},
		{"another version", manifest(`"version": 1`, `"version": 7`), "version 7"},
		{"another format", manifest(format, "something"), "format"},
		{"a low threshold", manifest(`"threshold": 5`, `"threshold": 1`), "threshold 1"},
		{"an unknown key", manifest(`"threshold": 5`, `"threshold": 5, "customers": ["x"]`), "customers"},
		{"no mark", manifest(mark, "zz"), "mark"},
		{"a period backwards", manifest(`"to": "2025-02"`, `"to": "1999-02"`), "months in order"},
		{"counts above visits", broken(func(b *Bundle) { b.Faults[0].Faults = b.Faults[0].Visits + 1 }), "faults on"},
		{"negative", broken(func(b *Bundle) { b.Visits[0].Visits = -20 }), "found count -20"},
		{"absurd", broken(func(b *Bundle) { b.Visits[0].Visits = 1 << 40 }), "found count"},
		{"small count", broken(func(b *Bundle) { b.Faults[0].Faults = 2 }), "should not have been told"},
		{"small cell of a pair", broken(func(b *Bundle) { b.Pairs[0].Both, b.Pairs[0].AOnly = 1, b.Pairs[0].AOnly+b.Pairs[0].Both-1 }), "below 5"},
		{"pair that does not fit", broken(func(b *Bundle) { b.Pairs[0].Both++; b.Pairs[0].Neither-- }), "do not fit"},
		{"visits that do not add up", broken(func(b *Bundle) { b.Visits[0].Visits++ }), "add up"},
		{"overlapping spans", broken(func(b *Bundle) { b.Visits[1].From = b.Visits[0].From }), "overlap"},
		{"out of order", broken(func(b *Bundle) { b.Parts[0], b.Parts[len(b.Parts)-1] = b.Parts[len(b.Parts)-1], b.Parts[0] }), "order"},
		{"a name like a novel", broken(func(b *Bundle) { b.Visits[0].Model = strings.Repeat("x", 999) }), "999 bytes"},
		{"a name that writes to the screen", broken(func(b *Bundle) { b.Visits[0].Maker = "\x1b[2J" }), "no name"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, err := Read(t.Context(), "b.zip", tc.data)
			if !errors.Is(err, ErrRefused) || !strings.Contains(err.Error(), tc.want) || !strings.HasPrefix(err.Error(), "b.zip: ") {
				t.Errorf("%v, want it refused because %q", err, tc.want)
			}
		})
	}
}

// wrongTypes is a table of visits whose counts are texts.
func wrongTypes(t *testing.T) []byte {
	s := visitsTable().schema
	fields := s.Fields()
	fields[6].Type = arrow.BinaryTypes.String
	return parquetOf(t, arrow.NewSchema(fields, nil), compress.Codecs.Uncompressed)
}

func compressed(t *testing.T) []byte { return parquetOf(t, visitsTable().schema, compress.Codecs.Zstd) }

func parquetOf(t *testing.T, s *arrow.Schema, codec compress.Compression) []byte {
	t.Helper()
	b := array.NewRecordBuilder(memory.DefaultAllocator, s)
	defer b.Release()
	for i := range s.NumFields() {
		switch f := b.Field(i).(type) {
		case *array.StringBuilder:
			f.Append("2026-05")
		case *array.Int64Builder:
			f.Append(20)
		}
	}
	batch := b.NewRecordBatch()
	defer batch.Release()
	var buf bytes.Buffer
	w, err := pqarrow.NewFileWriter(s, &buf, parquet.NewWriterProperties(parquet.WithCompression(codec)), pqarrow.DefaultWriterProps())
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(w.Write(batch), w.Close()); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

func FuzzRead(f *testing.F) {
	good := written(f, sample(f))
	f.Add(good)
	f.Add(good[:len(good)/2])
	f.Fuzz(func(t *testing.T, data []byte) {
		if b, err := Read(t.Context(), "b.zip", data); err == nil {
			if again, err := Read(t.Context(), "b.zip", written(t, b)); err != nil || !reflect.DeepEqual(again, b) {
				t.Errorf("accepted once, then %v", err)
			}
		}
	})
}
