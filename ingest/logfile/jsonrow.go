package logfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
)

// A jsonObject is one object laid flat: members of inner objects are named outer.inner, arrays of plain values become one text with
// commas between, and each array of objects, such as the parts of a ticket, gives a row per element.
type jsonObject struct {
	own  []jsonField
	rows []jsonRow
}

// A jsonRow holds what one element of an array of objects adds.
type jsonRow []jsonField

type jsonField struct{ name, text string }

var errNotJSON = errors.New("not JSON")

// parseJSONObject lays an object flat. Numbers stay as they are written; null is the empty text.
func parseJSONObject(text []byte) (jsonObject, error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	var o jsonObject
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return o, errNotJSON
	}
	if err := o.members(d, "", &o.own); err != nil {
		return o, err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return o, errNotJSON
	}
	return o, nil
}

// members reads an object behind its opening bracket into fields.
func (o *jsonObject) members(d *json.Decoder, prefix string, into *[]jsonField) error {
	for {
		t, err := d.Token()
		if err != nil {
			return errNotJSON
		}
		if t == json.Delim('}') {
			return nil
		}
		name := prefix + t.(string) // the decoder lets only strings be names
		if t, err = d.Token(); err != nil {
			return errNotJSON
		}
		switch t {
		case json.Delim('{'):
			err = o.members(d, name+".", into)
		case json.Delim('['):
			err = o.elements(d, name, into)
		default:
			*into = append(*into, jsonField{name, plain(t)})
		}
		if err != nil {
			return err
		}
	}
}

// elements reads an array behind its opening bracket. Row i of every array of objects stands on row i of the ticket.
func (o *jsonObject) elements(d *json.Decoder, name string, into *[]jsonField) error {
	var texts []string
	for n := 0; ; {
		t, err := d.Token()
		if err != nil {
			return errNotJSON
		}
		switch t {
		case json.Delim(']'):
			if len(texts) > 0 {
				*into = append(*into, jsonField{name, strings.Join(texts, ", ")})
			}
			return nil
		case json.Delim('['):
			if err := o.elements(d, name, into); err != nil {
				return err
			}
		case json.Delim('{'):
			var row jsonRow
			if err := o.members(d, name+".", (*[]jsonField)(&row)); err != nil {
				return err
			}
			if n == len(o.rows) {
				o.rows = append(o.rows, nil)
			}
			o.rows[n] = append(o.rows[n], row...)
			n++
		default:
			if s := plain(t); s != "" {
				texts = append(texts, s)
			}
		}
	}
}

func plain(t json.Token) string {
	if t == nil {
		return ""
	}
	return fmt.Sprint(t)
}
