package lexicon

import (
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"slices"
	"strings"

	"faultgrain/schemas"
)

// New compiles a lexicon. A phrase that stands for two components, or for a component and a cue,
// is an error that names both places.
func New(lex *schemas.Lexicon) (*Reader, error) {
	b := builder{
		Reader:  &Reader{ids: lex.IDs(), trie: newTrie(), on: map[string]map[string]string{}},
		byText:  make(map[string]wordID, manyWords),
		meaning: make(map[string]string, manyWords),
		owners:  make(map[wordID][]int16, manyWords),
		heard:   map[wordID]int{},
		single:  map[wordID]bool{},
		joined:  map[uint32]bool{},
	}
	b.scratch.New = func() any { return new(scratch) }
	b.table.words = make([]word, 1)
	b.number = b.word("#", langAny, isNumber) // no word of a text has this sign
	b.percent = b.word("percent", langAny, 0)
	b.mark(&lex.Fillers, isFiller)
	if err := b.components(lex); err != nil {
		return nil, err
	}
	if err := b.cues(lex); err != nil {
		return nil, err
	}
	b.finish()
	return b.Reader, nil
}

// manyWords is how many words and phrases room is made for at first.
const manyWords = 1 << 14

type builder struct {
	*Reader
	byText  map[string]wordID
	meaning map[string]string // folded phrase -> the list that has it
	owners  map[wordID][]int16
	heard   map[wordID]int  // phrases that hold the word
	single  map[wordID]bool // words that are a phrase by themselves
	joined  map[uint32]bool // nodes that hold a phrase only as written in one word
}

func (b *builder) components(lex *schemas.Lexicon) error {
	index := func(id string) (int16, error) {
		i, ok := slices.BinarySearch(b.ids, id)
		if !ok {
			return -1, fmt.Errorf("lexicon: no component %q; did you mean %q?", id, schemas.Nearest(id, b.ids))
		}
		return int16(i), nil
	}
	for i, id := range b.ids {
		c := lex.Components[id]
		b.on[id] = c.On
		out := component{cause: c.Cause, vague: c.Vague, accessory: c.Accessory, pair: [2]int16{-1, -1}}
		for _, l := range []struct {
			ids  []string
			into *[]int16
		}{{c.Unless, &out.unless}, {c.Beside, &out.beside}} {
			for _, u := range l.ids {
				j, err := index(u)
				if err != nil {
					return err
				}
				*l.into = append(*l.into, j)
			}
		}
		for k, p := range c.Pair {
			j, err := index(p)
			if err != nil {
				return err
			}
			out.pair[k] = j
		}
		out.sides = len(c.Pair) > 0 && !slices.Contains(c.Pair, id)
		b.comps = append(b.comps, out)
		lists := []struct {
			role role
			name string
			p    *schemas.Phrases
		}{{roleWord, "words", &c.Words}, {roleWord, "falls", &c.Falls}, {roleWeak, "weak", &c.Weak}, {roleSymptom, "symptoms", &c.Symptoms},
			{roleHint, "hints", &c.Hints}, {rolePart, "parts", &c.Parts}, {roleBoth, "both", &c.Both},
			{roleYield, "yields", &c.Yields}}
		for _, l := range lists {
			if err := b.phrases(l.p, entry{role: l.role, comp: int16(i), more: -1, lone: -1, falls: l.p == &c.Falls}, "components."+id+"."+l.name); err != nil {
				return err
			}
		}
	}
	return nil
}

func (b *builder) cues(lex *schemas.Lexicon) error {
	c := &lex.Cues
	lists := []struct {
		role  role
		name  string
		p     *schemas.Phrases
		flags uint16
	}{
		{roleNot, "cues.not", &c.Not, isNot}, {roleLack, "cues.none", &c.None, isNot},
		{roleFine, "cues.fine", &c.Fine, 0}, {roleFine, "cues.clear", &c.Clear, 0}, {roleHedge, "cues.hedge", &c.Hedge, 0}, {roleFault, "cues.fault", &c.Fault, 0},
		{roleFault, "cues.poor", &c.Poor, 0}, {roleShade, "cues.shade", &c.Shade, 0}, {roleWork, "cues.work", &c.Work, 0},
		{rolePast, "cues.past", &c.Past, isPast}, {roleAfter, "cues.after", &c.After, isAfter}, {roleCheck, "cues.check", &c.Check, 0},
		{roleBrought, "cues.brought", &c.Brought, 0}, {roleBehind, "cues.behind", &c.Behind, 0},
		{roleExcept, "cues.except", &c.Except, 0}, {roleAnd, "cues.and", &c.And, isJoin}, {roleBut, "cues.but", &c.But, isJoin},
		{rolePair, "cues.both", &c.Both, 0}, {roleIgnore, "ignore", &lex.Ignore, 0},
	}
	for _, l := range lists {
		if err := b.phrases(l.p, entry{role: l.role, comp: -1, more: -1, lone: -1, clear: l.p == &c.Clear,
			poor: l.p == &c.Poor || l.p == &c.Shade}, l.name); err != nil {
			return err
		}
		if l.flags != 0 {
			b.mark(l.p, l.flags)
		}
	}
	b.mark(&schemas.Phrases{DE: c.Not.DE, NL: c.Not.NL, DA: c.Not.DA}, isTrailing)
	b.mark(&lex.Compounds, isPart)
	b.mark(&lex.Known, isPlain)
	return nil
}

