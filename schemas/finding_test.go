package schemas

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

func findingsSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(FindingsJSONSchema))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("findings.schema.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("findings.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func aFinding() Finding {
	return Finding{
		ID: "share/lark-7/earpiece", Kind: KindShare, Grade: Firm, Subject: Subject{Model: "Lark 7", Component: "earpiece"},
		Headline: "14 of 61 show it.", Numbers: map[string]Float{"share": Known(0.23), "ratio_high": {}},
		Method: "Wilson", Period: Period{"2026-01-01", "2026-05-31"}, Row: RowRef{"shares", map[string]string{"model": "Lark 7"}},
	}
}

func TestFindingsSchemaTakesOursAndRefusesOthers(t *testing.T) {
	s := findingsSchema(t)
	for _, tc := range []struct {
		name string
		edit func(*Finding)
		ok   bool
	}{
		{"as written", func(*Finding) {}, true},
		{"unknown grade", func(f *Finding) { f.Grade = "certain" }, false},
		{"unknown kind", func(f *Finding) { f.Kind = "hunch" }, false},
		{"no sentence", func(f *Finding) { f.Headline = "earpiece" }, false},
		{"no subject", func(f *Finding) { f.Subject = Subject{} }, false},
		{"no row", func(f *Finding) { f.Row.Key = nil }, false},
		{"not a day", func(f *Finding) { f.Period.To = "May" }, false},
	} {
		f := aFinding()
		tc.edit(&f)
		var b bytes.Buffer
		if err := WriteFindings(&b, Findings{Version: 1, AsOf: "2026-05-31", Findings: []Finding{f}}); err != nil {
			t.Fatal(err)
		}
		var doc any
		if err := json.Unmarshal(b.Bytes(), &doc); err != nil {
			t.Fatal(err)
		}
		if err := s.Validate(doc); (err == nil) != tc.ok {
			t.Errorf("%s: validation says %v, want ok=%v", tc.name, err, tc.ok)
		}
	}
}

func TestReadFindingsRefusesAnotherVersion(t *testing.T) {
	if _, err := ReadFindings(strings.NewReader(`{"version": 2, "findings": []}`)); err == nil || !strings.Contains(err.Error(), "version 2") {
		t.Errorf("error %v, want it to name the version", err)
	}
}

func TestNoFindingsIsAnEmptyList(t *testing.T) {
	var b bytes.Buffer
	if err := WriteFindings(&b, Findings{Version: 1, AsOf: "2026-05-31"}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), `"findings": []`) {
		t.Errorf("a month with no finding is written as %s", b.String())
	}
}
