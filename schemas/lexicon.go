package schemas

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
)

//go:embed components.toml
var builtinLexicon []byte

// A Lexicon says which words name which component. components.toml is the built-in one and
// documents the form; a shop's own file has the same form and is merged over it.
// A Lexicon is data only: ingest/lexicon reads text with it.
type Lexicon struct {
	Components map[string]Component `toml:"components"` // by component id
	Cues       Cues                 `toml:"cues"`
	Ignore     Phrases              `toml:"ignore"`    // phrases that hold a component's word and name none
	Fillers    Phrases              `toml:"fillers"`   // words a phrase may have between its own
	Compounds  Phrases              `toml:"compounds"` // words that stand in compounds and name nothing
	Known      Phrases              `toml:"known"`     // words that are no misspelling of ours
	Remove     []string             `toml:"remove"`    // phrases taken out of the five lists above
}

// A Component is one part that can be found bad, or a cause such as liquid.
type Component struct {
	Name      string            `toml:"name"`      // as a person reads it; empty means the id
	Cause     bool              `toml:"cause"`     // what happened to the device, not a part of it
	Vague     bool              `toml:"vague"`     // a state whose cause is not told, no part: given up wherever a component is named, never ordered
	Accessory bool              `toml:"accessory"` // comes to the shop with the device: counts only with a fault or work beside it when brought
	Pair      []string          `toml:"pair"`      // the two ids "both ..." means
	On        map[string]string `toml:"on"`        // by class of device, the id it is there: the USB port of a phone is its charge port
	Unless    []string          `toml:"unless"`    // ids that explain this component's symptoms where they are read
	Beside    []string          `toml:"beside"`    // ids that do so in their own clause alone
	Words     Phrases           `toml:"words"`     // name the component
	Falls     Phrases           `toml:"falls"`     // name it too, but told of a part named just before they tell of that part: "the lens fell out"
	Both      Phrases           `toml:"both"`      // name the two of Pair at once
	Weak      Phrases           `toml:"weak"`      // name it where their clause names nothing surer
	Symptoms  Phrases           `toml:"symptoms"`  // point to it unless one of Unless is read
	Hints     Phrases           `toml:"hints"`     // point to it where nothing else at all is read
	Parts     Phrases           `toml:"parts"`     // name it in a part cell only
	Yields    Phrases           `toml:"yields"`    // what it makes ("photos"): a symptom where a word of the cues poor or shade stands beside it
	Remove    []string          `toml:"remove"`    // phrases taken away from this component
	Off       bool              `toml:"off"`       // the shop does not want this component at all
	New       bool              `toml:"new"`       // the id is meant, though it resembles another
}

// Cues are the words around a component that decide whether it counts.
type Cues struct {
	Not     Phrases `toml:"not"`     // turn the word beside them: "not ok"; directly before a component they deny it
	None    Phrases `toml:"none"`    // the same, but "no sound" means it fails
	Fine    Phrases `toml:"fine"`    // works, in order
	Clear   Phrases `toml:"clear"`   // no fault was found; also fine
	Hedge   Phrases `toml:"hedge"`   // only, partly: works, but not as it should
	Fault   Phrases `toml:"fault"`   // broken, loose
	Poor    Phrases `toml:"poor"`    // blurry, muffled: a fault, of a part and of what it makes
	Shade   Phrases `toml:"shade"`   // black, dark: a fault of what a part makes, and of nothing else
	Work    Phrases `toml:"work"`    // replaced, new
	Past    Phrases `toml:"past"`    // last year, already
	After   Phrases `toml:"after"`   // since, after
	Check   Phrases `toml:"check"`   // tested
	Brought Phrases `toml:"brought"` // came with, own
	Behind  Phrases `toml:"behind"`  // under, behind: the component is a place
	Except  Phrases `toml:"except"`  // all fine except
	And     Phrases `toml:"and"`
	But     Phrases `toml:"but"`
	Both    Phrases `toml:"both"`
}

