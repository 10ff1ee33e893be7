package lexicon

import (
	"slices"
	"testing"

	"faultgrain/schemas"

	"pgregory.net/rapid"
)

// Names tells of any text what Read tells of it.
func TestNamesAgreesWithRead(t *testing.T) {
	lex, err := schemas.BuiltinLexicon()
	if err != nil {
		t.Fatal(err)
	}
	r, err := New(lex)
	if err != nil {
		t.Fatal(err)
	}
	word := rapid.SampledFrom([]string{"display", "screen", "battery", "both", "speakers", "loudspeaker", "ok", "broken", "not", "dropped",
		"water", "damage", "since", "last", "year", "replaced", "own", "charger", ",", ".", "Saturday", "Ladebuchse", "batery", "wobblestick", "and"})
	rapid.Check(t, func(t *rapid.T) {
		text := ""
		for _, w := range rapid.SliceOfN(word, 0, 12).Draw(t, "words") {
			text += w + " "
		}
		kind := rapid.SampledFrom([]Kind{Part, Found, Text}).Draw(t, "kind")
		want, got := r.Read(text, kind), r.Names(text, kind)
		component := false
		for _, m := range want.Matches {
			component = component || m.Counted && !m.Cause
		}
		if !slices.Equal(got.Components, want.Components) || got.Component != component || got.Mentioned != (len(want.Matches) > 0) {
			t.Fatalf("%q as %v: %+v, but Read says %+v", text, kind, got, want)
		}
	})
}
