package models

import (
	"fmt"
	"strings"
	"testing"

	"faultgrain/ingest/cells"

	"pgregory.net/rapid"
)

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
		{"Lark Tab S 10.1", "Lark", []string{"Tab S 10.1", `tab s 10,1" 64GB`}}, // a letter belongs to no decimals
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

func TestShopsOwnModels(t *testing.T) {
	c, err := parseConfig("models.toml", []byte(`
drop = ["demo unit"]
keep = ["Lark 7 Red", "8 64GB"]
colours = ["sunset"]
not_colours = ["mint"]

[makers]
"Lark Mobile" = "Lark"
"LK" = "Lark"

[[model]]
name = "Lark 9 Plus"
maker = "Lark"
family = "Nines"
class = "phone"
aliases = ["LK-909", "nine plus"]
`))
	if err != nil {
		t.Fatal(err)
	}
	f, err := New(c)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ maker, model, want string }{
		{"Lark", "7 demo unit", "Lark 7"},
		{"Lark", "7 sunset", "Lark 7"},
		{"Lark", "7 mint", "Lark 7 Mint"},
		{"Lark", "7 Red", "Lark 7 Red"},
		{"Lark", "7 red EU", "Lark 7 Red"},
		{"Lark", "7 Red 64GB", "Lark 7 Red"},
		{"Lark", "7 blue", "Lark 7"},
		{"Lark", "8 64GB", "Lark 8 64GB"},
		{"Lark", "8 64GB black", "Lark 8 64GB"},
		{"Lark", "8 128GB", "Lark 8"},
		{"lark mobile", "7", "Lark 7"},
		{"LK", "Lark Mobile 7", "Lark 7"},
		{"", "lk 7 black", "Lark 7"},
		{"Lark", "LK-909", "Lark 9 Plus"},
		{"", "lk909", "Lark 9 Plus"},
		{"Lark", "lk 909 64GB black", "Lark 9 Plus"},
		{"Lark", "Nine Plus gold", "Lark 9 Plus"},
		{"Finch", "nine plus", "Finch Nine Plus"},
	} {
		if got := f.Fold(tt.maker, "", tt.model, ""); got.Model != tt.want {
			t.Errorf("Fold(%q, %q) = %q, want %q", tt.maker, tt.model, got.Model, tt.want)
		}
	}
	if got := f.Fold("", "", "LK909", ""); got.Maker != "Lark" || got.Family != "Nines" || got.Class != "phone" {
		t.Errorf("alias gives %+v", got)
	}
}

func TestModelsFileSaysWhatIsWrong(t *testing.T) {
	for text, want := range map[string]string{
		"color = [\"x\"]":             `did you mean "colours"`,
		"[[model]]\nmaker = \"Lark\"": `key "name" is missing`,
		"[[model]]\nname = \"Lark 7\"\naliases = [\"L7\"]\n[[model]]\nname = \"Lark 8\"\naliases = [\"l 7\"]": `already a name of "Lark 7"`,
		"[[model]]\nname = \"Lark 7\"\nalias = [\"L7\"]":                                                      `did you mean "model.aliases"`,
		"[makers]\n\"Lark Mobile\" = \"\"":                                                                    "want two names",
	} {
		if _, err := parseConfig("models.toml", []byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v, want %q", text, err, want)
		}
	}
}

// name draws a model's name from words that tell models apart.
func name(t *rapid.T) []string {
	words := []string{rapid.SampledFrom([]string{"Nova", "Tab", "Note", "Book", "Air", "Z"}).Draw(t, "line")}
	if rapid.Bool().Draw(t, "numbered") {
		words = append(words, fmt.Sprint(rapid.IntRange(1, 99).Draw(t, "number")))
	}
	if rapid.Bool().Draw(t, "tailed") {
		words = append(words, rapid.SampledFrom([]string{"Plus", "Pro", "Pro Max", "Mini", "Lite", "SE", "FE", "Ultra", "5G", "2024", "2026", "XL"}).Draw(t, "tail"))
	}
	return words
}

// What is added to a name and tells nothing folds away; nothing else changes.
func TestNoiseFoldsAndNothingElse(t *testing.T) {
	f, err := New(nil)
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		words := name(t)
		plain := f.Fold("Lark", "", strings.Join(words, " "), "").Model
		if want := "Lark " + strings.Join(words, " "); cells.Key(plain) != cells.Key(want) {
			t.Fatalf("%q folds to %q", want, plain)
		}
		noise := rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"64GB", "128 GB", "1TB", "black", "Space Grey", "dunkelblau", "rosé", "azul claro", "midnight green"}), 0, 3, rapid.ID[string]).Draw(t, "noise")
		spelled := strings.Join(append(append([]string{}, words...), noise...), rapid.SampledFrom([]string{" ", "  ", " - ", ", "}).Draw(t, "gap"))
		if rapid.Bool().Draw(t, "maker") {
			spelled = "LARK " + spelled
		}
		if rapid.Bool().Draw(t, "upper") {
			spelled = strings.ToUpper(spelled)
		}
		for _, n := range noise {
			if n == "rosé" { // no colour of ours
				return
			}
		}
		if got := f.Fold("lark", "", spelled, "").Model; got != plain {
			t.Fatalf("%q folds to %q, want %q", spelled, got, plain)
		}
	})
}

// Two names that differ in a word or number that tells models apart never fold together.
func TestDifferentNamesStayApart(t *testing.T) {
	f, err := New(nil)
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := strings.Join(name(t), " "), strings.Join(name(t), " ")
		same := f.Fold("Lark", "", a, "").Model == f.Fold("Lark", "", b, "").Model
		if same != (a == b) {
			t.Fatalf("%q and %q: same model %v", a, b, same)
		}
	})
}

func digits(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, s)
}

// Folding what is folded changes nothing, and digits go only with a storage size that is said to be dropped.
func FuzzFold(f *testing.F) {
	for _, s := range []string{"Lark 7 64GB black", "7+", "SM-G960F/EU", "Tab 10,1 Zoll (7th gen)", "8/128GB", "7 red S", "+", "((", "7 S 9", "a1b2c3", "é 7"} {
		f.Add("Lark", "", s, "phone")
	}
	f.Add("L", "Nova", "L 7", "")
	f.Add("1\u0351TF", "", "é A", "phone")
	f.Add("tt0AAAA", "", "7", "phone")
	f.Add("", "", "6\u0345Ե", "")                // in capitals the mark is a letter
	f.Add("0,8\tC", "", "*", "phone")            // decimals and a letter
	f.Add("", "", "00000000\xd7000000", "phone") // zeros alone tell nothing
	folder, err := New(nil)
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, maker, family, model, class string) {
		if class != "" {
			class = "phone"
		}
		d := folder.Fold(maker, family, model, class)
		if again := folder.Fold(d.Maker, d.Family, d.Model, d.Class); !blank(d.Model) && (!strings.EqualFold(d.Model, again.Model) || d.Maker != again.Maker) { // the A of a maker N reads as "n a"
			t.Fatalf("%q %q %q %q folds to %+v, that to %+v", maker, family, model, class, d, again)
		}
		if got, want := len(digits(d.Model))+len(digits(d.Folded)), len(digits(model)); got < want && len(digits(d.Maker)) == 0 && !blank(model) {
			t.Fatalf("%q loses digits: %+v", model, d)
		}
	})
}

func BenchmarkFold(b *testing.B) {
	f, err := New(nil)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		f.Fold("Lark", "", "Lark 7 Plus 64GB space grey", "phone")
	}
}