// Phrases are words and phrases by language. Case and accents don't matter; "NOT" stands for any
// word of the cues not and none, "NUM" for any number, "percent" also for its sign; a joined, a hyphened and a spaced compound are one phrase.
type Phrases struct {
	Any []string `toml:"any"` // any language
	EN  []string `toml:"en"`
	DE  []string `toml:"de"`
	NL  []string `toml:"nl"`
	FR  []string `toml:"fr"`
	DA  []string `toml:"da"`
	ES  []string `toml:"es"`
	IT  []string `toml:"it"`
}

// ByLanguage returns the lists in a fixed order with their language codes.
func (p *Phrases) ByLanguage() []struct {
	Code string
	List []string
} {
	return []struct {
		Code string
		List []string
	}{{"any", p.Any}, {"en", p.EN}, {"de", p.DE}, {"nl", p.NL}, {"fr", p.FR}, {"da", p.DA}, {"es", p.ES}, {"it", p.IT}}
}

func (p *Phrases) lists() []*[]string {
	return []*[]string{&p.Any, &p.EN, &p.DE, &p.NL, &p.FR, &p.DA, &p.ES, &p.IT}
}

// IDs returns the component ids, sorted.
func (l *Lexicon) IDs() []string { return slices.Sorted(maps.Keys(l.Components)) }

// Causes returns the ids that are causes and no components, sorted.
func (l *Lexicon) Causes() []string {
	return slices.DeleteFunc(l.IDs(), func(id string) bool { return !l.Components[id].Cause })
}

// Vague returns the ids that only say what the device does, their cause not told, sorted.
func (l *Lexicon) Vague() []string {
	return slices.DeleteFunc(l.IDs(), func(id string) bool { return !l.Components[id].Vague })
}

// On returns, by class of device, the components that are another one there: class, id, id there.
func (l *Lexicon) On() map[string]map[string]string {
	on := map[string]map[string]string{}
	for id, c := range l.Components {
		for class, there := range c.On {
			if on[class] == nil {
				on[class] = map[string]string{}
			}
			on[class][id] = there
		}
	}
	return on
}

// Name returns how a person reads the id.
func (l *Lexicon) Name(id string) string {
	if n := l.Components[id].Name; n != "" {
		return n
	}
	return strings.ReplaceAll(id, "-", " ")
}

// BuiltinLexicon returns a fresh copy of the lexicon that comes with the program.
func BuiltinLexicon() (*Lexicon, error) {
	l, err := ParseLexicon("components.toml", builtinLexicon)
	if err != nil {
		return nil, fmt.Errorf("built-in lexicon: %w", err)
	}
	return l, l.check("components.toml", builtinLexicon, l)
}

// LoadLexicon returns the built-in lexicon with the shop's own file merged over it; no path gives
// the built-in one.
func LoadLexicon(path string) (*Lexicon, error) {
	base, err := BuiltinLexicon()
	if err != nil || path == "" {
		return base, err
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("components file: %w", err)
	}
	return base.MergeFile(path, raw)
}

// MergeFile reads a shop's own file and returns the lexicon with it merged over; l is not changed.
// Errors name the file, the line and the nearest valid name.
func (l *Lexicon) MergeFile(name string, raw []byte) (*Lexicon, error) {
	shop, err := ParseLexicon(name, raw)
	if err != nil {
		return nil, err
	}
	for _, id := range shop.IDs() {
		if _, known := l.Components[id]; known || shop.Components[id].New {
			continue
		}
		if near := nearID(id, l.IDs()); near != "" {
			return nil, fmt.Errorf("%s: component %q: did you mean %q? if it is a component of your own, add new = true",
				at(name, raw, id), id, near)
		}
	}
	merged := l.Merge(shop)
	return merged, shop.check(name, raw, merged)
}

// nearID finds an id that is probably the one meant: one slip away, or two in a long id.
func nearID(id string, ids []string) string {
	near := Nearest(id, ids)
	if near == "" || editDistance(id, near) > min(2, len(id)/4) {
		return ""
	}
	return near
}

