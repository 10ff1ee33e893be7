package bundle

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"faultgrain/analysis/tally"
	"faultgrain/analysis/tally/tallytest"
	"faultgrain/schemas"
)

// secrets must not be in a bundle, whatever is in the log.
var secrets = []string{"T-4711", "Secret Branch", "SN-99", "Hidden Supply", "LOT-777", "PN-888", "123.45", "9.99", "2026-W07", "Quiet Street Repairs"}

func privateLog(t *testing.T) (string, *tally.Log) {
	t.Helper()
	var visits []tallytest.Visit
	for m := range 5 {
		for i := range 40 {
			v := tallytest.Visit{Ticket: fmt.Sprintf("T-4711-%d-%d", m, i), Shop: "Secret Branch", Class: "phone", Maker: "Lark", Model: "Lark 7", Device: fmt.Sprintf("SN-99-%d", i),
				MadeWeek: "2026-W07", SerialPrefix: "SN-99", Charge: schemas.Known(123.45), Minutes: schemas.Known(33), Currency: "EUR",
				Outcome: schemas.NoFault, Opened: time.Date(2026, time.Month(1+m), 1+i%28, 9, 0, 0, 0, time.UTC)}
			switch {
			case i < 10:
				v.Faults = []string{"battery", "display"}
			case i < 20:
				v.Faults = []string{"battery"}
			case i < 30:
				v.Faults = []string{"display"}
			case i == 30 && m == 3:
				v.Faults = []string{"hinge"}
			}
			if i < 7 {
				v.Parts = []tallytest.Part{{Component: "battery", Grade: "original", Supplier: "Hidden Supply", Lot: "LOT-777", PartNo: "PN-888", UnitCost: schemas.Known(9.99), Currency: "EUR"}}
			}
			visits = append(visits, v)
		}
	}
	dir := tallytest.History(t, tallytest.Segment{Visits: visits})
	return dir, tallytest.OpenDir(t, dir, tally.Options{AsOf: time.Date(2026, 5, 15, 0, 0, 0, 0, time.UTC)})
}

func TestMakeTalliesTheMonthsThatAreOver(t *testing.T) {
	dir, log := privateLog(t)
	mark, err := Mark(dir)
	if err != nil {
		t.Fatal(err)
	}
	made, err := Make(t.Context(), log, Options{Mark: mark, Notes: []schemas.Note{{Model: "Lark 7", Text: "clips\nbreak", Share: true}, {Component: "battery", Text: "at Quiet Street Repairs only"}}})
	if err != nil {
		t.Fatal(err)
	}
	// By hand: four months are over, each with 40 visits, 20 batteries, 20 displays, 10 of both, 7 part lines.
	if m := made.Manifest; m.From != "2026-01" || m.To != "2026-04" || len(made.Visits) != 4 || len(made.Faults) != 8 || len(made.Pairs) != 4 || len(made.Parts) != 4 {
		t.Fatalf("%+v: %d visits, %d faults, %d pairs, %d parts", m, len(made.Visits), len(made.Faults), len(made.Pairs), len(made.Parts))
	}
	january := Span{MonthOf(time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)), MonthOf(time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC))}
	if v := made.Visits[0]; v != (Visits{"Lark 7", "phone", "Lark", "", january, 40}) {
		t.Errorf("visits %+v", v)
	}
	if f := made.Faults[0]; f != (Faults{"Lark 7", "battery", false, january, 40, 20, true}) {
		t.Errorf("faults %+v", f)
	}
	if p := made.Pairs[0]; p != (Pair{"Lark 7", "battery", "display", january, 10, 10, 10, 10}) {
		t.Errorf("pair %+v", p)
	}
	if p := made.Parts[0]; p != (Parts{"battery", "original", "EUR", schemas.Known(5), schemas.Known(10), january, 7}) {
		t.Errorf("parts %+v", p)
	}
	if n := made.Manifest.Notes; len(n) != 1 || n[0].Text != "clips break" {
		t.Errorf("notes %+v, want the one that may be shared", n)
	}
	for _, w := range made.Withheld {
		if w.What == "components of models" && (w.Keys != 3 || w.Silent != 1 || w.Cases != 161 || w.CasesTold != 160) {
			t.Errorf("withheld %+v", w)
		}
	}

	var preview bytes.Buffer
	if err := made.Preview(&preview); err != nil {
		t.Fatal(err)
	}
	data := written(t, made.Bundle)
	files := map[string][]byte{"preview": preview.Bytes()}
	rezip(t, data, func(name string, content []byte) (string, []byte) {
		files[name] = content
		return name, content
	})
	if len(files) != 7 {
		t.Fatalf("%d files", len(files))
	}
	for name, content := range files {
		for _, s := range append(secrets, "hinge") {
			if bytes.Contains(content, []byte(s)) {
				t.Errorf("%s holds %q", name, s)
			}
		}
	}
	if !bytes.Contains(files[pageName], []byte("Lark 7")) || !bytes.Contains(preview.Bytes(), []byte("Lark 7, battery, 2026-01, 2026-01, 20 of 40")) {
		t.Error("the page or the preview doesn't tell what is in the bundle")
	}
	if _, err := Read(t.Context(), "b.zip", data); err != nil {
		t.Error(err)
	}
}

