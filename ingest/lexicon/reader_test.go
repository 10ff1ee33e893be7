package lexicon

import (
	"strings"
	"testing"

	"faultgrain/schemas"
)

func builtin(t testing.TB) *Reader {
	t.Helper()
	lex, err := schemas.BuiltinLexicon()
	if err != nil {
		t.Fatal(err)
	}
	r, err := New(lex)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestReadRules(t *testing.T) {
	r := builtin(t)
	for _, tc := range []struct {
		kind Kind
		text string
		want string
	}{
		{Text, "screen cracked, battery ok", "display"},
		{Text, "loudspeaker ok", ""},
		{Text, "both speakers dead", "earpiece loudspeaker"},
		{Part, "Ladebuchse", "charge-port"},
		{Text, "screen replaced last year, now battery drains quickly", "battery"},
		{Text, "customer brought own charger, mic not working", "microphone"},
		{Found, "screen, battery + port", "battery charge-port display"},
	} {
		if got := strings.Join(r.Read(tc.text, tc.kind).Components, " "); got != tc.want {
			t.Errorf("%s %q: read %q, want %q\n%s", tc.kind, tc.text, got, tc.want, r.Explain(tc.text, tc.kind))
		}
	}
}
