package wording

import (
	"unicode"

	"golang.org/x/text/width"
)

// Columns is how many columns of even width a text takes: wide East Asian characters count as two, combining marks as none.
func Columns(text string) int {
	n := 0
	for _, r := range text {
		n += runeColumns(r)
	}
	return n
}

// Clip shortens a text to so many columns, the mark at the cut included.
func Clip(text string, most int, mark string) string {
	if Columns(text) <= most {
		return text
	}
	used := Columns(mark)
	for i, r := range text {
		if used += runeColumns(r); used > most {
			return text[:i] + mark
		}
	}
	return text
}

func runeColumns(r rune) int {
	if unicode.Is(unicode.Mn, r) {
		return 0
	}
	switch width.LookupRune(r).Kind() {
	case width.EastAsianWide, width.EastAsianFullwidth:
		return 2
	}
	return 1
}
