package lexicon

import "testing"

// The garbled forms are what UTF-8 bytes are in Windows-1252 and Mac Roman (the tables of the Unicode consortium,
// from memory); the third is the second with its root sign replaced by a question mark.
func TestReadGarbledLetters(t *testing.T) {
	r := builtin(t)
	for _, tc := range []struct{ text, want string }{
		{"Ã©cran cassÃ©", "display"},
		{"√©cran cass√©", "display"},
		{"?©cran cass?©", "display"},
		{"ne dÃ©marre plus", "no-power"},
		{"problÃ¨me de camÃ©ra", "camera"},
		{"LautstÃ¤rketasten klemmen", "volume-buttons"},
		{"R√ºckseite gebrochen", "back-glass"},
		{"hÃ¸jttaler defekt", "speaker"},
		{"is the screen ok? © shop", ""},
		{"cracked screen?", "display"},
	} {
		check(t, r, Text, tc.text, tc.want)
	}
}
