package schemas

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// WriteCSV writes a header and one line per row. T is a struct whose fields carry csv tags and are
// string, int or Float. Text that a spreadsheet would take for a formula gets a leading apostrophe.
func WriteCSV[T any](w io.Writer, rows []T) error {
	t := reflect.TypeFor[T]()
	out := csv.NewWriter(w)
	line := make([]string, t.NumField())
	for i := range line {
		line[i] = t.Field(i).Tag.Get("csv")
	}
	if err := out.Write(line); err != nil {
		return err
	}
	for i := range rows {
		v := reflect.ValueOf(&rows[i]).Elem()
		for j := range line {
			switch f := v.Field(j); x := f.Addr().Interface().(type) {
			case *string:
				line[j] = Disarm(*x)
			case *int:
				line[j] = strconv.Itoa(*x)
			case *Float:
				line[j] = x.String()
			default:
				return fmt.Errorf("schemas: field %s of %s has type %s, want string, int or Float", t.Field(j).Name, t.Name(), f.Type())
			}
		}
		if err := out.Write(line); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// ReadCSV reads what WriteCSV wrote. Columns are found by name; unknown ones are ignored, missing ones stay empty.
// Errors name the line and column.
func ReadCSV[T any](r io.Reader, name string) ([]T, error) {
	t := reflect.TypeFor[T]()
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	in := csv.NewReader(bytes.NewReader(text))
	in.ReuseRecord = true
	header, err := in.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s: empty file, want a header line", name)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	header = slices.Clone(header)
	at := make([]int, len(header))
	for i, h := range header {
		at[i] = -1
		for j := range t.NumField() {
			if t.Field(j).Tag.Get("csv") == h {
				at[i] = j
			}
		}
	}
	rows := make([]T, 0, bytes.Count(text, []byte{'\n'})) // rows are wide: they are not to move
	for {
		line, err := in.Read()
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		rows = append(rows, *new(T))
		v := reflect.ValueOf(&rows[len(rows)-1]).Elem()
		for i, cell := range line {
			if at[i] < 0 {
				continue
			}
			if err := setCell(v.Field(at[i]), cell); err != nil {
				n, _ := in.FieldPos(i)
				return nil, fmt.Errorf("%s:%d: column %q: %w", name, n, header[i], err)
			}
		}
	}
}

func setCell(f reflect.Value, cell string) error {
	switch f.Kind() {
	case reflect.String:
		f.SetString(arm(cell))
	case reflect.Int:
		n, err := strconv.Atoi(cell)
		if err != nil {
			return fmt.Errorf("found %q, want a whole number", cell)
		}
		f.SetInt(int64(n))
	case reflect.Struct:
		x, ok := f.Addr().Interface().(*Float)
		if !ok {
			return fmt.Errorf("schemas: a column of type %s, want string, int or Float", f.Type())
		}
		var err error
		if *x, err = ParseFloat(cell); err != nil {
			return err
		}
	}
	return nil
}

const formulaStarts = "=+-@\t\r"

// Disarm keeps a spreadsheet from running a text cell as a formula.
func Disarm(s string) string {
	if s != "" && (strings.ContainsRune(formulaStarts, rune(s[0])) || s[0] == '\'') {
		return "'" + s
	}
	return s
}

// arm is the inverse of Disarm.
func arm(s string) string {
	if len(s) > 1 && s[0] == '\'' && (strings.ContainsRune(formulaStarts, rune(s[1])) || s[1] == '\'') {
		return s[1:]
	}
	return s
}
