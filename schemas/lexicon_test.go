package schemas

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The ids that design section 4 says must exist, the two causes, and the vague one.
var wantIDs = strings.Fields(`display touch battery charge-port charger earpiece loudspeaker speaker microphone
front-camera rear-camera camera headphone-jack sim-reader memory-card-slot power-button volume-buttons home-button
buttons vibration-motor proximity-sensor fingerprint-sensor antenna wifi mainboard storage memory keyboard touchpad
hinge fan optical-drive power-supply video-port usb-port housing back-glass frame motor switch cable software
liquid drop no-power`)

func TestBuiltinLexiconHasEveryComponent(t *testing.T) {
	l, err := BuiltinLexicon()
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range wantIDs {
		c, ok := l.Components[id]
		if !ok {
			t.Errorf("no component %q", id)
			continue
		}
		if cause := id == "liquid" || id == "drop"; c.Cause != cause {
			t.Errorf("%s: cause is %v, want %v", id, c.Cause, cause)
		}
		if c.Vague != (id == "no-power") {
			t.Errorf("%s: vague is %v", id, c.Vague)
		}
		for i, lang := range c.Words.ByLanguage()[1:7] {
			if len(lang.List)+len(c.Words.Any)+len(c.Weak.ByLanguage()[i+1].List)+len(c.Hints.ByLanguage()[i+1].List) == 0 {
				t.Errorf("%s: no words in %s", id, lang.Code)
			}
		}
	}
	if len(l.Components) != len(wantIDs) {
		t.Errorf("%d components, want %d", len(l.Components), len(wantIDs))
	}
}

func TestParseLexiconSaysWhereAndWhat(t *testing.T) {
	for _, tc := range []struct{ name, file, want string }{
		{"component key", "[components.display]\nwrods.en = [\"pane\"]\n", `own.toml:2:1: unknown key "components.display.wrods"; did you mean "words"?`},
		{"language", "[components.display]\nwords.english = [\"pane\"]\n", `own.toml:2:1: unknown key "components.display.words.english"; did you mean "en"?`},
		{"table", "[component.display]\nwords.en = [\"pane\"]\n", `did you mean "components"?`},
		{"cue", "[cues]\nfien.en = [\"dandy\"]\n", `own.toml:2:1: unknown key "cues.fien"; did you mean "fine"?`},
		{"type", "[components.display]\nwords.en = \"pane\"\n", `own.toml:2:`},
		{"syntax", "[components.display\n", `own.toml:1:`},
		{"id near another", "[components.battery]\nwords.en = [\"cell\"]\n\n[components.dislpay]\nwords.en = [\"pane\"]\n", `own.toml:4: component "dislpay": did you mean "display"?`},
		{"id form", "[components.\"Front Glass\"]\nwords.en = [\"pane\"]\n", `component "Front Glass": an id is small letters`},
		{"unless", "[components.propeller]\nunless = [\"moter\"]\n", `own.toml:2: component "propeller" names "moter", which is no component; did you mean "motor"?`},
		{"beside", "[components.propeller]\nbeside = [\"moter\"]\n", `own.toml:2: component "propeller" names "moter", which is no component; did you mean "motor"?`},
		{"pair", "[components.speaker]\npair = [\"earpiece\"]\n", `pair wants two ids, found 1`},
		{"on", "[components.propeller]\non = {drone = \"moter\"}\n", `own.toml:2: component "propeller" names "moter", which is no component; did you mean "motor"?`},
		{"empty phrase", "[components.display]\nwords.en = [\" - \"]\n", `own.toml:2: component "display": phrase " - " has no letter or digit`},
	} {
		base, err := BuiltinLexicon()
		if err != nil {
			t.Fatal(err)
		}
		_, err = base.MergeFile("own.toml", []byte(tc.file))
		if err == nil {
			t.Errorf("%s: no error, want %q", tc.name, tc.want)
			continue
		}
		if !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: error %q, want it to hold %q", tc.name, err, tc.want)
		}
	}
}

