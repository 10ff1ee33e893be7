package models

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"faultgrain/ingest/cells"
)

// Accents counts the words of names that are written with accents, so that "Mowe 3" and "MOEWE 3" fold to "Möwe 3" where a
// log writes that, too: accents are left out for convenience, never put in. The zero value is empty.
type Accents struct {
	words map[string]map[string]int64 // key -> spelling in lower case -> times
}

// maxAccents bounds the distinct keys that are counted.
const maxAccents = 20_000

// Add counts the accented words of a name. It costs next to nothing for a name in ASCII.
func (a *Accents) Add(name []byte) {
	if isASCII(name) {
		return
	}
	for word := range strings.FieldsFuncSeq(string(name), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.Is(unicode.Mn, r) }) {
		if isASCII([]byte(word)) || strings.ContainsRune(word, utf8.RuneError) {
			continue
		}
		word = strings.ToLower(word)
		for _, key := range cells.KeyForms(word) {
			if key == "" || key == word {
				continue // a script without accents
			}
			if a.words == nil {
				a.words = map[string]map[string]int64{}
			}
			if a.words[key] == nil {
				if len(a.words) >= maxAccents {
					return
				}
				a.words[key] = map[string]int64{}
			}
			a.words[key][word]++
		}
	}
}

// Merge adds what another has counted.
func (a *Accents) Merge(b *Accents) {
	for key, words := range b.words {
		if a.words == nil {
			a.words = map[string]map[string]int64{}
		}
		if a.words[key] == nil {
			a.words[key] = map[string]int64{}
		}
		for word, n := range words {
			a.words[key][word] += n
		}
	}
}

// WithAccents gives a folder that spells words as they are written most often with accents; ties go to the first by letters.
func (f *Folder) WithAccents(a *Accents) *Folder {
	if len(a.words) == 0 {
		return f
	}
	out := *f
	out.accents = make(map[string]string, len(a.words))
	for key, words := range a.words {
		spellings := make([]string, 0, len(words))
		for w := range words {
			spellings = append(spellings, w)
		}
		out.accents[key] = slices.MinFunc(spellings, func(x, y string) int { return cmp.Or(cmp.Compare(words[y], words[x]), strings.Compare(x, y)) })
	}
	return &out
}

// AppendSpellings appends the spellings with accents that the folder has learnt, in the order of their keys.
func (f *Folder) AppendSpellings(b []byte) []byte {
	for _, key := range slices.Sorted(maps.Keys(f.accents)) {
		b = append(append(append(append(b, key...), 0), f.accents[key]...), 0)
	}
	return b
}

// accented spells the words of a name.
func (f *Folder) accented(name string) string {
	if len(f.accents) == 0 {
		return name
	}
	name = strings.ToValidUTF8(name, " ")
	var b strings.Builder
	start := -1 // of the word at hand
	flush := func(end int) {
		if start < 0 {
			return
		}
		word := name[start:end]
		if spelling, ok := f.accents[cells.Key(word)]; ok && strings.ToLower(word) != spelling {
			word = spelling
		}
		b.WriteString(word)
		start = -1
	}
	for i, r := range name {
		if letter := unicode.IsLetter(r) || unicode.Is(unicode.Mn, r); !letter {
			flush(i)
			b.WriteRune(r)
		} else if start < 0 {
			start = i
		}
	}
	flush(len(name))
	return b.String()
}

func isASCII(b []byte) bool {
	for _, c := range b {
		if c >= utf8.RuneSelf {
			return false
		}
	}
	return true
}
