package models

import "testing"

// Names that differ in their accents alone fold to the spelling that is written with accents most often.
func TestAccentsFold(t *testing.T) {
	plain, err := New(nil)
	if err != nil {
		t.Fatal(err)
	}
	var a, b Accents
	for _, name := range []string{"Möwe 3", "Möwe 4", "Lark 7", "Ætna"} {
		a.Add([]byte(name))
	}
	for _, name := range []string{"Mòwe 3", "Étoile", "étoile 5 (64GB)"} {
		b.Add([]byte(name))
	}
	a.Merge(&b)
	f := plain.WithAccents(&a)
	for _, tc := range []struct{ maker, model, want string }{
		{"", "Mowe 3", "Möwe 3"},
		{"", "MÖWE 3", "Möwe 3"},
		{"", "Moewe 3", "Möwe 3"},
		{"", "Mòwe3", "Möwe 3"},
		{"Etoile", "5", "Étoile 5"},
		{"ETOILE", "Etoile 5 64GB", "Étoile 5"},
		{"", "Lark 7", "Lark 7"},
		{"", "Lärk 7", "Lärk 7"}, // no log of these writes it
	} {
		d := f.Fold(tc.maker, "", tc.model, "")
		if d.Model != tc.want {
			t.Errorf("%q %q: folded to %q, want %q", tc.maker, tc.model, d.Model, tc.want)
		}
		if again := f.Fold(d.Maker, d.Family, d.Model, d.Class); again.Model != d.Model || again.Maker != d.Maker {
			t.Errorf("%q folds to %q", d.Model, again.Model)
		}
	}
	if got := plain.Fold("", "", "Mowe 3", "").Model; got != "Mowe 3" {
		t.Errorf("without accents counted: %q", got)
	}
}
