package models

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// spell gives a token's one spelling. first tells the first word of a name, the maker, where three
// letters are taken for initials.
func spell(t token, first bool) string {
	text := strings.ReplaceAll(t.text, ",", ".")
	n := utf8.RuneCountInString(text)
	switch {
	case t.digits():
		if w, ok := ordinalWord(text); ok {
			return w
		}
		return strings.ToUpper(text)
	case shortWord(t.key):
		return capital(strings.ToLower(text))
	case n <= 2, n == 3 && (first || !strings.ContainsAny(t.key, "aeiouy")), roman(t.key):
		return strings.ToUpper(text)
	}
	lower := strings.ToLower(text)
	if tail, ok := deviceNoun(lower); ok { // eReader, eBike
		return lower[:1] + capital(tail)
	}
	return capital(lower)
}

func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToTitle(r)) + s[n:]
}

// ordinalWord keeps 7th as it is said.
func ordinalWord(text string) (string, bool) {
	n, unit := numberUnit(strings.ToLower(text))
	switch unit {
	case "st", "nd", "rd", "th":
		return n + unit, n != ""
	}
	return "", false
}

// deviceNoun tells one letter in front of a device's noun, which keeps its lower case by custom.
func deviceNoun(lower string) (string, bool) {
	if len(lower) < 4 || lower[0] >= utf8.RuneSelf || !strings.ContainsRune("aeiux", rune(lower[0])) {
		return "", false
	}
	switch tail := lower[1:]; tail {
	case "phone", "pad", "pod", "book", "reader", "bike", "watch", "scooter", "mac":
		return tail, true
	}
	return "", false
}

// shortWord tells words of two letters that are no initials.
func shortWord(key string) bool {
	switch key {
	case "go", "on", "up", "my", "to", "of", "in":
		return true
	}
	return false
}

// roman tells ii, iii, iv, vi, vii, viii, ix.
func roman(key string) bool {
	switch key {
	case "ii", "iii", "iv", "vi", "vii", "viii", "ix":
		return true
	}
	return false
}
