package logfile

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
)

// table reads a file whole: its header, and per row the line and the cells, with | between.
func table(t testing.TB, path string, opt Options) (header string, rows []string, f *File) {
	t.Helper()
	f, err := Open(t.Context(), path, opt)
	if err != nil {
		t.Fatal(err)
	}
	rows, err = tableRows(t.Context(), f)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(f.Header, "|"), rows, f
}

func tableRows(ctx context.Context, f *File) ([]string, error) {
	var rows []string
	err := f.Chunks(ctx, 1, func(_ int, c *Chunk) error {
		for r := range c.Rows() {
			cells := []string{fmt.Sprint(c.Line(r))}
			for i := range c.Width(r) {
				cells = append(cells, string(c.Cell(r, i)))
			}
			rows = append(rows, strings.Join(cells, "|"))
		}
		return nil
	})
	return rows, err
}

func TestJSONForms(t *testing.T) {
	for name, c := range map[string]struct {
		text, format, header string
		rows                 []string
	}{
		"lines": {"{\"ticket\":1,\"model\":\"Lark 7\"}\n\n{\"model\":\"Lark 8\",\"ticket\":\"2\",\"lot\":\"L9\"}\n", "jsonl", "ticket|model|lot",
			[]string{"1|1|Lark 7|", "3|2|Lark 8|L9"}},
		"no line end at the end": {`{"ticket":1,"model":"a"}`, "jsonl", "ticket|model", []string{"1|1|a"}},
		"one after the other":    {`{"a":1}{"a":2} {"a":3}`, "jsonl", "a", []string{"1|1", "1|2", "1|3"}},
		"over several lines":     {"{\n \"a\": 1\n}\n{\n \"a\": 2\n}\n", "jsonl", "a", []string{"1|1", "4|2"}},
		"array":                  {"[\n  {\"a\": 1},\n  {\"a\": 2, \"b\": 1.50}\n]\n", "json", "a|b", []string{"2|1|", "3|2|1.50"}},
		"wrapped": {"{\"exported\": \"2026-05-01\", \"rows\": [\n{\"a\":1,\"b\":2,\"c\":\"rows\"},\n{\"a\":4,\"b\":5,\"c\":6}], \"n\": 2}", "json", "a|b|c",
			[]string{"2|1|2|rows", "3|4|5|6"}},
		"wrapped behind other arrays": {`{"v":["rows"],"w":{"x":[1]},"none":[],"rows":[{"a":1,"b":2,"c":3,"d":4}]}`, "json", "a|b|c|d", []string{"1|1|2|3|4"}},
		"kinds of value": {`[{"a":null,"b":true,"c":-1.5e3,"d":"","e":"x\ty\u00e9\ud83d\ude00"}, {"a":"\"q\""}]`, "json", "a|b|c|d|e",
			[]string{"1||true|-1.5e3||x\ty\u00e9\U0001F600", `1|"q"||||`}},
		"inner objects": {`[{"t":1,"device":{"maker":"Lark","more":{"model":"7"}},"z":2}]`, "json", "t|device.maker|device.more.model|z", []string{"1|1|Lark|7|2"}},
		"plain arrays":  {`[{"t":1,"faults":["display","battery"],"none":[]}]`, "json", "t|faults", []string{"1|1|display, battery"}},
		"parts of a ticket": {"[{\"t\":1,\"m\":\"a\",\"parts\":[{\"no\":\"P1\"},{\"no\":\"P2\",\"lot\":\"L\"}]},\n{\"t\":2,\"m\":\"b\",\"parts\":[]}]", "json", "t|m|parts.no|parts.lot",
			[]string{"1|1|a|P1|", "1|1|a|P2|L", "2|2|b||"}},
		"a lone ticket with parts is no wrapper": {`{"t":1,"m":"a","o":"2026-01-01","parts":[{"no":"P1"}]}`, "jsonl", "t|m|o|parts.no", []string{"1|1|a|2026-01-01|P1"}},
		"a name twice":                           {`[{"a":1,"a":2}]`, "json", "a", []string{"1|1, 2"}},
		"empty objects are no rows":              {`[{},{"a":1},{"a":""}]`, "json", "a", []string{"1|1"}},
		"a damaged line":                         {"{\"a\":1,\"b\":2}\n{\"a\":2,\"b\n{\"a\":3,\"b\":4}\n{\"a\":4,\n{\"a\":5}\n", "jsonl", "a|b", []string{"1|1|2", "2|{\"a\":2,\"b", "3|3|4", "4|{\"a\":4,", "5|5|"}},
		"a line that is no object":               {"{\"a\":1}\n17\n{\"a\":2}\n", "jsonl", "a", []string{"1|1", "2|17", "3|2"}},
		"damage inside an array":                 {`[{"a":1},{"a":x},{"a":3}]`, "json", "a", []string{"1|1", `1|{"a":x}`, "1|3"}},
		"UTF-8 mark":                             {"\ufeff[{\"a\":1}]", "json", "a", []string{"1|1"}},
		"record separators":                      {"\x1e{\"a\":1}\n\x1e{\"a\":2}\n", "jsonl", "a", []string{"1|1", "2|2"}},
	} {
		t.Run(name, func(t *testing.T) {
			header, rows, f := table(t, write(t, "log.txt", []byte(c.text)), Options{})
			if header != c.header || f.Format != c.format {
				t.Errorf("got %s with %q, want %s with %q", f.Format, header, c.format, c.header)
			}
			if !slices.Equal(rows, c.rows) {
				t.Errorf("got  %q\nwant %q", rows, c.rows)
			}
		})
	}
}