// mark gives every one-word phrase of the lists a flag.
func (b *builder) mark(p *schemas.Phrases, flags uint16) {
	for lang, l := range p.ByLanguage() {
		for _, phrase := range l.List {
			if words := strings.Fields(schemas.FoldPhrase(phrase)); len(words) == 1 {
				for _, alias := range spellings(phrase) {
					b.words(alias, lang, flags)
				}
			}
		}
	}
}

// phrases enters every phrase of the lists with its other spellings.
func (b *builder) phrases(p *schemas.Phrases, e entry, from string) error {
	for lang, l := range p.ByLanguage() {
		for _, phrase := range l.List {
			key := schemas.FoldPhrase(phrase)
			if key == "" {
				return fmt.Errorf("lexicon: %s.%s: phrase %q has no letter or digit", from, l.Code, phrase)
			}
			if old, ok := b.meaning[key]; ok && old != from && !(strings.HasSuffix(old, ".hints") && e.role == roleFault) {
				return fmt.Errorf("lexicon: phrase %q stands in %s and in %s; keep one", phrase, old, from)
			}
			b.meaning[key] = from
			e.text, e.lang = phrase, uint8(lang)
			b.entries = append(b.entries, e)
			at := int32(len(b.entries) - 1)
			if hasNot(phrase) && e.role == roleWord {
				b.entries[at].role = roleSelf
			}
			for _, s := range spellings(phrase) {
				if err := b.enter(s, lang, e, at); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// enter adds one spelling, as words and, where the language writes compounds, as one word.
func (b *builder) enter(phrase string, lang int, e entry, at int32) error {
	var flags uint16
	switch e.role {
	case roleWord, roleWeak, roleBoth, rolePart:
		flags = isName | isPart
	case roleFault, roleWork:
		if !latin(lang) {
			flags = isPart
		}
	}
	own, folded := flags, schemas.FoldPhrase(phrase)
	apart := strings.Contains(folded, " ")
	if latin(lang) && apart {
		own &^= isPart // these languages write no compounds: "soft keys" makes no piece of "soft"
	}
	if flags&isName != 0 && !apart {
		own |= isTyped
	}
	sentence := len(strings.Fields(phrase)) > maxPieces-1 || hasNot(phrase) || hasNumber(phrase)
	if sentence {
		own &^= isPart // its words make no compound
	}
	path := b.words(phrase, lang, own)
	if len(path) == 1 && flags&isPart != 0 {
		b.single[path[0]] = true
		if e.role == roleWord && !latin(lang) && lang != langAny && !b.comps[e.comp].cause {
			b.table.words[path[0]].flags |= isHead
		}
	}
	if e.comp >= 0 {
		for _, w := range path {
			b.own(w, e.comp)
		}
	}
	if e.role == roleSymptom || e.role == roleHint {
		for _, w := range path {
			b.heard[w]++
		}
	}
	node := b.trie.add(path, -1)
	old := b.trie.ends[node]
	switch {
	case old < 0 || b.joined[node]:
	case b.entries[old].comp == e.comp:
		b.entries[at].lone = b.entries[old].lone
	case b.entries[old].role == roleHint && e.role == roleFault:
		b.entries[at].lone = b.entries[old].comp // it steers as a word of fault, and hints where it stands alone
	default:
		return fmt.Errorf("lexicon: phrases %q and %q are the same but for fillers and mean two things; remove one",
			b.entries[old].text, phrase)
	}
	b.trie.ends[node] = at
	delete(b.joined, node)
	if len(path) > 1 && flags&isName != 0 && !sentence {
		for _, w := range path {
			b.heard[w]++
		}
		joined := b.word(strings.ReplaceAll(folded, " ", ""), lang, flags|isTyped)
		b.own(joined, e.comp)
		if node := b.trie.add([]wordID{joined}, -1); b.trie.ends[node] < 0 {
			b.trie.ends[node] = at
			b.joined[node] = true
		}
	}
	return nil
}

func (b *builder) own(w wordID, comp int16) {
	if w >= anyNumber {
		return
	}
	if !slices.Contains(b.owners[w], comp) {
		b.owners[w] = append(b.owners[w], comp)
	}
}

// Languages by their place in Phrases.ByLanguage.
const (
	langAny = 0
	langEN  = 1
	langFR  = 4
	langES  = 6
	langIT  = 7
)

// latinLangs has the bits of the languages of Latin stock.
const latinLangs = 1<<langFR | 1<<langES | 1<<langIT

// latin says whether a language writes its compounds apart.
func latin(lang int) bool {
	return lang == langEN || lang == langFR || lang == langES || lang == langIT
}

// hasNot says whether a phrase has the word NOT, written large.
func hasNot(phrase string) bool { return hasWord(phrase, "NOT") }

func hasNumber(phrase string) bool { return hasWord(phrase, "NUM") }

func hasWord(phrase, word string) bool {
	return strings.Contains(phrase, word) && slices.Contains(strings.Fields(phrase), word)
}

// spellings gives a phrase as written and with ä, ö, ü, ø, å spelt ae, oe, ue, oe, aa.
func spellings(phrase string) []string {
	other := digraphs.Replace(phrase)
	if other == phrase {
		return []string{phrase}
	}
	return []string{phrase, other}
}

var digraphs = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "Ä", "ae", "Ö", "oe", "Ü", "ue", "ø", "oe", "Ø", "oe", "å", "aa", "Å", "aa")

// words gives the path of a phrase; fillers inside it are left out, as the reader steps over them.
func (b *builder) words(phrase string, lang int, flags uint16) []wordID {
	var path []wordID
	for _, f := range strings.Fields(splitElisions(phrase)) {
		if f == "NOT" || f == "NUM" {
			path = append(path, steps[f])
			continue
		}
		for _, w := range strings.Fields(schemas.FoldPhrase(f)) {
			path = append(path, b.word(w, lang, flags))
		}
	}
	inside := path[:min(1, len(path))]
	for i := 1; i < len(path); i++ {
		if i == len(path)-1 || path[i] >= anyNumber || b.table.words[path[i]].flags&isFiller == 0 {
			inside = append(inside, path[i])
		}
	}
	return inside
}

// steps are the words of phrases that stand for any word of a kind.
var steps = map[string]wordID{"NOT": anyNot, "NUM": anyNumber}

// splitElisions parts l'écran and takes the 's off foto's, as the tokeniser does.
func splitElisions(phrase string) string {
	if !strings.Contains(phrase, "'") {
		return phrase
	}
	var out []string
	for _, f := range strings.Fields(phrase) {
		if w, ok := strings.CutSuffix(f, "'s"); ok && len(w) > 1 {
			f = w
		}
		if head, tail, ok := strings.Cut(f, "'"); ok && elided([]byte(schemas.FoldPhrase(head))) {
			out = append(out, head, tail)
			continue
		}
		out = append(out, f)
	}
	return strings.Join(out, " ")
}

func (b *builder) word(text string, lang int, flags uint16) wordID {
	id, ok := b.byText[text]
	if !ok {
		id = wordID(len(b.table.words))
		b.table.words = append(b.table.words, word{text: text, same: id})
		b.byText[text] = id
	}
	if flags&isPart != 0 && len(text) < 3 {
		flags &^= isPart
	}
	w := &b.table.words[id]
	w.flags |= flags
	w.langs |= 1 << lang
	return id
}

// manyPhrases is in how many phrases a word must stand to be found misspelt when it is none itself.
const manyPhrases = 3

// finish lays the tables out once every word is in.
func (b *builder) finish() {
	b.trie.freeze()
	words := b.table.words
	b.owner = make([]uint64, len(words))
	for id, list := range b.owners {
		slices.Sort(list)
		h := fnv.New64a()
		_ = binary.Write(h, binary.LittleEndian, list) // a hash takes everything
		b.owner[id] = h.Sum64()
	}
	for id := range words {
		if id > 0 {
			if digits(words[id].text) {
				words[id].flags |= isNumber
			}
			_, first := b.trie.next[step(0, wordID(id))]
			_, counted := b.trie.next[step(0, anyNumber)]
			if first || words[id].flags&isNot != 0 || counted && words[id].flags&isNumber != 0 {
				words[id].flags |= isFirst
			}
			if b.heard[wordID(id)] >= manyPhrases {
				words[id].flags |= isTyped
			}
			if words[id].flags&(isNot|isFiller) != 0 {
				words[id].flags &^= isName | isPart | isTyped
			}
			if len(words[id].text) < minPiece && !b.single[wordID(id)] {
				words[id].flags &^= isPart
			}
		}
	}
	b.table.build()
	b.bases()
	b.typos = newTypoIndex(words)
}

// bases finds which words of names are inflected forms of others, so that "screen hinges" is read
// by "screen hinge" though "hinges" is an entry too.
func (b *builder) bases() {
	words := b.table.words
	for id := 1; id < len(words); id++ {
		w := []byte(words[id].text)
		if words[id].flags&(isName|isPlain) != isName || len(w) < 4 || len(w) > maxWord {
			continue
		}
		var h [maxWord + 1]uint64
		prefixHashes(w, &h)
		if base := b.stem(w, &h, 0); base != 0 && words[base].flags&isName != 0 {
			words[id].base = base
			words[id].flags |= words[base].flags & isFirst
		}
	}
}
