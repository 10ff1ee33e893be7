package lexicon

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite testdata/*.golden")

func TestExplain(t *testing.T) {
	r := builtin(t)
	var b strings.Builder
	for _, c := range []struct {
		text string
		kind Kind
	}{
		{"screen cracked, battery ok, customer brought own charger", Text},
		{"both speakers dead; charging port cleaned, works fine now", Found},
		{"Displaybruch, Akku vor einem Jahr getauscht", Text},
		{"won't charge, no water damage", Text},
		{"LCD assembly with frame", Part},
		{"won't turn on", Text},
		{"won't turn on, charging port full of lint", Text},
		{"usb port loose", Text},
		{"customer will call again", Text},
		{"lodspeaker \x1b[31mquiet\n\nsince\x00 a very long story about everything that happened on the way to the shop", Text},
	} {
		fmt.Fprintf(&b, "> %q\n%s\n", c.text, r.Explain(c.text, c.kind))
	}
	file := filepath.Join("testdata", "explain.golden")
	if *update {
		if err := os.WriteFile(file, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if b.String() != string(want) {
		t.Errorf("explained:\n%s\nwant the text of %s; if the change is meant: go test ./ingest/lexicon -run Explain -update", b.String(), file)
	}
}
