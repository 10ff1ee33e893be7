package models

import (
	_ "embed"
	"errors"
	"fmt"
	"os"
	"sort"
	"strings"

	"faultgrain/ingest/cells"
	"faultgrain/schemas"
)

// Config is models.toml: a shop's own words and models, merged over the built-in ones.
//
//	drop = ["demo unit"]           # words that say nothing about a model
//	keep = ["Lark 7 Red"]          # folds to forbid: these spellings stay models of their own
//	colours = ["sunset"]           # more colours; also shades, regions, region_words
//	not_colours = ["mint"]         # words of the built-in lists that are no such thing here
//
//	[makers]                       # other names of a maker
//	"Lark Mobile" = "Lark"
//
//	[[model]]                      # a model, its other names, and what it is
//	name = "Lark 7 Plus"
//	maker = "Lark"                 # family and class likewise; each optional
//	aliases = ["LK-707", "Lark seven plus"]
type Config struct {
	Colours     []string          `toml:"colours"`
	Shades      []string          `toml:"shades"`
	Regions     []string          `toml:"regions"`
	RegionWords []string          `toml:"region_words"`
	Drop        []string          `toml:"drop"`
	Keep        []string          `toml:"keep"`
	NotColours  []string          `toml:"not_colours"`
	Makers      map[string]string `toml:"makers"`
	Models      []Entry           `toml:"model"`
}

// Entry is one model of models.toml.
type Entry struct {
	Name    string   `toml:"name"`
	Maker   string   `toml:"maker"`
	Family  string   `toml:"family"`
	Class   string   `toml:"class"`
	Aliases []string `toml:"aliases"`
}

//go:embed models.toml
var modelsTOML []byte

// LoadConfig reads a shop's models.toml; an empty path gives the empty config. Unknown keys and
// entries without a name are errors with file and line or entry.
func LoadConfig(path string) (*Config, error) {
	if path == "" {
		return &Config{}, nil
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("models file: %w", err)
	}
	return parseConfig(path, raw)
}

func parseConfig(name string, raw []byte) (*Config, error) {
	c := &Config{}
	if err := schemas.DecodeTOML(name, raw, c); err != nil {
		return nil, err
	}
	if err := c.check(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return c, nil
}

func (c *Config) check() error {
	var errs []error
	owner := map[string]string{}
	for i, e := range c.Models {
		if cells.Key(e.Name) == "" {
			errs = append(errs, fmt.Errorf("model %d: key %q is missing, want the model's name", i+1, "name"))
			continue
		}
		for _, a := range append([]string{e.Name}, e.Aliases...) {
			key := cells.Key(a)
			if key == "" {
				errs = append(errs, fmt.Errorf("model %q: found an empty alias, want another name of the model", e.Name))
			} else if other, ok := owner[key]; ok && other != e.Name {
				errs = append(errs, fmt.Errorf("model %q: %q is already a name of %q: take it out of one of them", e.Name, a, other))
			} else {
				owner[key] = e.Name
			}
		}
	}
	aliases := make([]string, 0, len(c.Makers))
	for a := range c.Makers {
		aliases = append(aliases, a)
	}
	sort.Strings(aliases)
	for _, a := range aliases {
		if cells.Key(a) == "" || cells.Key(c.Makers[a]) == "" {
			errs = append(errs, fmt.Errorf("makers: %q = %q: want two names", a, c.Makers[a]))
		}
	}
	return errors.Join(errs...)
}

// builtin reads the embedded lists.
func builtin() (*Config, error) { return parseConfig("models.toml", modelsTOML) }

// keys collects the keys of words, in every spelling of their accents.
func keys(into map[string]bool, lists ...[]string) map[string]bool {
	for _, list := range lists {
		for _, w := range list {
			for _, k := range cells.KeyForms(strings.TrimSpace(w)) {
				if k != "" {
					into[k] = true
				}
			}
		}
	}
	return into
}