func TestJSONErrorsSayWhatToDo(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"no object":           {"[]", "no JSON objects"},
		"objects of nothing":  {"[{}, {}]", "no JSON objects"},
		"cut off in an array": {`[{"a":1},{"a":2}`, "ends too early"},
		"cut off in a string": {`[{"a":1},{"a":"2`, "ends too early"},
	} {
		_, err := Open(t.Context(), write(t, "log.json", []byte(c.text)), Options{})
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "log.json") {
			t.Errorf("%s: got %v, want %q", name, err, c.want)
		}
	}
}

// A JSON log packed and in UTF-16 reads like the plain one; chunks of any size give the same rows.
func TestJSONPackedAndInChunks(t *testing.T) {
	var text bytes.Buffer
	for i := range 500 {
		fmt.Fprintf(&text, "{\"ticket\":%d,\"note\":\"%s\"}\n", i, strings.Repeat("x", i%40))
	}
	_, want, _ := table(t, write(t, "log.jsonl", text.Bytes()), Options{})
	if len(want) != 500 {
		t.Fatalf("%d rows, want 500", len(want))
	}
	for _, size := range []int{1, 100, 5000} {
		_, got, _ := table(t, write(t, "log.jsonl", text.Bytes()), Options{ChunkBytes: size})
		if !slices.Equal(got, want) {
			t.Errorf("chunks of %d bytes give other rows", size)
		}
	}
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	for _, r := range text.String() {
		if _, err := z.Write([]byte{byte(r), 0}); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	_, got, f := table(t, write(t, "log.jsonl.gz", packed.Bytes()), Options{})
	if !slices.Equal(got, want) || f.Encoding != UTF16LE || f.Packing != "gzip" {
		t.Errorf("packed UTF-16 gives other rows (%s, %s)", f.Encoding, f.Packing)
	}
}

// Whatever the bytes, reading ends and lines rise; of a valid array every object is found, and what it says is what
// encoding/json reads.
func FuzzJSON(f *testing.F) {
	for _, s := range []string{`[{"a":1}]`, "{\"a\":1}\n{\"a\":[{\"b\":2}]}\n", `{"rows":[{"a":1,"b":2}]}`, `{"a":"\`, `[{"a":[[1,{"b":2}],3]}`, "[{\"a\":1}\n17", "{\"a\n{\"b\":1}"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		for _, form := range []jsonForm{{}, {lines: true}, {array: true}, {array: true, member: arrayMember(text)}} {
			s := newJSONScanner(bytes.NewReader(text), form)
			objects, last := 0, int64(0)
			for {
				object, line, err := s.next()
				if err != nil {
					break
				}
				if line < last {
					t.Fatalf("line %d after %d", line, last)
				}
				last = line
				o, err := parseJSONObject(object)
				if s.broken || err != nil {
					continue
				}
				objects++
				var same map[string]any
				if err := json.Unmarshal(object, &same); err != nil {
					t.Fatalf("%q was read, encoding/json says %v", object, err)
				}
				for _, x := range o.own {
					if v, ok := same[x.name].(string); ok && len(same) == len(o.own) && v != x.text {
						t.Fatalf("member %q: got %q, want %q", x.name, x.text, v)
					}
				}
			}
			var all []map[string]any
			if form.array && form.member == "" && json.Unmarshal(text, &all) == nil && !bytes.Contains(text, []byte("null")) && objects != len(all) {
				t.Fatalf("%d objects, want %d", objects, len(all))
			}
		}
	})
}
