package models

import "testing"

// All makers and models are invented.
func TestSpellingsFoldToOneModel(t *testing.T) {
	tests := []struct {
		model  string // as displayed
		maker  string
		spells []string
	}{
		{"Lark 7", "Lark", []string{"7", "Lark 7", "LARK 7", "lark7", "Lark-7", "Lark  7 64GB", "Lark 7 64 GB black", "Lark 7, 128GB, Space Grey", "Lark 7 (EU)", "Lark 7 EU version", "Lark 7 128 Go noir",
			"Lark 7 64GB schwarz", "Lark 7 dunkelblau", "Lark 7 lyseblå", "Lark 7 azul claro", "Lark 7 gris sidéral", "Lark 7 8GB/256GB", "Lark 7 8/128GB", "Lark 7 8+128GB", "Lark 7 1TB Rose Gold", "Lark Lark 7", "lark 7 midnight blue INTL", "Lark 7 4GB RAM 64GB ROM"}},
		{"Lark 7 Plus", "Lark", []string{"7 Plus", "7+", "Lark 7+", "lark 7plus 64gb", "LARK 7 PLUS Gold", "Lark7Plus"}},
		{"Lark 7 2024", "Lark", []string{"7 (2024)", "Lark 7 2024", "lark 7 2024 64GB"}},
		{"Lark 7S", "Lark", []string{"7s", "7 S", "Lark 7S 32GB"}},
		{"Lark 7 5G", "Lark", []string{"7 5G", "Lark 7 5g 128GB"}},
		{"Lark 7 Go", "Lark", []string{"7 Go", "Lark 7 go"}},
		{"Lark A52", "Lark", []string{"A52", "a 52", "A-52", "Lark A52 128GB white"}},
		{"Lark Tab A8", "Lark", []string{"Tab A8", "Lark Tab A 8", "tab a8 32GB grey"}},
		{"Lark Tab 10.1", "Lark", []string{`Tab 10.1"`, "Tab 10,1 Zoll", "Lark tab 10.1 inch"}},
		{"Lark Tab Gen 7", "Lark", []string{"Tab (7th gen)", "Tab 7th Generation", "Tab gen 7", "Tab 7. Generation", "Tab 7e génération"}},
		{"Lark Black", "Lark", []string{"Black", "black 64GB"}}, // a model whose only word is a colour
		{"Lark Mini", "Lark", []string{"Mini", "mini red"}},
		{"Lark SM G960F", "Lark", []string{"SM-G960F", "sm g960f", "SM-G960F 64GB", "SM-G960F/EU"}},
		{"HP 250 G7", "hp", []string{"250 G7", "HP 250 G7"}},
	}
	f, err := New(nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range tests {
		for _, s := range tt.spells {
			if got := f.Fold(tt.maker, "", s, "phone"); got.Model != tt.model {
				t.Errorf("%q: got %q, want %q (dropped %q)", s, got.Model, tt.model, got.Folded)
			}
		}
	}
}

func TestWhatTellsModelsApartStays(t *testing.T) {
	f, err := New(nil)
	if err != nil {
		t.Fatal(err)
	}
	apart := []string{"Lark 7", "Lark 7 Plus", "Lark 7 Pro", "Lark 7 Pro Max", "Lark 7 Mini", "Lark 7 Lite", "Lark 7 2024", "Lark 7 2026", "Lark 7S", "Lark 7 SE", "Lark 7 5G", "Lark 7 4G", "Lark 7 Go", "Lark 7 FE",
		"Lark 70", "Lark 1 7", "Lark 17", "Lark A7", "Lark 7A", "Lark 7 Ultra", "Lark 7 Gen 2", "Lark 8", "Lark X", "Lark XR", "Lark Tab 7", "Lark 7 XL", "Lark 7 64", "Lark 7 Wifi"}
	seen := map[string]string{}
	for _, s := range apart {
		got := f.Fold("Lark", "", s, "").Model
		if other, ok := seen[got]; ok {
			t.Errorf("%q and %q both fold to %q", s, other, got)
		}
		seen[got] = s
	}
}

func TestDevice(t *testing.T) {
	f, err := New(nil)
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		maker, family, model, class string
		want                        Device
	}{
		{"lark", "", "7 64GB black", "phone", Device{"Lark", "", "Lark 7", "phone", "64GB black"}},
		{"LARK", "", "nova tab a8", "tablet", Device{"Lark", "Nova Tab", "Lark Nova Tab A8", "tablet", ""}},
		{"Lark", "Nova", "7", "phone", Device{"Lark", "Nova", "Lark 7", "phone", ""}},
		{"Lark", "lark nova", "", "phone", Device{"Lark", "Nova", "Lark Nova", "phone", ""}},
		{"Lark", "", "", "phone", Device{"Lark", "Phone", "Lark phone", "phone", ""}},
		{"", "", "", "phone", Device{"", "Phone", "phone", "phone", ""}},
		{"Lark", "", "unknown", "", Device{"Lark", "", "Lark", "", ""}},
		{"Unknown", "", "Unknown", "laptop", Device{"", "Laptop", "laptop", "laptop", ""}},
		{"Lark Ltd.", "", "7", "", Device{"Lark", "", "Lark 7", "", ""}},
		{"", "", "Lark 7 64GB", "", Device{"", "Lark", "Lark 7", "", "64GB"}},
		{"Lark", "", "Lark", "phone", Device{"Lark", "Phone", "Lark phone", "phone", ""}},
		{"", "", "", "", Device{}},
	}
	for _, tt := range tests {
		if got := f.Fold(tt.maker, tt.family, tt.model, tt.class); got != tt.want {
			t.Errorf("Fold(%q, %q, %q, %q)\n got %+v\nwant %+v", tt.maker, tt.family, tt.model, tt.class, got, tt.want)
		}
	}
}
