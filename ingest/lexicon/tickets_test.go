package lexicon

import (
	_ "embed"
	"strings"
	"testing"
)

//go:embed testdata/tickets.tsv
var tickets string

// Every ticket of the table is read as a person reads it.
func TestTickets(t *testing.T) {
	r := builtin(t)
	kinds := map[string]Kind{"part": Part, "found": Found, "text": Text}
	for line := range strings.Lines(tickets) {
		f := strings.Split(strings.TrimRight(line, "\n"), "\t")
		if len(f) != 4 {
			if !strings.HasPrefix(line, "#") {
				t.Errorf("%q: want language, kind, components and text", line)
			}
			continue
		}
		kind, ok := kinds[f[1]]
		if !ok {
			t.Errorf("%q: no kind of cell", line)
		}
		check(t, r, kind, f[3], f[2])
	}
}
