package schemas

import (
	"fmt"
	"os"
	"strings"
	"unicode/utf8"
)

// longestNote bounds a remark, in characters: it has to be read with a device open.
const longestNote = 500

// A Note is a remark of the shop's own about a model, a family or a component, an entry of notes.toml:
//
//	[[note]]
//	model = "Lark P4"
//	component = "back-glass"
//	text = "clips break: start at the corner by the camera"
//	share = true
//
// Several subjects narrow it: with a model and a component it stands where both are spoken of.
type Note struct {
	Model     string `toml:"model"`
	Family    string `toml:"family"`
	Component string `toml:"component"`
	Text      string `toml:"text"`
	Share     bool   `toml:"share"` // goes into a bundle for other shops; only then
}

// LoadNotes reads notes.toml; no path gives none. With a lexicon, a component it does not know is an
// error with the nearest name.
func LoadNotes(path string, lexicon *Lexicon) ([]Note, error) {
	if path == "" {
		return nil, nil
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("notes: %w", err)
	}
	var file struct {
		Note []Note `toml:"note"`
	}
	if err := DecodeTOML(path, raw, &file); err != nil {
		return nil, err
	}
	for i, n := range file.Note {
		if err := n.check(lexicon); err != nil {
			return nil, fmt.Errorf("%s: note %d: %w", path, i+1, err)
		}
	}
	return file.Note, nil
}

func (n Note) check(lexicon *Lexicon) error {
	switch {
	case strings.TrimSpace(n.Text) == "":
		return fmt.Errorf("key %q is missing: say what to know", "text")
	case utf8.RuneCountInString(n.Text) > longestNote:
		return fmt.Errorf("key %q: %d characters, want at most %d", "text", utf8.RuneCountInString(n.Text), longestNote)
	case n.Model == "" && n.Family == "" && n.Component == "":
		return fmt.Errorf("want a model, a family or a component that it is about")
	case n.Component == "" || lexicon == nil:
		return nil
	}
	if _, ok := lexicon.Components[n.Component]; !ok {
		near := ""
		if c := Nearest(n.Component, lexicon.IDs()); c != "" {
			near = fmt.Sprintf("; did you mean %q?", c)
		}
		return fmt.Errorf("key %q: no component %q%s", "component", n.Component, near)
	}
	return nil
}

// About tells whether the note is about the model (of the family) as a whole or about one of its
// components; with a component it must be among those.
func (n Note) About(model, family string, components []string) bool {
	if n.Model != "" && !strings.EqualFold(n.Model, model) || n.Family != "" && !strings.EqualFold(n.Family, family) {
		return false
	}
	if n.Component == "" {
		return true
	}
	for _, c := range components {
		if c == n.Component {
			return true
		}
	}
	return false
}
