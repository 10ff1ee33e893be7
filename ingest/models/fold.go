package models

import (
	"strings"

	"faultgrain/ingest/cells"
)

// Device is a device's place in the tree of makers, families and models, one spelling each.
type Device struct {
	Maker  string // empty when the log does not tell
	Family string // the model line without its maker; empty when nothing tells it
	Model  string // "Maker Model", the maker never doubled; else the family, the maker with the class, the class
	Class  string // as given; from models.toml when the log has none
	Folded string // what was dropped from the model's name, as it was written; empty when nothing was
}

// Folder folds names. It is immutable and safe for concurrent use.
type Folder struct {
	colours, shades, regions, regionWords, dropped, notColours map[string]bool
	keep                                                       map[string]bool   // keys of folds that are forbidden
	makers                                                     map[string]string // key -> maker
	models                                                     map[string]*Entry // key -> entry
	accents                                                    map[string]string // key of a word -> its accented spelling
	longestMaker                                               int               // bytes of the longest key of makers
}

// New merges a shop's own models over the built-in lists; nil adds none.
func New(extra *Config) (*Folder, error) {
	base, err := builtin()
	if err != nil {
		return nil, err
	}
	if extra == nil {
		extra = &Config{}
	}
	if err := extra.check(); err != nil {
		return nil, err
	}
	f := &Folder{
		colours: keys(map[string]bool{}, base.Colours, extra.Colours), shades: keys(map[string]bool{}, base.Shades, extra.Shades),
		regions: keys(map[string]bool{}, base.Regions, extra.Regions), regionWords: keys(map[string]bool{}, base.RegionWords, extra.RegionWords),
		dropped: keys(map[string]bool{}, base.Drop, extra.Drop), notColours: keys(map[string]bool{}, extra.NotColours),
		keep: map[string]bool{}, makers: map[string]string{}, models: map[string]*Entry{},
	}
	for k := range f.notColours {
		for _, list := range []map[string]bool{f.colours, f.shades, f.regions, f.regionWords} {
			delete(list, k)
		}
	}
	f.nameMakers(extra)
	for i := range extra.Models {
		e := &extra.Models[i]
		f.models[cells.Key(e.Name)] = e
		for _, a := range e.Aliases {
			f.models[cells.Key(a)] = e
		}
		if e.Maker != "" { // the names hold with and without their maker
			for _, a := range append([]string{e.Name}, e.Aliases...) {
				if k := cells.Key(e.Maker + a); f.models[k] == nil {
					f.models[k] = e
				}
			}
		}
	}
	for _, k := range extra.Keep {
		f.keep[cells.Key(k)] = true
	}
	return f, nil
}

// Fold gives a device its one spelling. It depends on its arguments alone, and folding a folded
// device changes nothing. All arguments are text of the log (class: a class word); blank ones are "".
func (f *Folder) Fold(maker, family, model, class string) Device {
	model = f.accented(model)
	d := Device{Class: strings.TrimSpace(class), Maker: f.maker(maker)}
	if !blank(model) {
		if d.Maker == "" {
			d.Maker = f.namedMaker(model)
		}
		if e := f.entry(d.Maker, model); e != nil {
			return f.fromEntry(e, d, family)
		}
		tokens, dropped := f.reduce(d.Maker, model)
		if e := f.reducedEntry(d.Maker, tokens, model); e != nil {
			d = f.fromEntry(e, d, family)
			d.Folded = strings.Join(dropped, " ")
			return d
		}
		d.Folded = strings.Join(dropped, " ")
		if len(tokens) > 0 {
			d.Model = join2(d.Maker, phrase(tokens, d.Maker == ""))
			d.Family = f.family(d.Maker, family)
			if d.Family == "" {
				d.Family = lead(tokens, d.Maker == "")
			}
			return d
		}
	}
	d.Family = f.family(d.Maker, family)
	switch {
	case d.Family != "":
		d.Model = join2(d.Maker, d.Family)
		if left, gone := f.reduce(d.Maker, d.Family); len(left) > 0 { // as it would be read where it stood as a model
			d.Model = join2(d.Maker, phrase(left, d.Maker == ""))
			d.Folded = strings.TrimSpace(d.Folded + " " + strings.Join(gone, " "))
		}
	case d.Class != "":
		d.Family = phrase(join(tokenise(d.Class)), false)
		d.Model = join2(d.Maker, d.Class)
	default:
		d.Model = d.Maker
	}
	return d
}

// entry finds a model of models.toml by name or alias, with or without its maker.
func (f *Folder) entry(maker, model string) *Entry {
	if len(f.models) == 0 {
		return nil
	}
	key := cells.Key(model)
	if e := f.models[key]; e != nil && key != "" {
		if e.Maker == "" || maker == "" || cells.Key(f.maker(e.Maker)) == cells.Key(maker) {
			return e
		}
	}
	if e := f.models[cells.Key(maker+model)]; e != nil && key != "" {
		return e
	}
	return nil
}