// ParseLexicon decodes a lexicon file strictly and alone: ids it names need not exist in it.
func ParseLexicon(name string, raw []byte) (*Lexicon, error) {
	var l Lexicon
	d := toml.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	err := d.Decode(&l)
	var strict *toml.StrictMissingError
	var de *toml.DecodeError
	switch {
	case err == nil || errors.Is(err, io.EOF):
	case errors.As(err, &strict) && len(strict.Errors) > 0:
		line, col := strict.Errors[0].Position()
		return nil, fmt.Errorf("%s:%d:%d: %s", name, line, col, unknownLexiconKey(strict.Errors[0].Key()))
	case errors.As(err, &de):
		line, col := de.Position()
		return nil, fmt.Errorf("%s:%d:%d: %s", name, line, col, strings.TrimPrefix(de.Error(), "toml: "))
	default:
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	for _, id := range l.IDs() {
		if !idForm.MatchString(id) {
			return nil, fmt.Errorf("%s: component %q: an id is small letters, digits and hyphens, such as charge-port", at(name, raw, id), id)
		}
	}
	return &l, nil
}

var idForm = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)

// The keys each kind of table takes, for the nearest-name advice.
var (
	lexiconKeys    = []string{"components", "cues", "ignore", "fillers", "compounds", "known", "remove"}
	componentKeys  = []string{"name", "cause", "vague", "accessory", "pair", "on", "unless", "beside", "words", "falls", "both", "weak", "symptoms", "hints", "parts", "yields", "remove", "off", "new"}
	cueKeys        = []string{"not", "none", "fine", "clear", "hedge", "fault", "poor", "shade", "work", "past", "after", "check", "brought", "behind", "except", "and", "but", "both"}
	languageKeys   = []string{"any", "en", "de", "nl", "fr", "da", "es", "it"}
	languageByName = map[string]string{
		"english": "en", "german": "de", "deutsch": "de", "dutch": "nl", "nederlands": "nl", "french": "fr", "francais": "fr",
		"danish": "da", "dansk": "da", "dk": "da", "spanish": "es", "espanol": "es", "italian": "it", "italiano": "it",
	}
)

// unknownLexiconKey finds the first wrong name of a dotted key and the nearest right one.
func unknownLexiconKey(key []string) string {
	at, valid := 0, lexiconKeys
	for at < len(key)-1 && (valid == nil || slices.Contains(valid, key[at])) {
		switch {
		case at == 0 && key[0] == "components":
			valid = nil // an id: any name
		case at == 0 && key[0] == "cues":
			valid = cueKeys
		case at == 1 && key[0] == "components":
			valid = componentKeys
		default:
			valid = languageKeys
		}
		at++
	}
	msg := fmt.Sprintf("unknown key %q", strings.Join(key[:at+1], "."))
	near := Nearest(key[at], valid)
	if code, ok := languageByName[strings.ToLower(key[at])]; ok && slices.Equal(valid, languageKeys) {
		near = code
	}
	if near != "" {
		return msg + fmt.Sprintf("; did you mean %q?", near)
	}
	return msg + "; want one of " + strings.Join(valid, ", ")
}

// check finds ids that no component of all has, and phrases without a letter.
func (l *Lexicon) check(name string, raw []byte, all *Lexicon) error {
	for _, id := range l.IDs() {
		c := l.Components[id]
		for _, ref := range slices.Concat(c.Pair, c.Unless, c.Beside, slices.Sorted(maps.Values(c.On))) {
			if _, ok := all.Components[ref]; ok {
				continue
			}
			msg := fmt.Sprintf("%s: component %q names %q, which is no component", at(name, raw, ref), id, ref)
			if near := Nearest(ref, all.IDs()); near != "" {
				msg += fmt.Sprintf("; did you mean %q?", near)
			}
			return errors.New(msg)
		}
		if len(c.Pair) != 0 && len(c.Pair) != 2 {
			return fmt.Errorf("%s: component %q: pair wants two ids, found %d", at(name, raw, id), id, len(c.Pair))
		}
		for _, p := range c.phrases() {
			for _, list := range p.lists() {
				for _, w := range *list {
					if FoldPhrase(w) == "" {
						return fmt.Errorf("%s: component %q: phrase %q has no letter or digit", at(name, raw, w), id, w)
					}
				}
			}
		}
	}
	return nil
}

