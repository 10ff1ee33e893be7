package cells

import (
	"math"
	"testing"
)

func TestMinutes(t *testing.T) {
	tests := []struct {
		cell string
		per  float64
		want float64 // -1: refused
	}{
		{"45", 1, 45}, {"1.5", 60, 90}, {"1,5", 60, 90}, {"0:45", 1, 45}, {"0:45", 60, 45}, {"01:15", 1, 75}, {"1:15:30", 1, 75.5}, {"1:15 h", 1, 75},
		{"45 min", 1, 45}, {"45min.", 1, 45}, {"45 Minuten", 1, 45}, {"45 minutter", 1, 45}, {"45'", 1, 45}, {"45m", 1, 45},
		{"1h 15m", 1, 75}, {"1h15", 1, 75}, {"1h15m", 1, 75}, {"1 h", 1, 60}, {"1.5 h", 1, 90}, {"1,5 Std.", 1, 90}, {"2 Std. 10 Min.", 1, 130},
		{"1 hour and 15 minutes", 1, 75}, {"1 heure 15 min", 1, 75}, {"1 uur en 15 min", 1, 75}, {"2 horas", 1, 120}, {"1 time 5 min", 1, 65}, {"2 timer", 1, 120},
		{"PT1H15M", 1, 75}, {"PT45M", 1, 45}, {"90 s", 1, 1.5}, {"1d 1h", 1, 1500},
		{"-5", 1, -1}, {"0:60", 1, -1}, {"1m 1h", 1, -1}, {"15 apples", 1, -1}, {"", 1, -1}, {"soon", 1, -1}, {"5 min 5", 1, -1}, {"1:2", 1, -1},
	}
	for _, tt := range tests {
		got, ok := Minutes([]byte(tt.cell), 0, tt.per)
		if !ok {
			got = -1
		}
		if math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("Minutes(%q) = %v, want %v", tt.cell, got, tt.want)
		}
	}
}

func TestQuantity(t *testing.T) {
	for cell, want := range map[string]float64{
		"2": 2, "2,0": 2, "2x": 2, "x2": 2, "2 pcs": 2, "1 Stk.": 1, "3 Stück": 3, "2 uds": 2, "0": 0, "-1": -1, "two": -1, "": -1, "2 m": -1,
	} {
		got, ok := Quantity([]byte(cell), 0)
		if !ok {
			got = -1
		}
		if got != want {
			t.Errorf("Quantity(%q) = %v, want %v", cell, got, want)
		}
	}
}