// reducedEntry finds a model of models.toml by what is left of a name, also with the maker's other
// name that models.toml may hold to be part of it.
func (f *Folder) reducedEntry(maker string, left []token, model string) *Entry {
	if len(f.models) == 0 {
		return nil
	}
	if e := f.entry(maker, words(left)); e != nil {
		return e
	}
	whole, _ := f.dropAll("", join(tokenise(model)))
	return f.entry(maker, words(whole))
}

func (f *Folder) fromEntry(e *Entry, d Device, family string) Device {
	if e.Maker != "" {
		d.Maker = f.maker(e.Maker)
	}
	if e.Class != "" && d.Class == "" {
		d.Class = e.Class
	}
	name := strings.Join(strings.Fields(e.Name), " ")
	if rest, ok := cutMaker(name, d.Maker); ok {
		name = rest
	}
	d.Model = join2(d.Maker, name)
	switch {
	case e.Family != "":
		d.Family = e.Family
	default:
		if d.Family = f.family(d.Maker, family); d.Family == "" {
			d.Family = lead(join(tokenise(name)), d.Maker == "")
		}
	}
	return d
}

// cutMaker takes the maker off the front of a name as it is written in models.toml.
func cutMaker(name, maker string) (string, bool) {
	fields, own := strings.Fields(name), len(strings.Fields(maker))
	if maker == "" || len(fields) <= own || cells.Key(strings.Join(fields[:own], "")) != cells.Key(maker) {
		return name, false
	}
	return strings.Join(fields[own:], " "), true
}

// namedMaker gives the maker of models.toml that a model's name starts with; empty when none does.
func (f *Folder) namedMaker(model string) string {
	if len(f.makers) == 0 {
		return ""
	}
	tokens := tokenise(model)
	n := f.leadingMaker(tokens, 0, func(key string) bool { return f.makers[key] != "" })
	return f.makers[cells.Key(words(tokens[:n]))]
}

// blank tells a name that says nothing.
func blank(s string) bool {
	if cells.Blank([]byte(s)) {
		return true
	}
	switch cells.Key(s) {
	case "", "unknownmodel", "modelunknown", "nomodel", "notspecified", "notstated", "unspecified", "various", "misc", "other", "tbc",
		"unbekanntesmodell", "modellunbekannt", "keinmodell", "modeleinconnu", "modelonbekend", "onbekendmodel", "modelodesconocido", "ukendtmodel", "diverse":
		return true
	}
	return false
}

// withoutMaker takes the maker and its other names off the front of a name, however often they stand
// there; nothing is left of a name that says the maker only.
func (f *Folder) withoutMaker(tokens []token, maker string) []token {
	own := cells.Key(maker)
	for own != "" {
		n := f.leadingMaker(tokens, len(own), func(key string) bool { return key == own || cells.Key(f.makers[key]) == own })
		if n == 0 {
			break
		}
		tokens = tokens[n:]
	}
	return join(tokens)
}

// leadingMaker counts the tokens at the front that together are a maker's name; the longest wins. longest is the length of
// a key it may be besides those of models.toml, in bytes.
func (f *Folder) leadingMaker(tokens []token, longest int, is func(key string) bool) int {
	joined, n := "", 0
	for i, t := range tokens {
		if joined += t.key; len(joined) > max(longest, f.longestMaker) {
			break
		}
		if is(joined) {
			n = i + 1
		}
	}
	return n
}

// family spells a family's name without its maker.
func (f *Folder) family(maker, family string) string {
	if blank(family) {
		return ""
	}
	var seen spellings
	for !seen.settled(family) {
		family = phrase(f.withoutMaker(tokenise(f.accented(family)), maker), maker == "")
	}
	return family
}

// lead gives the words of a model before its first number; empty when it starts with one.
func lead(tokens []token, first bool) string {
	n := 0
	for n < len(tokens) && !tokens[n].digits() {
		n++
	}
	return phrase(tokens[:n], first)
}

// phrase spells tokens; first tells that the name's first word is the maker's place.
func phrase(tokens []token, first bool) string {
	var b strings.Builder
	if first && len(tokens) > 1 { // three letters in front of words are a word: Ice Watch
		first = false
		for _, t := range tokens[1:] {
			first = first || t.digits()
		}
	}
	for i, t := range tokens {
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(spell(t, first && i == 0))
	}
	return b.String()
}

// words gives the tokens as written.
func words(tokens []token) string { return strings.Join(texts(tokens), " ") }

func texts(tokens []token) []string {
	out := make([]string, len(tokens))
	for i, t := range tokens {
		out[i] = t.text
	}
	return out
}

func join2(a, b string) string { return strings.TrimSpace(a + " " + b) }
