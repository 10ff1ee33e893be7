package stock

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"faultgrain/schemas"
)

func known() Known {
	return Known{
		Components: []string{"battery", "display", "charge-port"}, Names: map[string]string{"charging socket": "charge-port"},
		Models: []string{"Lark 7", "Lark 7 Plus", "Wren 2"}, Parts: map[string]string{"BAT-7": "battery", "DSP 7": "display", "MIX": ""}, Currency: "EUR",
	}
}

func TestReadShelf(t *testing.T) {
	s, err := readShelf([]byte("\ufeffPart;Component;Fits;On hand;on_order;lead_days;unit_cost;pack;supplier;lot;price\n"+
		"bat-7;;\"lark 7; LARK 7 plus\";4;2;10;12,50;5;Partquay;A1;40\n"+
		"BAT-7;battery;;3;;;;;;A2;\n"+
		"DSP 7;Display;Wren 2;0;;;60;;;;\n"+
		"PORT-X;charging socket;;1;0;0;;;;A2;\n"), "stock.csv", known())
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Items) != 3 {
		t.Fatalf("%d items, want 3: %+v", len(s.Items), s.Items)
	}
	b, d, p := s.Items[0], s.Items[1], s.Items[2]
	if b.Part != "BAT-7" || b.Component != "battery" || strings.Join(b.Fits, ";") != "Lark 7;Lark 7 Plus" || b.OnHand != 7 || b.OnOrder != 2 || b.Pack != 5 ||
		b.LeadDays != 10 || b.UnitCost != schemas.Known(12.5) || b.Margin != schemas.Known(27.5) || b.Currency != "EUR" || b.Supplier != "Partquay" {
		t.Errorf("battery: %+v", b)
	}
	if d.Component != "display" || d.LeadDays != defaultLead || d.Pack != 1 || d.OnHand != 0 || d.Margin.OK {
		t.Errorf("display: %+v", d)
	}
	if p.Component != "charge-port" || p.LeadDays != 0 || len(p.Fits) != 0 || p.UnitCost.OK {
		t.Errorf("port: %+v", p)
	}
	if n, ok := s.OnLot("A2"); !ok || n != 4 {
		t.Errorf("lot A2: %v, %v, want 4 pieces of two parts", n, ok)
	}
	if _, ok := s.OnLot("A9"); ok {
		t.Error("a lot that no line tells is known")
	}
	if len(s.Notes) != 1 || s.Notes[0].Subject != "lead_days" || s.Notes[0].Count != 1 || !strings.Contains(s.Notes[0].Note, "7 days: DSP 7") {
		t.Errorf("notes: %+v, want the default lead time of DSP 7", s.Notes)
	}
}

func TestReadShelfRefuses(t *testing.T) {
	for name, tc := range map[string]struct{ text, want string }{
		"no file content":    {"", "stock.csv: empty file, want the columns part"},
		"unknown column":     {"part,on_hnd\nBAT-7,1\n", `stock.csv:1: unknown column "on_hnd"; did you mean "on_hand"?`},
		"column twice":       {"part,part,on_hand\n", `stock.csv:1: the column "part" stands twice`},
		"no shelf column":    {"part,component\nBAT-7,battery\n", `stock.csv:1: no column "on_hand"`},
		"unknown component":  {"part,component,on_hand\n\nBAT-7,batery,1\n", `stock.csv:3: column "component": found "batery", want a component of the lexicon; did you mean "battery"?`},
		"unknown part":       {"part,on_hand\nBAT-8,1\n", `did you mean the part "BAT-7"?`},
		"part of two things": {"part,on_hand\nMIX,1\n", "no line of the log tells what the part"},
		"no part":            {"part,component,on_hand\n,battery,1\n", `stock.csv:2: column "part"`},
		"negative":           {"part,component,on_hand\nX,battery,-1\n", `stock.csv:2: column "on_hand": found "-1", want pieces on the shelf, a whole number of 0 or more`},
		"half a piece":       {"part,component,on_hand\nX,battery,1.5\n", `found "1.5"`},
		"not told":           {"part,component,on_hand\nX,battery,\n", `column "on_hand": found ""`},
		"no pack":            {"part,component,on_hand,pack\nX,battery,1,0\n", `column "pack": found "0"`},
		"no review":          {"part,component,on_hand,review_days\nX,battery,1,0\n", `column "review_days"`},
		"not a number":       {"part,component,on_hand\nX,battery,NaN\n", `found "NaN"`},
		"lead for ever":      {"part,component,on_hand,lead_days\nX,battery,1,1e9\n", `column "lead_days"`},
		"cost with a sign":   {"part,component,on_hand,unit_cost\nX,battery,1,4 €\n", `column "unit_cost"`},
		"ragged":             {"part,component,on_hand\nX,battery\n", "stock.csv: record on line 2: wrong number of fields"},
		"twice":              {"part,component,on_hand\nX,battery,1\nx,battery,2\n", `stock.csv:3: column "part": found "x", which line 2 has already`},
		"two components":     {"part,component,on_hand,lot\nX,battery,1,A\nX,display,2,B\n", `but line 2 says that X is a battery`},
	} {
		if _, err := readShelf([]byte(tc.text), "stock.csv", known()); err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: %v, want %s", name, err, tc.want)
		}
	}
	if _, err := Load(filepath.Join(t.TempDir(), "none.csv"), known()); !os.IsNotExist(unwrap(err)) {
		t.Errorf("no file: %v", err)
	}
}

func unwrap(err error) error {
	if u, ok := err.(interface{ Unwrap() error }); ok {
		return u.Unwrap()
	}
	return err
}

// A model the log never saw may be new: its part is kept, and a note asks.
func TestNewModelsAreNoError(t *testing.T) {
	s, err := readShelf([]byte("part,component,fits,on_hand,lead_days\nX,battery,Lark 8,1,3\n"), "stock.csv", known())
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Notes) != 1 || !strings.Contains(s.Notes[0].Note, "Lark 8 for X in line 2 (near it: Lark 7)") {
		t.Errorf("notes: %+v", s.Notes)
	}
}

func FuzzReadShelf(f *testing.F) {
	f.Add("part,component,fits,on_hand,lot\nBAT-7,battery,Lark 7;Wren 2,4,A\nBAT-7,,,1,B\n")
	f.Add("part;on_hand;unit_cost\nDSP 7;2;1,5\n")
	f.Add("\"part\t\ton_hand\n")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := readShelf([]byte(text), "stock.csv", known())
		if err != nil {
			if !strings.HasPrefix(err.Error(), "stock.csv:") {
				t.Errorf("error does not name the file: %v", err)
			}
			return
		}
		for _, i := range s.Items {
			if i.Part == "" || i.Component == "" || i.OnHand < 0 || i.OnOrder < 0 || i.Pack < 1 || i.LeadDays < 0 || i.ReviewDays < 0 {
				t.Errorf("item %+v", i)
			}
		}
	})
}
