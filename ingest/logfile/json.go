package logfile

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"unicode"
)

// maxColumns bounds the names of a file's columns. More are no columns but an object with a member per ticket.
const maxColumns = 10_000

// looksLikeJSON says whether text starts as objects do.
func looksLikeJSON(text []byte) bool {
	text = bytes.TrimLeft(text, " \t\r\n\x1e")
	if len(text) < 2 {
		return false
	}
	second := bytes.TrimLeftFunc(text[1:], unicode.IsSpace)
	switch {
	case len(second) == 0:
		return false
	case text[0] == '[':
		return second[0] == '{' || second[0] == ']'
	case text[0] == '{':
		return second[0] == '"' || second[0] == '}'
	}
	return false
}

// openJSON reads the file once to learn the form it has and the names of all members, in the order they first occur.
func (f *File) openJSON(ctx context.Context) error {
	form, err := f.jsonForm(ctx)
	if err != nil {
		return err
	}
	f.Format, f.Line, f.Header = "json", 1, nil
	if !form.array {
		f.Format = "jsonl"
	}
	f.start = func(ctx context.Context) (records, io.Closer, error) {
		text, err := f.text(ctx)
		if err != nil {
			return nil, nil, err
		}
		return &jsonRecords{scan: newJSONScanner(text, form), size: f.chunkBytes, columns: f.columnsByName()}, text, nil
	}
	return f.readJSONHeader(ctx, form)
}

// jsonForm looks at the first objects.
func (f *File) jsonForm(ctx context.Context) (jsonForm, error) {
	text, err := f.text(ctx)
	if err != nil {
		return jsonForm{}, err
	}
	defer text.Close()
	s := newJSONScanner(text, jsonForm{})
	first, err := s.skip()
	if err != nil {
		return jsonForm{}, f.failed(unexpected(err))
	}
	if first == '[' {
		return jsonForm{array: true}, nil
	}
	s.buf = append(s.buf[:0], first)
	switch err := s.object(); {
	case errors.Is(err, errLongObject):
		return jsonForm{array: true, member: arrayMember(s.buf)}, nil
	case err != nil || s.broken:
		return jsonForm{lines: true}, nil // the first line is damaged; the rest may be whole
	}
	outer := bytes.Clone(s.buf)
	if _, err := s.skip(); !errors.Is(err, io.EOF) {
		return jsonForm{lines: !bytes.Contains(outer, []byte("\n"))}, err
	}
	if o, err := parseJSONObject(outer); err == nil && len(o.rows) > 0 && len(o.rows[0]) > len(o.own) {
		// the rows say more than the lone object around them, which then is but a wrapper with a date and a count
		if member := arrayMember(outer); member != "" {
			return jsonForm{array: true, member: member}, nil
		}
	}
	return jsonForm{}, nil
}

// arrayMember names the first member of an object that is an array of objects; the object may be cut off.
func arrayMember(text []byte) string {
	d := json.NewDecoder(bytes.NewReader(text))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return ""
	}
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return ""
		}
		value, err := d.Token()
		if err != nil {
			return ""
		}
		depth := nesting(value)
		if value == json.Delim('[') && d.More() {
			element, err := d.Token()
			if err != nil {
				return ""
			}
			if element == json.Delim('{') {
				return name.(string) // the decoder lets only strings be names
			}
			depth += nesting(element)
		}
		for depth > 0 {
			t, err := d.Token()
			if err != nil {
				return ""
			}
			depth += nesting(t)
		}
	}
	return ""
}

// nesting is 1 for an opening bracket, -1 for a closing one, else 0.
func nesting(t json.Token) int {
	switch t {
	case json.Delim('{'), json.Delim('['):
		return 1
	case json.Delim('}'), json.Delim(']'):
		return -1
	}
	return 0
}

func (f *File) readJSONHeader(ctx context.Context, form jsonForm) error {
	text, err := f.text(ctx)
	if err != nil {
		return err
	}
	defer text.Close()
	s := newJSONScanner(text, form)
	seen := map[string]bool{}
	rows := 0
	add := func(fields []jsonField) {
		for _, x := range fields {
			if !seen[x.name] {
				seen[x.name] = true
				f.Header = append(f.Header, x.name)
			}
		}
	}
	for {
		object, line, err := s.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return f.failed(err)
		}
		o, err := parseJSONObject(object)
		if s.broken || err != nil {
			continue
		}
		rows++
		add(o.own)
		for _, r := range o.rows {
			add(r)
		}
		if len(seen) > maxColumns {
			return fmt.Errorf("%s:%d: more than %d different names, want the same few in every object; export one object per row", f.Path, line, maxColumns)
		}
	}
	if rows == 0 || len(f.Header) == 0 {
		return fmt.Errorf("%s: %w", f.Path, errNoObjects)
	}
	return nil
}

func (f *File) columnsByName() map[string]int {
	at := make(map[string]int, len(f.Header))
	for i, name := range f.Header {
		at[name] = i
	}
	return at
}

// jsonRecords turns objects into rows.
type jsonRecords struct {
	scan    *jsonScanner
	size    int
	columns map[string]int
	filler  filler
	cells   []string
}

func (r *jsonRecords) next(c *Chunk) error {
	started := false
	for !started || len(c.buf) < r.size {
		text, line, err := r.scan.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if !started {
			r.filler.begin(c, line)
			started = true
		}
		c.Bytes += len(text)
		o, err := parseJSONObject(text)
		if r.scan.broken || err != nil {
			r.filler.bad(line, text)
			continue
		}
		if len(o.rows) == 0 {
			o.rows = []jsonRow{nil}
		}
		for _, more := range o.rows {
			r.row(line, o.own, more)
		}
	}
	if !started {
		return io.EOF
	}
	r.filler.finish()
	return nil
}

func (r *jsonRecords) row(line int64, own, more []jsonField) {
	r.cells = slices.Grow(r.cells[:0], len(r.columns))[:len(r.columns)]
	clear(r.cells)
	for _, fields := range [][]jsonField{own, more} {
		for _, x := range fields {
			at := r.columns[x.name]
			switch {
			case r.cells[at] == "":
				r.cells[at] = x.text
			case x.text != "": // the name occurs twice
				r.cells[at] += ", " + x.text
			}
		}
	}
	r.filler.start(line)
	for _, text := range r.cells {
		r.filler.cell(text)
	}
	r.filler.end()
}
