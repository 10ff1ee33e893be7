package lexicon

import (
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
