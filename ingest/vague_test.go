package ingest

import (
	"slices"
	"testing"

	"faultgrain/schemas"
)

// A vague component stands only where a ticket names nothing else, whichever column names it.
func TestVagueGivesWay(t *testing.T) {
	for _, tc := range []struct {
		faults []string
		want   []string
	}{
		{[]string{"no-power"}, []string{"no-power"}},
		{[]string{"no-power", "battery"}, []string{"battery"}},
		{[]string{"liquid", "no-power"}, []string{"liquid"}},
		{nil, nil},
	} {
		var tick ticket
		for _, c := range tc.faults {
			tick.fault(c, schemas.BasisFound)
		}
		tick.finish([]string{"no-power"}, nil)
		var got []string
		for _, f := range tick.faults {
			got = append(got, f.component)
		}
		if !slices.Equal(got, tc.want) {
			t.Errorf("faults %v: kept %v, want %v", tc.faults, got, tc.want)
		}
	}
}
