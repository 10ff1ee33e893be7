package charts

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"

	"faultgrain/report/wording"
)

func TestClean(t *testing.T) {
	for _, tc := range []struct{ in, want string }{
		{"loudspeaker", "loudspeaker"},
		{"  two\t words\n", "two words"},
		{"a\u202eb\u2066c\u200fd\ufeff", "abcd"},
		{"a\u2028b", "a b"},
		{"a\x00\x1b[31mb", "a[31mb"},
		{"bad\xffbytes", "badbytes"},
		{"<b>&amp;", "<b>&amp;"}, // shown as it is; the page escapes it
		{strings.Repeat("x", 300), strings.Repeat("x", 200) + "…"},
	} {
		if got := Clean(tc.in); got != tc.want {
			t.Errorf("Clean(%q) is %q, want %q", tc.in, got, tc.want)
		}
	}
	if got := clip("電源基板の交換", 9); got != "電源基板…" {
		t.Errorf("wide text is clipped to %q", got)
	}
	if got := tipLines("{a|x}", "", "y"); strings.Join(got, "/") != "(a|x)/y" {
		t.Errorf("tooltip lines are %q", got)
	}
}

func TestTextProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := rapid.String().Draw(t, "in")
		columns := rapid.IntRange(2, 50).Draw(t, "columns")
		out := clip(in, columns)
		if !utf8.ValidString(out) || wording.Columns(out) > columns {
			t.Fatalf("clip(%q, %d) is %q", in, columns, out)
		}
		for _, r := range out {
			if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) {
				t.Fatalf("clip(%q) keeps %U", in, r)
			}
		}
		if Clean(Clean(in)) != Clean(in) && utf8.RuneCountInString(in) < maxText {
			t.Fatalf("Clean is not settled on %q", in)
		}
	})
}