// at gives file:line of the first place that names the value, or the file alone.
func at(name string, raw []byte, value string) string {
	for i, line := range strings.Split(string(raw), "\n") {
		text := strings.TrimSpace(line)
		if strings.Contains(line, `"`+value+`"`) || strings.Contains(line, `'`+value+`'`) ||
			strings.HasPrefix(text, "[components."+value+"]") || strings.HasPrefix(text, "[components."+value+".") {
			return fmt.Sprintf("%s:%d", name, i+1)
		}
	}
	return name
}

func (c *Component) phrases() []*Phrases {
	return []*Phrases{&c.Words, &c.Falls, &c.Both, &c.Weak, &c.Symptoms, &c.Hints, &c.Parts, &c.Yields}
}

func (c *Cues) phrases() []*Phrases {
	return []*Phrases{&c.Not, &c.None, &c.Fine, &c.Clear, &c.Hedge, &c.Fault, &c.Poor, &c.Shade, &c.Work, &c.Past, &c.After, &c.Check, &c.Brought, &c.Behind,
		&c.Except, &c.And, &c.But, &c.Both}
}

func (l *Lexicon) general() []*Phrases {
	return append(l.Cues.phrases(), &l.Ignore, &l.Fillers, &l.Compounds, &l.Known)
}

// Merge returns l with shop laid over it; neither is changed. A phrase the shop gives to one
// component leaves every other place it stood in; name, pair, on, unless and beside replace where given;
// cause, vague, accessory and off can be set, not unset.
func (l *Lexicon) Merge(shop *Lexicon) *Lexicon {
	out := l.clone()
	claimed := map[string]bool{}
	claim := func(p *Phrases) {
		for _, list := range p.lists() {
			for _, w := range *list {
				claimed[FoldPhrase(w)] = true
			}
		}
	}
	for id := range shop.Components {
		c := shop.Components[id]
		for _, p := range c.phrases() {
			claim(p)
		}
	}
	for _, p := range shop.general() {
		claim(p)
	}
	removed := folded(shop.Remove)
	for _, p := range out.general() {
		p.drop(claimed)
		p.drop(removed)
	}
	for id, c := range out.Components {
		for _, p := range c.phrases() {
			p.drop(claimed)
			p.drop(folded(shop.Components[id].Remove))
		}
		out.Components[id] = c
	}
	for i, p := range shop.general() {
		out.general()[i].add(p)
	}
	out.Known.Any = append(out.Known.Any, shop.removed()...) // not read again as a form of another word
	for id, own := range shop.Components {
		c := out.Components[id]
		c.overlay(own)
		out.Components[id] = c
	}
	for id, c := range out.Components {
		if c.Off {
			delete(out.Components, id)
		}
	}
	out.dropOff(shop)
	return out
}

// removed lists every phrase the shop takes away, in order.
func (l *Lexicon) removed() []string {
	list := slices.Clone(l.Remove)
	for _, id := range l.IDs() {
		list = append(list, l.Components[id].Remove...)
	}
	return list
}

// dropOff takes components that are off out of the lists and pairs of the others.
func (l *Lexicon) dropOff(shop *Lexicon) {
	off := func(id string) bool { return shop.Components[id].Off }
	for id, c := range l.Components {
		c.Unless, c.Beside = slices.DeleteFunc(c.Unless, off), slices.DeleteFunc(c.Beside, off)
		maps.DeleteFunc(c.On, func(_, id string) bool { return off(id) })
		if slices.ContainsFunc(c.Pair, off) {
			c.Pair, c.Both = nil, Phrases{}
		}
		l.Components[id] = c
	}
}