func TestMakeRefuses(t *testing.T) {
	_, log := privateLog(t)
	if _, err := Make(t.Context(), log, Options{Threshold: 4}); err == nil || !strings.Contains(err.Error(), "only be raised") {
		t.Errorf("threshold 4: %v", err)
	}
	if _, err := Make(t.Context(), log, Options{Threshold: 1000}); !errors.Is(err, ErrNothing) {
		t.Errorf("threshold 1000: %v", err)
	}
	if _, err := Make(t.Context(), log, Options{Mark: mark, Before: &Bundle{}}); err == nil {
		t.Error("the bundle of another history was taken as shared before")
	}
}

func aFinding() schemas.Finding {
	known := schemas.Known
	return schemas.Finding{ID: "share-lark-7-battery-0001", Kind: schemas.KindShare, Grade: schemas.Firm, Subject: schemas.Subject{Model: "Lark 7", Component: "battery"},
		Headline: "Lark 7: battery in 40 of 90 diagnosed visits, firm.", Numbers: map[string]schemas.Float{"faults": known(40), "visits": known(90), "strength": known(2)},
		Caution: "Lithium cells: isolate a swollen cell.", Method: "Wilson limits.", Period: schemas.Period{From: "2025-06-03", To: "2026-05-31"}}
}

func TestTellAFinding(t *testing.T) {
	told, err := Tell(aFinding(), []string{"Quiet Street Repairs", ""})
	if err != nil {
		t.Fatal(err)
	}
	var page bytes.Buffer
	if err := told.Page(&page); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"40 of 90", "Wilson limits", "Lithium cells", "not cause", "came through the door", "2025-06 to 2026-05", "your own log", "hunch"} {
		if !strings.Contains(page.String(), want) || !strings.Contains(told.Markdown(), want) {
			t.Errorf("page or Markdown lacks %q", want)
		}
	}
	if strings.Contains(told.Markdown(), "2025-06-03") || strings.Contains(told.Markdown(), "strength") {
		t.Error("the first day of the log or the rank is told")
	}
}

func TestTellKeepsMarkupAsText(t *testing.T) {
	f := aFinding()
	f.Headline = "Lark <script>alert(1)</script> [x](y) *z* @all: battery"
	told, err := Tell(f, nil)
	if err != nil {
		t.Fatal(err)
	}
	var page bytes.Buffer
	if err := told.Page(&page); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(page.String(), "<script>") || strings.Contains(told.Markdown(), "<script>") && !strings.Contains(told.Markdown(), `\<script`) || strings.Contains(told.Markdown(), "@all") || strings.Contains(told.Markdown(), "[x](") {
		t.Errorf("markup got through:\n%s\n%s", told.Markdown(), page.String())
	}
}

func TestTellKeepsWhatIsTheShops(t *testing.T) {
	for name, edit := range map[string]func(*schemas.Finding){
		"price":          func(f *schemas.Finding) { f.Kind = schemas.KindPrice },
		"stock":          func(f *schemas.Finding) { f.Kind = schemas.KindStock },
		"few cases":      func(f *schemas.Finding) { f.Numbers["faults"] = schemas.Known(4) },
		"the shop":       func(f *schemas.Finding) { f.Headline += " At QUIET Street, repairs" },
		"a supplier":     func(f *schemas.Finding) { f.Subject.Supplier, f.Headline = "Hidden Supply", "from Hidden Supply" },
		"the shop, once": func(f *schemas.Finding) { f.Caution = "quiet-street repairs" },
	} {
		f := aFinding()
		edit(&f)
		if _, err := Tell(f, []string{"Quiet Street Repairs"}); !errors.Is(err, ErrPrivate) {
			t.Errorf("%s: %v, want ErrPrivate", name, err)
		}
	}
}
