package cells

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The short ways through usual cells must read them as the long ways do.

func TestShortNumbersReadAsAllDo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cell := []byte(rapid.StringMatching(`[0-9]{0,14}([.,][0-9]{0,4})?`).Draw(t, "cell"))
		v, kind := shortNumber(cell)
		if kind == noNumber {
			return
		}
		if long, as := scanUnsigned(cell, 0); long != v || as != kind {
			t.Fatalf("%s: %v of kind %d, the long way %v of kind %d", cell, v, kind, long, as)
		}
	})
}

func TestPlainClocksReadAsAllDo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		clock := rapid.StringMatching(`[ T][0-9]{2}:[0-9]{2}(:[0-9]{2})?`).Draw(t, "clock")
		short, ok := Dates{}.Parse([]byte("2026-05-03" + clock))
		long, known := Dates{}.Parse([]byte("2026-05-03 ,  " + clock[1:])) // joiners are passed on the long way only
		if ok != known || ok && short != long {
			t.Fatalf("%s: %+v %v, the long way %+v %v", clock, short, ok, long, known)
		}
	})
}

func TestPlainSerialsReadAsAllDo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		serial := rapid.StringMatching(`[A-Z0-9]{1,20}`).Draw(t, "serial")
		short, ok := AppendSerial(nil, []byte(serial))
		long, known := AppendSerial(nil, []byte(strings.ToLower(serial)))
		if ok != known || string(short) != string(long) {
			t.Fatalf("%s: %s %v, in small letters %s %v", serial, short, ok, long, known)
		}
	})
}
