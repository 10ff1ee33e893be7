package columns

import (
	_ "embed"
	"strings"
	"sync"

	"faultgrain/ingest/cells"
	"faultgrain/schemas"
)

//go:embed headers.toml
var headersTOML []byte

// How well a header names a meaning, best first.
const (
	rankTold    = iota // in columns.toml
	rankPlain          // one of the plain headers
	rankSure           // a usual word for it
	rankReduced        // a usual word once units, currencies and prefixes are off
	rankMaybe          // a word that may mean it
	rankVague          // the same, reduced
)

// candidate is one meaning a header may have.
type candidate struct {
	meaning Meaning
	rank    int
	order   int // position in the list of its meaning; earlier is likelier
}

// headerTable is headers.toml, expanded and keyed. It is never changed.
type headerTable struct {
	sure, maybe map[string][]candidate
	personal    []string // roots
}

var headers = sync.OnceValue(loadHeaders)

func loadHeaders() *headerTable {
	var file map[string]struct {
		Sure     []string `toml:"sure"`
		Maybe    []string `toml:"maybe"`
		Contains []string `toml:"contains"`
	}
	if err := schemas.DecodeTOML("headers.toml", headersTOML, &file); err != nil {
		panic(err) // our own file; a test reads it
	}
	t := &headerTable{sure: map[string][]candidate{}, maybe: map[string][]candidate{}}
	for m := Ticket; m < meanings; m++ {
		list := file[m.String()]
		enter(t.sure, m, list.Sure, rankSure)
		enter(t.maybe, m, list.Maybe, rankMaybe)
		t.personal = append(t.personal, list.Contains...)
	}
	return t
}

func enter(table map[string][]candidate, m Meaning, patterns []string, rank int) {
	for i, p := range patterns {
		for _, phrase := range expand(p) {
			for _, key := range cells.KeyForms(phrase) {
				known := false
				for _, c := range table[key] {
					known = known || c.meaning == m
				}
				if !known {
					table[key] = append(table[key], candidate{meaning: m, rank: rank, order: i})
				}
			}
		}
	}
}

// expand writes out every alternative of "(a|b|)c".
func expand(pattern string) []string {
	open := strings.IndexByte(pattern, '(')
	if open < 0 {
		return []string{pattern}
	}
	end := open + strings.IndexByte(pattern[open:], ')')
	if end < open {
		return []string{pattern}
	}
	var out []string
	for _, tail := range expand(pattern[end+1:]) {
		for _, alt := range strings.Split(pattern[open+1:end], "|") {
			out = append(out, pattern[:open]+alt+tail)
		}
	}
	return out
}

// candidates gives what a header may mean, best first.
func (t *headerTable) candidates(header string) []candidate {
	h := takeApart(header)
	if m, ok := ParseMeaning(strings.Join(h.words, "_")); ok && m != Ignore && m != Personal && m != Charge {
		return []candidate{{meaning: m, rank: rankPlain}}
	}
	var out []candidate
	add := func(list []candidate, rank int) {
		for _, c := range list {
			c.rank = rank
			out = append(out, c)
		}
	}
	add(t.sure[h.full], rankSure)
	if h.bare != h.full {
		add(t.sure[h.bare], rankSure)
	}
	for _, key := range reductions(h.words) {
		for _, c := range t.sure[key.key] {
			if key.allows(c.meaning, true) {
				add([]candidate{c}, rankReduced)
			}
		}
	}
	add(t.maybe[h.full], rankMaybe)
	if h.bare != h.full {
		add(t.maybe[h.bare], rankMaybe)
	}
	for _, key := range reductions(h.words) {
		for _, c := range t.maybe[key.key] {
			if key.allows(c.meaning, false) {
				add([]candidate{c}, rankVague)
			}
		}
	}
	if len(out) > 0 {
		return out
	}
	for _, root := range t.personal {
		if strings.Contains(h.full, root) {
			return []candidate{{meaning: Personal, rank: rankReduced}}
		}
	}
	if c, ok := t.parted(header); ok {
		return []candidate{c}
	}
	return t.misspelt(h.bare)
}

// parted reads a header that names one thing twice (Fault / Issue), or maker and model together.
func (t *headerTable) parted(header string) (candidate, bool) {
	parts := strings.FieldsFunc(header, func(r rune) bool { return strings.ContainsRune("/,;&+|", r) })
	if len(parts) < 2 {
		return candidate{}, false
	}
	seen := map[Meaning]bool{}
	for _, p := range parts {
		list := t.sure[cells.Key(p)]
		if len(list) == 0 {
			list = t.maybe[cells.Key(p)]
		}
		if len(list) > 0 {
			seen[list[0].meaning] = true
		}
	}
	if len(seen) == 2 && seen[Maker] && (seen[Model] || seen[Family]) {
		return candidate{meaning: Model, rank: rankReduced}, true
	}
	if len(seen) == 1 {
		for m := range seen {
			return candidate{meaning: m, rank: rankReduced}, true
		}
	}
	return candidate{}, false
}

// misspelt reads a long header with one slip of the keyboard in it, where that leaves one meaning.
func (t *headerTable) misspelt(key string) []candidate {
	const least = 8 // letters; shorter words have too many neighbours
	if len(key) < least {
		return nil
	}
	found := Unknown
	for k, list := range t.sure {
		if len(k) < least || !oneSlip(key, k) {
			continue
		}
		if found != Unknown && found != list[0].meaning {
			return nil
		}
		found = list[0].meaning
	}
	if found == Unknown {
		return nil
	}
	return []candidate{{meaning: found, rank: rankVague}}
}

// oneSlip tells two keys apart by one letter more, less, other or swapped.
func oneSlip(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	if len(b)-len(a) > 1 {
		return false
	}
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	if len(a) < len(b) {
		return a[i:] == b[i+1:]
	}
	if i == len(a) {
		return false
	}
	return a[i+1:] == b[i+1:] || i+1 < len(a) && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:]
}
