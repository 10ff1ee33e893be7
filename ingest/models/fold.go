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
	for alias, maker := range extra.Makers {
		f.makers[cells.Key(alias)] = strings.TrimSpace(maker)
	}
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
	d := Device{Class: strings.TrimSpace(class), Maker: f.maker(maker)}
	if !cells.Blank([]byte(model)) {
		if e := f.entry(d.Maker, model); e != nil {
			return f.fromEntry(e, d, family)
		}
		tokens, dropped := f.reduce(d.Maker, model)
		if e := f.entry(d.Maker, words(tokens)); e != nil {
			d = f.fromEntry(e, d, family)
			d.Folded = strings.Join(dropped, " ")
			return d
		}
		if len(tokens) > 0 {
			d.Folded = strings.Join(dropped, " ")
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
	case d.Class != "":
		d.Family = phrase(tokenise(d.Class), false)
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
			d.Family = lead(tokenise(name), d.Maker == "")
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

// maker gives the one spelling of a maker: aliases of models.toml, else legal forms off and the fixed casing.
func (f *Folder) maker(s string) string {
	if cells.Blank([]byte(s)) {
		return ""
	}
	if to, ok := f.makers[cells.Key(s)]; ok {
		return to
	}
	for _, to := range f.makers { // a maker as models.toml spells it
		if cells.Key(to) == cells.Key(s) {
			return to
		}
	}
	tokens := tokenise(s)
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

// reduce parts a model's name and drops what tells nothing.
func (f *Folder) reduce(maker, model string) (kept []token, dropped []string) {
	tokens := withoutMaker(tokenise(model), maker)
	if f.kept(maker, tokens) {
		return tokens, nil
	}
	tokens, storageGone := dropStorage(tokens)
	tokens = inches(tokens)
	if f.kept(maker, tokens) {
		return tokens, storageGone
	}
	before := tokens
	kept, dropped = f.dropTrailing(tokens)
	if len(dropped) > 0 && f.keptPart(maker, before, kept) != nil {
		return f.keptPart(maker, before, kept), storageGone
	}
	return generations(kept), append(storageGone, dropped...)
}

// kept tells a spelling that models.toml forbids to fold.
func (f *Folder) kept(maker string, tokens []token) bool {
	if len(f.keep) == 0 {
		return false
	}
	key := cells.Key(words(tokens))
	return f.keep[key] || f.keep[cells.Key(maker)+key]
}

// keptPart gives the longest beginning of the name that models.toml forbids to fold, when it is longer
// than what would be left: "7 Red EU" is "7 Red".
func (f *Folder) keptPart(maker string, all, left []token) []token {
	for n := len(all); n > len(left); n-- {
		if f.kept(maker, all[:n]) {
			return all[:n]
		}
	}
	return nil
}

// withoutMaker takes the maker off the front of a name, however often it stands there; nothing is
// left of a name that says the maker only.
func withoutMaker(tokens []token, maker string) []token {
	key := cells.Key(maker)
	for key != "" {
		n, joined := 0, ""
		for n < len(tokens) && len(joined) < len(key) {
			joined += tokens[n].key
			n++
		}
		if joined != key {
			break
		}
		tokens = tokens[n:]
	}
	return tokens
}

// inches drops the unit of a screen size and keeps its number: 10.1", 13 inch, 15,6 Zoll.
func inches(in []token) []token {
	var out []token
	for i, t := range in {
		if i > 0 && in[i-1].number() && len(in[i-1].key) <= 3 {
			switch t.key {
			case "inch", "inches", "zoll", "pouces", "pouce", "pulgadas", "tommer", "tomme":
				continue
			}
		}
		out = append(out, t)
	}
	return out
}

// generations gives 7th gen, gen 7, 7. Generation and 7e génération one spelling: Gen 7.
func generations(in []token) []token {
	var out []token
	for i := 0; i < len(in); i++ {
		if i+1 < len(in) {
			n, unit := numberUnit(in[i].key)
			if n != "" && len(n) <= 2 && genWord(in[i+1].key) && ordinalUnit(unit) {
				out = append(out, token{text: "Gen", key: "gen"}, token{text: n, key: n})
				i++
				continue
			}
			if genWord(in[i].key) && in[i+1].number() && len(in[i+1].key) <= 2 {
				out = append(out, token{text: "Gen", key: "gen"}, in[i+1])
				i++
				continue
			}
		}
		out = append(out, in[i])
	}
	return out
}

func ordinalUnit(unit string) bool {
	switch unit {
	case "", "st", "nd", "rd", "th", "er", "e", "eme", "ste", "de", "a":
		return true
	}
	return false
}

func genWord(key string) bool {
	switch key {
	case "gen", "generation", "generacion", "generatie":
		return true
	}
	return false
}

// family spells a family's name without its maker.
func (f *Folder) family(maker, family string) string {
	if cells.Blank([]byte(family)) {
		return ""
	}
	return phrase(withoutMaker(tokenise(family), maker), maker == "")
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
	for i, t := range tokens {
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(spell(t, first && i == 0))
	}
	return b.String()
}

// words gives the tokens as written.
func words(tokens []token) string {
	out := make([]string, len(tokens))
	for i, t := range tokens {
		out[i] = t.text
	}
	return strings.Join(out, " ")
}

func join2(a, b string) string { return strings.TrimSpace(a + " " + b) }
