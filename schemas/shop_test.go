package schemas

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestSettingsErrorsNameLineAndNearestKey(t *testing.T) {
	for _, tc := range []struct{ text, want string }{
		{"name = \"Bench\"\nwaranty_days = 60\n", `:2:1: unknown key "waranty_days"; did you mean "warranty_days"?`},
		{"name = \"Bench\"\nlabour_rate = \"forty\"\n", ":2:"},
		{"zone = \"Lisboa\"\n", `key "zone": found "Lisboa", want an IANA zone`},
		{"target_margin = 40\n", `key "target_margin": found 40, want a number between 0 and 1`},
		{"warranty_days = 0\n", `key "warranty_days": found 0, want a whole number above 0`},
	} {
		path := filepath.Join(t.TempDir(), "shop.toml")
		if err := os.WriteFile(path, []byte(tc.text), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := LoadSettings(path)
		if err == nil || !strings.Contains(err.Error(), tc.want) || !strings.Contains(err.Error(), "shop.toml") {
			t.Errorf("%q: error %v, want the file and %q", tc.text, err, tc.want)
		}
	}
}

func TestSettingsDefaultsAndFolders(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "shop.toml")
	if err := os.WriteFile(path, []byte("stock = \"stock.csv\"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := LoadSettings(path)
	if err != nil {
		t.Fatal(err)
	}
	if s.Stock != filepath.Join(dir, "stock.csv") {
		t.Errorf("stock is %s, want it beside shop.toml", s.Stock)
	}
	if s.Warranty() != 90 || s.Review() != 7 || s.Service() != 0.95 {
		t.Errorf("defaults are %d, %d, %v; design section 4 says 90, 7, 0.95", s.Warranty(), s.Review(), s.Service())
	}
}

func TestNearest(t *testing.T) {
	words := []string{"battery", "display", "charge-port"}
	for in, want := range map[string]string{"batery": "battery", "dispaly": "display", "charge port": "charge-port", "zzz": "", "": ""} {
		if got := Nearest(in, words); got != want {
			t.Errorf("Nearest(%q) = %q, want %q", in, got, want)
		}
	}
}
