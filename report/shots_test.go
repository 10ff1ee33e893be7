package report

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"faultgrain/schemas"
)

var testSettings = schemas.Settings{Name: "Kiln Lane Repairs", Currency: "EUR"}

func TestTry(t *testing.T) {
	dir := os.Getenv("FAULTGRAIN_TRY")
	if dir == "" {
		t.Skip()
	}
	out := smallShop().write(t)
	if err := Build(t.Context(), Options{Out: out, Settings: testSettings}); err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(dir, os.DirFS(out).(fs.FS)); err != nil {
		t.Fatal(err)
	}
	if err := Build(t.Context(), Options{Out: out, SingleFile: filepath.Join(dir, "single.html"), Settings: testSettings}); err != nil {
		t.Fatal(err)
	}
}
