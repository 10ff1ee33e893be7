package lexicon

import (
	"strings"
	"testing"

	"faultgrain/schemas"
)

// A shop's own file gives the reader components, words and cues of its own.
func TestOwnComponents(t *testing.T) {
	base, err := schemas.BuiltinLexicon()
	if err != nil {
		t.Fatal(err)
	}
	lex, err := base.MergeFile("own.toml", []byte(`
[components.propeller]
words.en = ["propeller", "rotor blade"]
words.de = ["Propeller", "Rotor Blatt"]

[components.gimbal]
words.any = ["gimbal"]
symptoms.en = ["shaky video"]
unless = ["propeller"]

[components.display]
words.en = ["pane"]
remove = ["glass"]

[components.hinge]
off = true

[cues]
fine.en = ["tip top"]
`))
	if err != nil {
		t.Fatal(err)
	}
	r, err := New(lex)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range [][2]string{
		{"two propellers chipped", "propeller"},
		{"Rotorblätter verbogen, Rotorblatt fehlt", "propeller"},
		{"propelller bent", "propeller"},
		{"shaky video", "gimbal"},
		{"shaky video, propeller chipped", "propeller"},
		{"gimbal tip top, pane cracked", "display"},
		{"glass", ""},
		{"hinge broken", ""},
	} {
		check(t, r, Text, c[0], c[1])
	}
}

func TestNewRefusesAPhraseOfTwoMeanings(t *testing.T) {
	for _, tc := range []struct{ file, want string }{
		{"[components.a1]\nwords.en = [\"blob\"]\n[components.b1]\nweak.en = [\"Blob\"]\n", `phrase "Blob" stands in components.a1.words and in components.b1.weak; keep one`},
		{"[components.a1]\nwords.en = [\"blob of the thing\"]\n[components.b1]\nwords.en = [\"blob thing\"]\n", `are the same but for fillers and mean two things`},
	} {
		base, err := schemas.BuiltinLexicon()
		if err != nil {
			t.Fatal(err)
		}
		lex, err := base.MergeFile("own.toml", []byte(tc.file))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := New(lex); err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("error %v, want %q", err, tc.want)
		}
	}
}
