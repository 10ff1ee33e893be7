package shares

import (
	"math"
	"strings"
	"testing"
)

func FuzzFleet(f *testing.F) {
	f.Add("model,month,units\nCorvo 3,2026-01,5\n")
	f.Add("units;model;month\n")
	f.Add("model,month,units\n\"Corvo\n3\",2026-01,1e309\n")
	f.Add("\ufeffmodel, month ,units\nCorvo 3,2026-01,0.5\nCorvo 3,2026-02,7")
	f.Fuzz(func(t *testing.T, text string) {
		fleet, err := readFleet(strings.NewReader(text), "fleet.csv", []string{"Corvo 3", "Corvo 4"})
		if err != nil {
			if !strings.HasPrefix(err.Error(), "fleet.csv") {
				t.Errorf("error without the file: %v", err)
			}
			return
		}
		sum, total := 0.0, 0.0
		for _, n := range fleet.units {
			sum += n
		}
		for _, n := range fleet.total {
			total += n
		}
		if math.IsNaN(sum) || math.IsInf(sum, 0) || math.Abs(sum-total) > 1e-9*sum {
			t.Errorf("months add up to %v, models to %v", sum, total)
		}
	})
}
