package models

import (
	"sort"
	"strings"

	"faultgrain/ingest/cells"
)

// maker gives the one spelling of a maker: aliases of models.toml, else legal forms off and the fixed casing.
func (f *Folder) maker(s string) string {
	var seen spellings
	for !seen.settled(s) {
		s = f.spelledMaker(f.accented(s))
	}
	return s
}

func (f *Folder) spelledMaker(s string) string {
	if cells.Blank([]byte(s)) {
		return ""
	}
	if to, ok := f.makers[cells.Key(s)]; ok {
		return to
	}
	tokens := join(tokenise(s))
	for len(tokens) > 1 && legalForm(tokens[len(tokens)-1].key) {
		tokens = tokens[:len(tokens)-1]
	}
	out := phrase(tokens, true)
	if to, ok := f.makers[cells.Key(out)]; ok {
		return to
	}
	switch cells.Key(out) {
	case "other", "various", "generic", "noname", "unbranded", "diverse", "sonstige", "andere", "autre", "autres", "divers", "overig", "overige", "anders", "otro", "otros", "otra", "andet", "andre":
		return ""
	}
	return out
}

func legalForm(key string) bool {
	switch key {
	case "inc", "ltd", "llc", "gmbh", "ag", "co", "corp", "corporation", "limited", "sa", "sas", "sarl", "srl", "spa", "bv", "nv", "plc", "kg", "aps", "as", "ab", "oy", "company":
		return true
	}
	return false
}

// nameMakers keys the makers of models.toml by their other names and by their own.
func (f *Folder) nameMakers(c *Config) {
	aliases := make([]string, 0, len(c.Makers))
	for a := range c.Makers {
		aliases = append(aliases, a)
	}
	sort.Strings(aliases)
	for _, a := range aliases {
		maker := strings.Join(strings.Fields(c.Makers[a]), " ")
		if f.makers[cells.Key(maker)] == "" {
			f.makers[cells.Key(maker)] = maker
		}
	}
	for _, a := range aliases {
		f.makers[cells.Key(a)] = f.makers[cells.Key(c.Makers[a])]
	}
	for key := range f.makers {
		f.longestMaker = max(f.longestMaker, len(key))
	}
}
