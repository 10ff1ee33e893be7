package columns

import (
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"
)

// comment writes lines that TOML passes over, whatever the text holds, broken at 100 columns.
func comment(out io.Writer, text string) { hanging(out, "", text) }

// hanging is comment with a word in front, the lines behind it set in.
func hanging(out io.Writer, front, text string) {
	clean := func(s string) string {
		return strings.Map(func(r rune) rune {
			if unicode.IsControl(r) || r == utf8.RuneError || r == '\u2028' || r == '\u2029' {
				return ' '
			}
			return r
		}, s)
	}
	width := 98 - utf8.RuneCountInString(front)
	left := clean(front)
	rest := []rune(strings.TrimSpace(clean(text)))
	for {
		cut := len(rest)
		if cut > width {
			for cut = width; cut > 0 && rest[cut] != ' '; cut-- {
			}
			if cut == 0 {
				cut = width
			}
		}
		fmt.Fprintf(out, "# %s\n", strings.TrimRight(left+string(rest[:cut]), " "))
		if rest = []rune(strings.TrimLeft(string(rest[cut:]), " ")); len(rest) == 0 {
			return
		}
		left = strings.Repeat(" ", utf8.RuneCountInString(front))
	}
}

// tomlString quotes a text as a TOML basic string.
func tomlString(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == utf8.RuneError:
			b.WriteRune('\uFFFD')
		case unicode.IsControl(r) || r == '\u2028' || r == '\u2029' || r == '\uFEFF':
			fmt.Fprintf(&b, "\\u%04X", r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
