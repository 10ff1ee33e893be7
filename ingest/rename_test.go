package ingest

import (
	"slices"
	"testing"

	"faultgrain/ingest/history"
	"faultgrain/schemas"
)

// A component that is another one on the class of the device is called that, once, on the better basis,
// and its part line with it.
func TestRename(t *testing.T) {
	on := map[string]string{"usb-port": "charge-port"}
	for _, tc := range []struct {
		name   string
		faults []fault
		on     map[string]string
		want   []fault
	}{
		{"another class", []fault{{"usb-port", schemas.BasisText}}, nil, []fault{{"usb-port", schemas.BasisText}}},
		{"renamed", []fault{{"usb-port", schemas.BasisFound}}, on, []fault{{"charge-port", schemas.BasisFound}}},
		{"both told", []fault{{"charge-port", schemas.BasisFound}, {"usb-port", schemas.BasisPart}}, on, []fault{{"charge-port", schemas.BasisPart}}},
		{"beside another", []fault{{"display", schemas.BasisFound}, {"usb-port", schemas.BasisFound}}, on,
			[]fault{{"charge-port", schemas.BasisFound}, {"display", schemas.BasisFound}}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			var tick ticket
			for _, f := range tc.faults {
				tick.fault(f.component, f.basis)
			}
			tick.parts = []partLine{{Part: history.Part{Component: tc.faults[len(tc.faults)-1].component}}}
			tick.finish(nil, tc.on)
			if !slices.Equal(tick.faults, tc.want) {
				t.Errorf("faults %v, want %v", tick.faults, tc.want)
			}
			if got := tick.parts[0].Component; tc.on != nil && got != "charge-port" {
				t.Errorf("the part line is called %s", got)
			}
		})
	}
}

// The classes of the built-in lexicon and what they rename.
func TestBuiltinOn(t *testing.T) {
	words, err := builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, tc := range [][3]string{
		{"phone", "usb-port", "charge-port"}, {"tablet", "usb-port", "charge-port"}, {"laptop", "usb-port", ""},
		{"phone", "keyboard", "buttons"}, {"laptop", "keyboard", ""}, {"tablet", "touchpad", "touch"},
		{"phone", "power-supply", "charger"}, {"desktop", "power-supply", ""}, {"tablet", "switch", "power-button"},
	} {
		if got := words.on[tc[0]][tc[1]]; got != tc[2] {
			t.Errorf("%s on a %s is %q, want %q", tc[1], tc[0], got, tc[2])
		}
	}
}
