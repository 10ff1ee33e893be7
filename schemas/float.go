package schemas

import (
	"fmt"
	"math"
	"strconv"
)

// Float is a number that may be unknown. The zero value is unknown, never 0.
type Float struct {
	V  float64
	OK bool
}

// Known wraps a finite number; NaN and Inf become unknown, for they are no answer.
func Known(v float64) Float {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Float{}
	}
	return Float{V: v, OK: true}
}

// String is the CSV form: ten significant digits, empty when unknown.
func (f Float) String() string {
	if !f.OK {
		return ""
	}
	v := f.V
	if v == 0 {
		v = 0 // drop the sign of a negative zero
	}
	return strconv.FormatFloat(v, 'g', 10, 64)
}

// ParseFloat reads the CSV form.
func ParseFloat(s string) (Float, error) {
	if s == "" {
		return Float{}, nil
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return Float{}, fmt.Errorf("found %q, want a finite number or nothing", s)
	}
	return Float{V: v, OK: true}, nil
}

// MarshalJSON writes null when unknown.
func (f Float) MarshalJSON() ([]byte, error) {
	if !f.OK {
		return []byte("null"), nil
	}
	return []byte(f.String()), nil
}

// UnmarshalJSON reads a number or null.
func (f *Float) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*f = Float{}
		return nil
	}
	v, err := ParseFloat(string(b))
	if err != nil {
		return err
	}
	*f = v
	return nil
}
