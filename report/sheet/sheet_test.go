package sheet

import (
	"bytes"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"

	"faultgrain/report/evidence"
	"faultgrain/report/wording"
	"faultgrain/schemas"

	"pgregory.net/rapid"
)

var update = flag.Bool("update", false, "rewrite testdata/*.golden")

func lexicon(t testing.TB) *schemas.Lexicon {
	t.Helper()
	l, err := schemas.BuiltinLexicon()
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// full is a bench with something in every part; its figures are made up.
func full() (evidence.Bench, Options) {
	k := schemas.Known
	b := evidence.Bench{Model: "Lark P4", Maker: "Lark", Family: "P", Class: "phone", Visits: 61, Unread: 3,
		Shares: []schemas.Share{
			{Component: "loudspeaker", Faults: 14, Visits: 61, Share: k(0.2295), ShareLow: k(0.1411), ShareHigh: k(0.35), ClassShare: k(0.06), Ratio: k(3.8), RatioLow: k(2.1), RatioHigh: k(6.4)},
			{Component: "battery", Faults: 9, Visits: 61, Share: k(0.1475), ShareLow: k(0.0796), ShareHigh: k(0.257), ClassShare: k(0.16), RatioLow: k(1.2)}},
		Pairs:    []schemas.Pair{{ComponentA: "earpiece", ComponentB: "loudspeaker", Both: 6, AOnly: 4, BOnly: 8, OddsLow: k(1.5), BGivenA: k(0.6), BGivenALow: k(0.31), BGivenAHigh: k(0.83), AGivenB: k(0.43), AGivenBLow: k(0.21), AGivenBHigh: k(0.67)}},
		Times:    []schemas.Time{{Component: "loudspeaker", Jobs: 12, Median: k(31), P90: k(46), MTTR: k(33)}, {Component: "earpiece", ComponentB: "loudspeaker", Jobs: 6, Median: k(37), MTTR: k(38), TogetherSaves: k(18.4)}},
		Batches:  []schemas.Batch{{Component: "battery", Level: "family", Node: "Lark P", WindowStart: "2026-04-19", WindowEnd: "2026-05-30", Observed: 7, Visits: 20, Expected: k(2.1), Link: "earlier_lot", LinkValue: "NB-1", LinkCases: 6, LinkVisits: 8}},
		Prices:   []schemas.Price{{Component: "loudspeaker", CostLatest: k(3.2), CostUsual: k(3), ChargeMedian: k(59), Currency: "EUR"}},
		Findings: []schemas.Finding{{Subject: schemas.Subject{Model: "Lark P4", Component: "loudspeaker"}, Headline: "Lark P4: loudspeaker in 14 of 61 (23%, 95% 14 to 35%) of diagnosed visits; other phones 6%: 3.8 times as often (2.1 to 6.4), firm.", Action: "Look at the loudspeaker first."}},
	}
	return b, Options{
		Notes:  []schemas.Note{{Model: "lark p4", Text: "Clips break: start at the corner by the camera."}, {Model: "Lark P5", Text: "not about this one"}, {Family: "P", Component: "battery", Text: "two pull tabs"}, {Component: "hinge", Text: "not on this one"}},
		Grades: map[string][]schemas.Return{"loudspeaker": {{Component: "loudspeaker", By: "grade", Value: "original", Repairs: 40, Back90: k(0.05), Back90Low: k(0.01), Back90High: k(0.15)}, {Component: "loudspeaker", By: "grade", Value: "aftermarket", Repairs: 30, Back90: k(0.1), Back90Low: k(0.03), Back90High: k(0.26)}}},
	}
}

func TestGolden(t *testing.T) {
	b, opt := full()
	opt.Lexicon = lexicon(t)
	var out bytes.Buffer
	if err := Write(&out, b, opt); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join("testdata", "lark-p4.golden")
	if *update {
		if err := errors.Join(os.MkdirAll("testdata", 0o755), os.WriteFile(path, out.Bytes(), 0o644)); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(out.Bytes(), want) {
		t.Errorf("the sheet changed (go test ./report/sheet -update, then read the diff):\n%s", out.String())
	}
	for _, never := range []string{"not about this one", "not on this one"} {
		if strings.Contains(out.String(), never) {
			t.Errorf("a note about another device is shown: %q", never)
		}
	}
}

// TestAnyText: whatever the names are, no line is wider than 80 columns and no control character or mark that
// turns the reading direction gets out.
func TestAnyText(t *testing.T) {
	lex := lexicon(t)
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"\x1b[31mred", "a\u202eb", strings.Repeat("x", 300), "海燕海燕海燕", "tab\tline\n"}))
		b, opt := full()
		opt.Lexicon = lex
		b.Model, b.Class = text.Draw(t, "model"), text.Draw(t, "class")
		b.Shares[0].Component = text.Draw(t, "component")
		b.Batches[0].LinkValue, b.Batches[0].Node = text.Draw(t, "lot"), text.Draw(t, "node")
		b.Findings[0].Headline = text.Draw(t, "headline")
		opt.Grades["battery"] = []schemas.Return{{Component: "battery", Value: text.Draw(t, "grade")}, {Component: "battery", Value: text.Draw(t, "grade 2")}}
		opt.Notes = append(opt.Notes, schemas.Note{Component: "battery", Text: text.Draw(t, "note")})
		var out bytes.Buffer
		if err := Write(&out, b, opt); err != nil {
			t.Fatal(err)
		}
		for line := range strings.SplitSeq(out.String(), "\n") {
			if n := wording.Columns(line); n > lineColumns {
				t.Fatalf("%d columns: %q", n, line)
			}
			for _, r := range line {
				if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) {
					t.Fatalf("%U in %q", r, line)
				}
			}
		}
	})
}

func TestEmptyBench(t *testing.T) {
	var out bytes.Buffer
	if err := Write(&out, evidence.Bench{Model: "Lark P4"}, Options{Lexicon: lexicon(t)}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(out.String(), "No diagnosed visit shows a fault yet.") || !strings.Contains(out.String(), "Take care") {
		t.Errorf("got %s", out.String())
	}
}