func TestMerge(t *testing.T) {
	path := filepath.Join(t.TempDir(), "own.toml")
	file := `
remove = ["screen protector"]

[components.propeller]
name = "propeller"
words.en = ["propeller", "rotor blade"]

[components.display]
words.en = ["pane", "deck"]
remove = ["glass"]

[components.speaker]
words.any = ["squawker"]

[components.hinge]
off = true

[components.touchpad]
on = {console = "buttons"}

[components.charger]
off = true

[components.motors]
new = true
words.en = ["motor pod"]

[cues]
fine.en = ["tip top"]
`
	if err := os.WriteFile(path, []byte(file), 0o600); err != nil {
		t.Fatal(err)
	}
	l, err := LoadLexicon(path)
	if err != nil {
		t.Fatal(err)
	}
	has := func(list []string, w string) bool { return slices.Contains(list, w) }
	for _, tc := range []struct {
		what string
		ok   bool
	}{
		{"new component", has(l.Components["propeller"].Words.EN, "rotor blade")},
		{"added word", has(l.Components["display"].Words.EN, "pane")},
		{"kept word", has(l.Components["display"].Words.EN, "screen")},
		{"removed word", !has(l.Components["display"].Words.EN, "glass")},
		{"removed in one component only", has(l.Components["display"].Words.DE, "Bildschirm")},
		{"what it is on a class", l.On()["console"]["touchpad"] == "buttons" && l.On()["phone"]["touchpad"] == ""},
		{"kept for a class", l.On()["phone"]["usb-port"] == "charge-port"},
		{"not one that is off", l.On()["phone"]["power-supply"] == ""},
		{"component off", l.Components["hinge"].Name == ""},
		{"near id that is meant", has(l.Components["motors"].Words.EN, "motor pod")},
		{"added cue", has(l.Cues.Fine.EN, "tip top") && has(l.Cues.Fine.EN, "ok")},
		{"removed ignored phrase", !has(l.Ignore.EN, "screen protector")},
	} {
		if !tc.ok {
			t.Errorf("%s: not so after the merge", tc.what)
		}
	}
}

// A phrase the shop gives to one component leaves the one it was built into.
func TestMergeMovesAPhrase(t *testing.T) {
	base, err := BuiltinLexicon()
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Contains(base.Components["keyboard"].Words.DE, "Tasten") {
		t.Fatal("the test needs Tasten as a built-in word of the keyboard")
	}
	l, err := base.MergeFile("own.toml", []byte("[components.buttons]\nwords.de = [\"tasten\"]\n"))
	if err != nil {
		t.Fatal(err)
	}
	if slices.Contains(l.Components["keyboard"].Words.DE, "Tasten") || !slices.Contains(l.Components["buttons"].Words.DE, "tasten") {
		t.Error("tasten did not move to buttons")
	}
	if !slices.Contains(base.Components["keyboard"].Words.DE, "Tasten") {
		t.Error("the merge changed the lexicon it started from")
	}
}

func TestLoadLexiconNamesAMissingFile(t *testing.T) {
	if _, err := LoadLexicon(filepath.Join(t.TempDir(), "none.toml")); err == nil || !strings.Contains(err.Error(), "none.toml") {
		t.Errorf("error %v, want one that names none.toml", err)
	}
}

func TestFoldPhrase(t *testing.T) {
	for _, tc := range [][2]string{
		{"Écran  tactile", "ecran tactile"}, {"HÖRMUSCHEL", "hormuschel"}, {"Größe", "grosse"}, {"højttaler", "hojttaler"},
		{"skærm", "skaerm"}, {"doesn't", "doesnt"}, {"USB-C / micro", "usb c micro"}, {"cœur", "coeur"}, {" - ", ""},
		{"e\u0301cran", "ecran"}, {"экран", "экран"},
	} {
		if got := FoldPhrase(tc[0]); got != tc[1] {
			t.Errorf("FoldPhrase(%q) = %q, want %q", tc[0], got, tc[1])
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "phrase")
		once := FoldPhrase(s)
		if twice := FoldPhrase(once); twice != once {
			t.Fatalf("%q folds to %q and that to %q", s, once, twice)
		}
	})
}

func FuzzParseLexicon(f *testing.F) {
	f.Add("[components.display]\nwords.en = [\"pane\"]\n")
	f.Add("remove = [\"x\"]\n[cues]\nfine.en = [\"ok\"]\n")
	f.Add("[components.a-b]\noff = true\n[components.display]\npair = [\"battery\", \"touch\"]\n")
	base, err := BuiltinLexicon()
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, file string) {
		l, err := base.MergeFile("own.toml", []byte(file))
		if err == nil && l == nil {
			t.Fatal("no lexicon and no error")
		}
		if err != nil && !strings.Contains(err.Error(), "own.toml") {
			t.Fatalf("error without the file's name: %v", err)
		}
	})
}
