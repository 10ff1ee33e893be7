package columns

import (
	"bytes"
	_ "embed"
	"strings"
	"sync"
	"unicode/utf8"

	"faultgrain/ingest/cells"
	"faultgrain/schemas"
)

//go:embed words.toml
var wordsTOML []byte

var (
	outcomeWords = []string{schemas.Repaired, schemas.NoFault, schemas.Uneconomic, schemas.Declined, schemas.ReturnedUnrepaired, schemas.Open}
	gradeWords   = []string{schemas.GradeOriginal, schemas.GradePulled, schemas.GradeRefurbished, schemas.GradeAftermarket, schemas.GradeUnknown}
)

// Words reads a log's words for outcomes, grades and classes. It is immutable and safe for concurrent use.
//
// The statuses of the Open Repair Data Standard are among them: Fixed is repaired, Repairable is
// returned-unrepaired (the device went home as it came), End of life is uneconomic, Unknown is empty.
type Words struct {
	outcomes, grades, classes dictionary
}

// dictionary finds a canonical word by key, and by the phrases of its spellings.
type dictionary struct {
	exact map[string]string // by AppendKey
	words map[string]string // by AppendWords, for phrases inside a cell
}

var builtinWords = sync.OnceValue(func() *Words {
	var file struct {
		Outcomes map[string][]string `toml:"outcomes"`
		Grades   map[string][]string `toml:"grades"`
		Classes  map[string][]string `toml:"classes"`
	}
	if err := schemas.DecodeTOML("words.toml", wordsTOML, &file); err != nil {
		panic(err) // our own file; a test reads it
	}
	return &Words{outcomes: newDictionary(file.Outcomes), grades: newDictionary(file.Grades), classes: newDictionary(file.Classes)}
})

func newDictionary(spellings map[string][]string) dictionary {
	d := dictionary{exact: map[string]string{}, words: map[string]string{}}
	for word, list := range spellings {
		d.add(word, word)
		for _, s := range list {
			d.add(s, word)
		}
	}
	return d
}

func (d dictionary) add(spelling, word string) {
	for _, key := range cells.KeyForms(spelling) {
		d.exact[key] = word
	}
	d.words[string(cells.AppendWords(nil, []byte(spelling)))] = word
}

// with gives a copy that knows a person's own words, which win.
func (d dictionary) with(own map[string]string) dictionary {
	if len(own) == 0 {
		return d
	}
	out := dictionary{exact: make(map[string]string, len(d.exact)+len(own)), words: make(map[string]string, len(d.words)+len(own))}
	for k, v := range d.exact {
		out.exact[k] = v
	}
	for k, v := range d.words {
		out.words[k] = v
	}
	for _, spelling := range sortedKeys(own) {
		out.add(spelling, own[spelling])
	}
	return out
}

func newWords(c *Config) (*Words, error) {
	b := builtinWords()
	own := make(map[string]string, len(c.Classes))
	for spelling, class := range c.Classes {
		own[spelling] = tidy(class)
	}
	return &Words{outcomes: b.outcomes.with(c.Outcomes), grades: b.grades.with(c.Grades), classes: b.classes.with(own)}, nil
}

// Outcome gives repaired, no-fault, uneconomic, declined, returned-unrepaired or open. A blank cell
// (also "unknown") is "", true; a word nothing reads is "", false.
func (w *Words) Outcome(cell []byte) (string, bool) { return w.outcomes.read(cell) }

// Grade gives original, pulled, refurbished, aftermarket or unknown. A blank cell is "", true (but
// "unknown" is unknown); a word nothing reads is "", false.
func (w *Words) Grade(cell []byte) (string, bool) {
	var buf [48]byte
	if key := cells.AppendKey(buf[:0], cells.Trim(cell)); len(key) > 0 && w.grades.exact[string(key)] == schemas.GradeUnknown {
		return schemas.GradeUnknown, true
	}
	return w.grades.read(cell)
}

// Class gives phone, tablet, laptop, watch, console, audio, desktop, or the log's own word in lower
// case; known tells which. A blank cell is "", true.
func (w *Words) Class(cell []byte) (class string, known bool) {
	b := cells.Trim(cell)
	var buf [64]byte
	key := cells.AppendKey(buf[:0], b)
	if word, ok := w.classes.exact[string(key)]; ok {
		return word, true
	}
	if cells.Blank(b) {
		return "", true
	}
	if word := w.sameClass(b); word != "" {
		return word, true
	}
	return tidy(string(b)), false
}

// sameClass reads a cell that names one class twice: Mobile phone / smartphone.
func (w *Words) sameClass(b []byte) string {
	found := ""
	for part := range bytes.FieldsFuncSeq(b, func(r rune) bool { return strings.ContainsRune("/,;|", r) }) {
		word := w.classes.exact[string(cells.AppendKey(nil, part))]
		if word == "" || found != "" && word != found {
			return ""
		}
		found = word
	}
	return found
}

// tidy lower-cases a word and leaves single spaces.
func tidy(s string) string {
	return strings.Join(strings.Fields(strings.ToLower(strings.ToValidUTF8(s, "\uFFFD"))), " ")
}

func (d dictionary) read(cell []byte) (string, bool) {
	b := cells.Trim(cell)
	var buf [64]byte
	key := cells.AppendKey(buf[:0], b)
	if word, ok := d.exact[string(key)]; ok {
		return word, true
	}
	if cells.Blank(b) {
		return "", true
	}
	return d.phrase(b)
}

// phrase reads a cell by the longest phrases in it. A denying word must be part of every phrase that
// counts; phrases of equal length that disagree read nothing.
func (d dictionary) phrase(b []byte) (string, bool) {
	if len(b) > 200 || !utf8.Valid(b) {
		return "", false
	}
	words := bytes.Fields(cells.AppendWords(nil, b))
	denied := false
	for _, w := range words {
		denied = denied || denies(string(w))
	}
	for n := min(6, len(words)); n >= 1; n-- {
		found := ""
		for i := 0; i+n <= len(words); i++ {
			part := words[i : i+n]
			word, ok := d.words[string(bytes.Join(part, []byte(" ")))]
			if !ok || denied && !deniesAny(part) {
				continue
			}
			if found != "" && found != word {
				return "", false
			}
			found = word
		}
		if found != "" {
			return found, true
		}
	}
	return "", false
}

func deniesAny(words [][]byte) bool {
	for _, w := range words {
		if denies(string(w)) {
			return true
		}
	}
	return false
}

// denies tells words that turn a phrase into its opposite, in six languages.
func denies(w string) bool {
	switch w {
	case "not", "no", "non", "none", "never", "cannot", "can", "could", "couldn", "won", "unable", "without", "beyond", "un",
		"nicht", "kein", "keine", "keinen", "ohne", "nie",
		"pas", "aucun", "aucune", "sans", "jamais",
		"niet", "geen", "zonder", "nooit", "sin", "ningun", "ninguna", "nunca",
		"ikke", "ingen", "intet", "uden", "aldrig", "kunne", "kan":
		return true
	}
	return false
}
