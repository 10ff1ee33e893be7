package schemas

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func notesFile(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "notes.toml")
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestLoadNotes(t *testing.T) {
	lexicon, err := BuiltinLexicon()
	if err != nil {
		t.Fatal(err)
	}
	notes, err := LoadNotes(notesFile(t, "[[note]]\nmodel = \"Lark P4\"\ntext = \"clips break\"\nshare = true\n\n[[note]]\ncomponent = \"battery\"\ntext = \"pull tabs\"\n"), lexicon)
	if err != nil || len(notes) != 2 || !notes[0].Share || notes[1].Share || notes[1].Component != "battery" {
		t.Fatalf("got %+v, %v", notes, err)
	}
	if notes, err := LoadNotes("", lexicon); err != nil || notes != nil {
		t.Errorf("no file: %v, %v", notes, err)
	}
	for text, want := range map[string]string{
		"[[note]]\nmodel = \"Lark P4\"\n":                                                  `note 1: key "text" is missing`,
		"[[note]]\ntext = \"x\"\n":                                                         "want a model, a family or a component",
		"[[note]]\ncomponent = \"batery\"\ntext = \"x\"\n":                                 `did you mean "battery"?`,
		"[[note]]\nmodle = \"Lark P4\"\ntext = \"x\"\n":                                    `2:1: unknown key "note.modle"; did you mean "note.model"?`,
		"[[note]]\nmodel = \"x\"\ntext = \"" + strings.Repeat("y", longestNote+1) + "\"\n": "want at most 500",
	} {
		if _, err := LoadNotes(notesFile(t, text), lexicon); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, want %q", text, err, want)
		}
	}
	if _, err := LoadNotes(filepath.Join(t.TempDir(), "none.toml"), lexicon); err == nil {
		t.Error("a missing file is no error")
	}
}

func TestNoteAbout(t *testing.T) {
	seen := []string{"battery", "hinge"}
	for _, tc := range []struct {
		note Note
		want bool
	}{
		{Note{Model: "lark p4"}, true},
		{Note{Model: "Lark P5"}, false},
		{Note{Family: "P"}, true},
		{Note{Family: "P", Model: "Lark P5"}, false},
		{Note{Component: "hinge"}, true},
		{Note{Component: "fan"}, false},
		{Note{Model: "Lark P4", Component: "fan"}, false},
	} {
		if got := tc.note.About("Lark P4", "p", seen); got != tc.want {
			t.Errorf("%+v: %v", tc.note, got)
		}
	}
}
