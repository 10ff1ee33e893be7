package report

import (
	"strings"
	"testing"
)

// TestMeasures: every figure the methods page asks of a section that was measured is there, so that a renamed
// column is noticed; and every method names a source.
func TestMeasures(t *testing.T) {
	sections, err := calibration()
	if err != nil {
		t.Fatal(err)
	}
	if len(sections) < 10 {
		t.Fatalf("%d sections measured", len(sections))
	}
	said := 0
	for _, part := range methodParts() {
		for _, m := range part.Entries {
			if m.How == "" || m.Source == "" {
				t.Errorf("%s: %s says not how or not from where", part.Title, m.Name)
			}
			for _, w := range m.measures {
				if _, ok := sections[w.section]; !ok {
					continue
				}
				if w.say(sections) == "" {
					t.Errorf("%s: calibration.csv has no figures for %+v", m.Name, w)
				}
				said++
			}
		}
	}
	if said < 12 {
		t.Errorf("only %d figures", said)
	}
}

func TestSay(t *testing.T) {
	sections := map[string][]measured{"x": {{"kind": "a", "v": "0.951"}, {"kind": "a", "v": "0.9401"}, {"kind": "b", "v": "0.1"}, {"kind": "a", "v": ""}}}
	for m, want := range map[measure]string{
		{"x", "v", "kind", "a", holds}: "the interval holds the truth in 94.0% to 95.1%, over 2 settings",
		{"x", "v", "kind", "b", "w"}:   "w 10.0%, over 1 setting",
		{"x", "v", "kind", "c", "w"}:   "",
		{"y", "v", "", "", "w"}:        "",
	} {
		if got := m.say(sections); got != want {
			t.Errorf("%+v: %q, want %q", m, got, want)
		}
	}
	if !strings.Contains(methodParts()[0].Entries[0].Source, "Wilson (1927)") {
		t.Error("the first method is not the share")
	}
}
