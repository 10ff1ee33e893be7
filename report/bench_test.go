package report

import (
	"os"
	"testing"

	"faultgrain/schemas"
)

// BenchmarkBuild draws the report of a shop of 200 models, or of the tables in the folder FAULTGRAIN_BRIEF names.
func BenchmarkBuild(b *testing.B) {
	out, settings := os.Getenv("FAULTGRAIN_BRIEF"), testSettings
	if out == "" {
		out = bigShop().write(b)
	} else {
		var err error
		if settings, err = schemas.LoadSettings(os.Getenv("FAULTGRAIN_SHOP")); err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		if err := Build(b.Context(), Options{Out: out, Settings: settings}); err != nil {
			b.Fatal(err)
		}
	}
}
