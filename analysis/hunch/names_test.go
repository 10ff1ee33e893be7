package hunch

import (
	"testing"

	"faultgrain/schemas"
)

func TestFindComponent(t *testing.T) {
	l, err := schemas.BuiltinLexicon()
	if err != nil {
		t.Fatal(err)
	}
	for asked, want := range map[string]string{"charge-port": "charge-port", "Charge Port": "charge-port", "akku": "battery", "batt": "battery", "EARPIECE": "earpiece"} {
		if got, err := findComponent(l, asked); err != nil || got != want {
			t.Errorf("%q: %q, %v, want %q", asked, got, err, want)
		}
	}
	for _, asked := range []string{"banana", "liquid", ""} {
		if got, err := findComponent(l, asked); err == nil {
			t.Errorf("%q was taken for %q", asked, got)
		}
	}
}
