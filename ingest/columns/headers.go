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

// heading is a header taken apart.
type heading struct {
	words    []string // of the header without what stands in brackets
	bare     string   // key of the words
	full     string   // key of everything
	currency string   // ISO code named in it
	unit     string   // word for a unit of time named in it
}

// takeApart finds units and currencies in a header: "cost EUR", "Arbeitszeit (h)", "Preis in €", "minutes [min]".
func takeApart(header string) heading {
	h := heading{full: cells.Key(header)}
	outside, inside := brackets(spaceCamel(header))
	h.words = strings.Fields(string(cells.AppendWords(nil, []byte(outside))))
	for _, field := range strings.FieldsFunc(outside+" "+inside, func(r rune) bool { return strings.ContainsRune(" _./,:;-()[]", r) }) {
		if c := currencyWord(field); c != "" && h.currency == "" {
			h.currency = c
		}
	}
	for _, w := range append(strings.Fields(string(cells.AppendWords(nil, []byte(inside)))), h.words...) {
		if timeUnit(w) != 0 && h.unit == "" {
			h.unit = w
		}
	}
	h.bare = strings.Join(h.words, "")
	return h
}

// brackets parts a header into what stands outside and inside of ( ) [ ].
func brackets(s string) (outside, inside string) {
	depth := 0
	var out, in strings.Builder
	for _, r := range s {
		switch {
		case r == '(' || r == '[':
			depth++
			out.WriteByte(' ')
			in.WriteByte(' ')
		case (r == ')' || r == ']') && depth > 0:
			depth--
		case depth > 0:
			in.WriteRune(r)
		default:
			out.WriteRune(r)
		}
	}
	return out.String(), in.String()
}

// spaceCamel puts spaces into unitCost, and around signs that AppendWords would swallow.
func spaceCamel(s string) string {
	var out strings.Builder
	prev := ' '
	for _, r := range s {
		if r >= 'A' && r <= 'Z' && prev >= 'a' && prev <= 'z' {
			out.WriteByte(' ')
		}
		out.WriteRune(r)
		prev = r
	}
	return out.String()
}

// currencyWord gives the code of a currency's sign or upper-case code in a header.
func currencyWord(field string) string {
	if len(field) == 3 && field != strings.ToUpper(field) && field != strings.ToLower(field) {
		return ""
	}
	if strings.ContainsAny(field, "€$£¥₹") || cells.ISOCurrency([]byte(field)) != "" || field == "kr" || field == "Euro" || field == "euro" {
		return cells.Currency(field, "")
	}
	return ""
}

// timeUnit gives the minutes in a unit named in a header; 0 when the word names none.
func timeUnit(word string) float64 {
	switch word {
	case "h", "hr", "hrs", "std", "stdn":
		return 60
	case "min", "mins":
		return 1
	case "sec", "secs", "sek":
		return 1.0 / 60
	}
	for _, u := range []struct {
		ending  string
		minutes float64
	}{
		{"hours", 60}, {"stunden", 60}, {"heures", 60}, {"uren", 60}, {"horas", 60}, {"timer", 60},
		{"minutes", 1}, {"minuten", 1}, {"minutos", 1}, {"minutter", 1},
		{"seconds", 1.0 / 60}, {"sekunden", 1.0 / 60}, {"secondes", 1.0 / 60},
	} {
		if strings.HasSuffix(word, u.ending) {
			return u.minutes
		}
	}
	return 0
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

// reduction is a header's key with a word left out.
type reduction struct {
	key    string
	prefix string // the word dropped in front; limits what the rest may mean
}

// allows keeps a dropped prefix from bringing in another thing's meaning: "part.name" is no person,
// "repair type" no class, "product description" no fault. sure tells that the rest of the header is a
// usual word for the meaning.
func (r reduction) allows(m Meaning, sure bool) bool {
	switch r.prefix {
	case "":
		return true
	case "part", "parts", "spare", "teil", "line", "item":
		return m.PartLine() || m == Minutes || m == Ticket && r.prefix == "line" || m == Currency
	case "device", "product", "gerat":
		return m.device() || m == Serial || m == MadeWeek || sure && m != Personal && m != Technician
	}
	return m != Personal && (sure || !m.device() && !m.PartLine() && m != Serial)
}

// reductions drops noise from a header's words: units, currencies, tax words and counts behind,
// the thing it belongs to (device.model, job_opened) in front.
func reductions(words []string) []reduction {
	var out []reduction
	end := len(words)
	for end > 1 && noise(words[end-1]) {
		end--
		out = append(out, reduction{key: strings.Join(words[:end], "")})
	}
	core := words[:end]
	if n := len(core); n > 0 { // part2, imei1
		if trimmed := strings.TrimRight(core[n-1], "0123456789"); trimmed != core[n-1] && trimmed != "" {
			out = append(out, reduction{key: strings.Join(core[:n-1], "") + trimmed})
		}
	}
	if len(core) > 1 {
		switch core[0] {
		case "device", "repair", "job", "ticket", "order", "item", "product", "part", "parts", "visit", "record", "line", "spare",
			"gerat", "auftrag", "reparatur", "teil", "the", "case":
			out = append(out, reduction{key: strings.Join(core[1:], ""), prefix: core[0]})
		}
	}
	return out
}

func noise(w string) bool {
	switch w {
	case "name", "value", "text", "field", "col", "column", "net", "netto", "gross", "brutto", "vat", "mwst", "moms", "iva", "btw", "tva", "tax",
		"incl", "inkl", "inc", "excl", "exkl", "ex", "ht", "ttc", "hors", "taxe", "in", "en", "utc", "local", "the", "of", "per", "pro", "each", "total", "kr",
		"minutes", "min", "mins", "hours", "hrs", "h", "std", "stunden", "minuten", "heures", "uren", "horas", "minutos", "minutter", "timer", "sec":
		return true
	}
	if len(w) == 3 && cells.ISOCurrency([]byte(w)) != "" || w == "euro" || w == "euros" {
		return true
	}
	return strings.Trim(w, "0123456789") == ""
}
