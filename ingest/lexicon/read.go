package lexicon

import "slices"

// A Kind says what sort of cell a text stood in, and so how far it is trusted.
type Kind uint8

const (
	// Part: the cell names the part that was fitted. Every component in it counts, whatever is
	// said about it.
	Part Kind = iota
	// Found: the technician's finding.
	Found
	// Text: what the customer says, notes, descriptions. It is judged by the rules of a finding;
	// that a finding is believed before a text is for ingest to decide.
	Text
)

func (k Kind) String() string {
	switch k {
	case Part:
		return "part"
	case Found:
		return "found"
	}
	return "text"
}

// A Reading is what one text says.
type Reading struct {
	Components []string // ids that count, sorted, each once; causes such as liquid among them
	Matches    []Match  // every mention in order of the text, counted or not
}

// A Match is one mention of a component. A phrase that names two ("both speakers") gives two.
type Match struct {
	Component  string
	Start, End int    // bytes of the text as given
	Surface    string // text[Start:End]
	Entry      string // the phrase of the lexicon it was read by
	Note       string // why it counts or does not
	Counted    bool
	Cause      bool // a cause such as liquid, no part
}

// Read finds the components a text names. It takes time in proportion to the text, accepts any
// bytes, and gives the same reading for the same text.
func (r *Reader) Read(text string, kind Kind) Reading {
	s := r.scratch.Get().(*scratch)
	r.understand(s, text, kind)
	out := r.report(text, s, kind)
	r.scratch.Put(s)
	return out
}

// understand finds the mentions of a text and judges them; they are in s.items.
func (r *Reader) understand(s *scratch, text string, kind Kind) {
	s.toks = r.tokenise(text, s.toks[:0])
	s.items = r.findItems(s.toks, kind, s.items[:0])
	s.items = r.settleYields(s.toks, s.items)
	s.segs = r.segments(s.items, s.toks, s.segs[:0])
	r.steer(s.toks, s.items, s.segs)
	if kind == Part {
		trustPart(s)
	} else {
		r.judge(s)
		r.readLone(s)
	}
	heads(s)
	r.settleSigns(s)
}

// An item is one matched phrase: a mention of a component or a cue.
type item struct {
	role     role
	entry    int32
	from, to int32 // tokens
	comp     int16
	more     int16
	verdict  verdict
	used     bool // a negation that has turned its word
}

// findItems walks the tokens once, taking the longest phrase at each.
func (r *Reader) findItems(toks []token, kind Kind, items []item) []item {
	for i := 0; i < len(toks); {
		w := toks[i].word
		if w == 0 || r.table.words[w].flags&isFirst == 0 {
			i++
			continue
		}
		e, end := r.longest(toks, i)
		if e < 0 {
			i++
			continue
		}
		en := &r.entries[e]
		if en.role == roleAnd && en.lang != langAny && !r.spoken(toks, i, en.lang) {
			i++
			continue
		}
		it := item{role: en.role, entry: e, from: int32(i), to: int32(end), comp: en.comp, more: en.more}
		if (en.role == rolePart) != (kind == Part) && (en.role == rolePart || en.role == roleHint || en.role == roleYield) {
			i++
			continue
		}
		if en.role == roleBoth {
			it.comp, it.more = r.comps[en.comp].pair[0], r.comps[en.comp].pair[1]
			if it.comp < 0 {
				it.comp = en.comp
			}
		}
		items = r.shared(toks, items, it)
		items = append(items, it)
		i = end
	}
	return items
}

// spoken says whether a word near token i is of the language and of no other that writes token i alike: the "en" of
// "scherm en accu" joins, that of "pantalla en negro" does not.
func (r *Reader) spoken(toks []token, i int, lang uint8) bool {
	for k := max(0, i-2); k < min(len(toks), i+3); k++ {
		if l := r.table.words[toks[k].word].langs; k != i && l&(1<<lang) != 0 && l&^(1<<lang|1<<langAny)&latinLangs == 0 {
			return true
		}
	}
	return false
}

// shared reads the first half of "volume and power buttons": a word before an "and" or a slash
// that with the last word of this mention makes a phrase of its own.
func (r *Reader) shared(toks []token, items []item, it item) []item {
	if it.comp < 0 || it.to-it.from < 2 || it.role != roleWord || toks[it.from].start == toks[it.to-1].start {
		return items
	}
	at := int(it.from)
	switch {
	case at >= 1 && (toks[at].gap == gapSlash || toks[at].gap == gapPlus || toks[at].gap == gapComma):
		at--
	case at >= 2 && len(items) > 0 && items[len(items)-1].role == roleAnd && items[len(items)-1].to == it.from:
		at -= 2
	default:
		return items
	}
	if n := len(items); n > 0 && items[n-1].to > int32(at) && items[n-1].role != roleAnd {
		return items // the word is part of a mention already
	}
	node, ok := r.trie.from(0, toks[at].word)
	if !ok || toks[at].word == 0 {
		return items
	}
	last := toks[it.to-1].word
	first := node
	if node, ok = r.trie.from(first, last); !ok { // "home and power buttons"
		node, ok = r.trie.from(first, r.table.words[last].base)
	}
	if !ok || r.trie.ends[node] < 0 {
		return items
	}
	e := r.trie.ends[node]
	if en := &r.entries[e]; en.role == roleWord && en.comp != it.comp {
		extra := item{role: roleWord, entry: e, from: int32(at), to: int32(at) + 1, comp: en.comp, more: -1}
		if n := len(items); n > 0 && items[n-1].role == roleAnd {
			and := items[n-1]
			items[n-1] = extra
			return append(items, and)
		}
		return append(items, extra)
	}
	return items
}

// report writes the matches down.
func (r *Reader) report(text string, s *scratch, kind Kind) Reading {
	n := 0
	for i := range s.items {
		if s.items[i].comp >= 0 {
			n++
			if s.items[i].more >= 0 {
				n++
			}
		}
	}
	if n == 0 {
		return Reading{}
	}
	ms := make([]Match, 0, n)
	for i := range s.items {
		it := &s.items[i]
		if it.comp < 0 {
			continue
		}
		start, end := int(s.toks[it.from].start), int(s.toks[it.to-1].end)
		m := Match{
			Component: r.ids[it.comp], Start: start, End: end, Surface: text[start:end],
			Entry: r.entries[it.entry].text, Note: it.verdict.note(it.role, kind), Counted: it.verdict.counts(),
			Cause: r.comps[it.comp].cause,
		}
		if r.comps[it.comp].vague && m.Counted {
			m.Note = "what the device does; the text tells no cause"
		}
		ms = append(ms, m)
		if it.more >= 0 {
			m.Component = r.ids[it.more]
			ms = append(ms, m)
		}
	}
	return Reading{Components: sortedIDs(ms), Matches: ms}
}

// sortedIDs gives the distinct counted components of the matches in order.
func sortedIDs(ms []Match) []string {
	n := 0
	for i := range ms {
		if ms[i].Counted {
			n++
		}
	}
	if n == 0 {
		return nil
	}
	ids := make([]string, 0, n)
	for i := range ms {
		if ms[i].Counted {
			ids = append(ids, ms[i].Component)
		}
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}