func (c *Component) overlay(own Component) {
	if own.Name != "" {
		c.Name = own.Name
	}
	if own.Pair != nil {
		c.Pair = slices.Clone(own.Pair)
	}
	if own.Unless != nil {
		c.Unless = slices.Clone(own.Unless)
	}
	if own.Beside != nil {
		c.Beside = slices.Clone(own.Beside)
	}
	if own.On != nil {
		c.On = maps.Clone(own.On)
	}
	c.Cause = c.Cause || own.Cause
	c.Vague = c.Vague || own.Vague
	c.Accessory = c.Accessory || own.Accessory
	c.Off = own.Off
	for i, p := range own.phrases() {
		c.phrases()[i].add(p)
	}
}

func (p *Phrases) add(more *Phrases) {
	from := more.lists()
	for i, list := range p.lists() {
		*list = append(*list, *from[i]...)
	}
}

func (p *Phrases) drop(phrases map[string]bool) {
	for _, list := range p.lists() {
		*list = slices.DeleteFunc(*list, func(w string) bool { return phrases[FoldPhrase(w)] })
	}
}

func folded(list []string) map[string]bool {
	m := make(map[string]bool, len(list))
	for _, w := range list {
		m[FoldPhrase(w)] = true
	}
	return m
}

func (l *Lexicon) clone() *Lexicon {
	out := *l
	out.Components = make(map[string]Component, len(l.Components))
	for id, c := range l.Components {
		c.Pair, c.Unless, c.Beside = slices.Clone(c.Pair), slices.Clone(c.Unless), slices.Clone(c.Beside)
		c.On = maps.Clone(c.On)
		for _, p := range c.phrases() {
			p.clone()
		}
		out.Components[id] = c
	}
	for _, p := range out.general() {
		p.clone()
	}
	return &out
}

func (p *Phrases) clone() {
	for _, list := range p.lists() {
		*list = slices.Clone(*list)
	}
}

// FoldPhrase gives the form in which phrases are compared: small letters without accents, words
// parted by one space. "" when there is no letter or digit.
func FoldPhrase(s string) string {
	b := make([]byte, 0, len(s))
	for _, r := range s {
		n := len(b)
		b = AppendFolded(b, r)
		if len(b) == n && r != '\'' && r != '’' && !unicode.Is(unicode.Mn, r) && n > 0 && b[n-1] != ' ' {
			b = append(b, ' ')
		}
	}
	return string(bytes.TrimRight(b, " "))
}

// latinFold covers U+00C0 to U+017F; "-" marks what is no letter.
var latinFold = strings.Fields(`
a a a a a a ae c e e e e i i i i d n o o o o o - o u u u u y th ss
a a a a a a ae c e e e e i i i i d n o o o o o - o u u u u y th y
a a a a a a c c c c c c c c d d d d e e e e e e e e e e g g g g
g g g g h h h h i i i i i i i i i i ij ij j j k k k l l l l l l l
l l l n n n n n n n n n o o o o o o oe oe r r r r r r s s s s s s
s s t t t t t t u u u u u u u u u u u u w w y y y z z z z z z s`)

// AppendFolded appends a letter or digit as it is compared, and nothing for any other rune.
func AppendFolded(dst []byte, r rune) []byte {
	switch {
	case 'a' <= r && r <= 'z' || '0' <= r && r <= '9':
		return append(dst, byte(r))
	case 'A' <= r && r <= 'Z':
		return append(dst, byte(r-'A'+'a'))
	case r < 0xc0 || r == utf8.RuneError:
		return dst
	case r <= 0x17f:
		if f := latinFold[r-0xc0]; f != "-" {
			return append(dst, f...)
		}
		return dst
	case unicode.IsLetter(r) || unicode.IsDigit(r):
		return utf8.AppendRune(dst, unicode.ToLower(r))
	}
	return dst
}
