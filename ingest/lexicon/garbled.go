package lexicon

import (
	"strings"
	"unicode/utf8"
)

// Letters whose UTF-8 was taken for another encoding, as exports that went through an old spreadsheet hold them:
// é as "Ã©" (Windows-1252), "√©" (Mac Roman) or, where the root sign was lost as well, "?©".
const (
	asWestern = 'Ã'
	asMac     = '√'
	asLost    = '?'
)

// The second byte of a letter from U+00C0 on, 0x80 to 0xBF, as the two encodings show it; a space stands where
// Windows-1252 has nothing.
var (
	western = []rune("€ ‚ƒ„…†‡ˆ‰Š‹Œ Ž  ‘’“”•–—˜™š›œ žŸ\u00a0¡¢£¤¥¦§¨©ª«¬\u00ad®¯°±²³´µ¶·¸¹º»¼½¾¿")
	mac     = []rune("ÄÅÇÉÑÖÜáàâäãåçéèêëíìîïñóòôöõúùûü†°¢£§•¶ß®©™´¨≠ÆØ∞±≤≥¥µ∂∑∏π∫ªºΩæø")
)

// macSigns are the signs of Mac Roman that are no letters: behind a question mark only these tell of a lost letter.
const macSigns = "†°¢£§•¶®©™´¨≠∞±≤≥¥µ∂∑∏∫ªº"

// letterAt decodes the letter or sign at text[i:], mending a garbled one.
func letterAt(text string, i int) (c rune, n int) {
	c, n = rune(text[i]), 1
	if c >= utf8.RuneSelf {
		c, n = utf8.DecodeRuneInString(text[i:])
	}
	if c != asWestern && c != asMac && c != asLost {
		return c, n
	}
	second, m := utf8.DecodeRuneInString(text[i+n:])
	if second < utf8.RuneSelf || second == utf8.RuneError {
		return c, n
	}
	table := mac
	switch {
	case c == asWestern:
		table = western
	case c == asLost && !strings.ContainsRune(macSigns, second):
		return c, n
	}
	for k, s := range table {
		if s == second {
			return rune(0xc0 + k), n + m
		}
	}
	return c, n
}
