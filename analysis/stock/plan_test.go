package stock

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/analysis/tally/tallytest"
	"faultgrain/schemas"
)

// use makes one visit on a day of 2024 and 2025 with the component bad and, where a part is named, a line of it.
func use(day int, model, component, part string) tallytest.Visit {
	v := tallytest.Visit{Model: model, Family: "Lark", Maker: "Lark", Class: "phone", Outcome: schemas.Repaired, Faults: []string{component},
		Opened: time.Date(2024, 1, 1, 10, 0, 0, 0, time.UTC).AddDate(0, 0, day)}
	if part != "" {
		v.Parts = []tallytest.Part{{Component: component, PartNo: part, Quantity: schemas.Known(1), UnitCost: schemas.Known(10), Currency: "EUR"}}
	}
	return v
}

// every makes one use every so many days of two years, which end on the last of them.
func every(days int, model, component, part string) (list []tallytest.Visit) {
	for day := 727 % days; day < 728; day += days {
		list = append(list, use(day, model, component, part))
	}
	return list
}

func open(t *testing.T, visits ...[]tallytest.Visit) *tally.Log {
	t.Helper()
	return tallytest.Open(t, slices.Concat(visits...), tally.Options{})
}

func compute(t *testing.T, log *tally.Log, items []Item, opt Options) Result {
	t.Helper()
	if opt.Service == 0 {
		opt.Service = 0.95
	}
	if opt.Review == 0 {
		opt.Review = 7
	}
	for i := range items {
		items[i].Pack = max(items[i].Pack, 1)
	}
	res, err := Compute(t.Context(), log, &Shelf{Items: items}, opt)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

func TestDemandIsOfLinesWhereTheLogHasThem(t *testing.T) {
	gone := use(700, "Lark 7", "battery", "")
	gone.Outcome = schemas.ReturnedUnrepaired
	log := open(t, every(7, "Lark 7", "battery", "BAT-7"), every(14, "Lark 8", "battery", ""), []tallytest.Visit{gone})
	past, err := loadPast(t.Context(), log, []Item{{Part: "BAT-7", Component: "battery"}, {Part: "other", Component: "battery"}})
	if err != nil {
		t.Fatal(err)
	}
	list, doubled := past.demands([]Item{
		{Part: "BAT-7", Component: "battery", Fits: []string{"Lark 7"}},
		{Part: "other", Component: "battery", Fits: []string{"Lark 8"}},
		{Part: "third", Component: "battery", Fits: []string{"Lark 7", "Lark 8"}},
		{Part: "new", Component: "battery", Fits: []string{"Lark 9"}},
	})
	// The log runs from day 6 to day 727: 103 whole weeks, which leave out the use of day 6.
	for i, want := range []struct {
		basis      string
		used, days int
	}{{BasisLines, 103, 721}, {BasisFaults, 52, 721}, {BasisFaults, 103, 721}, {BasisFaults, 0, 0}} {
		if d := list[i]; d.basis != want.basis || d.recent(728) != want.used || len(d.days) != want.days {
			t.Errorf("demand %d: %s, %d pieces in %d days, want %s, %d in %d", i, d.basis, d.recent(728), len(d.days), want.basis, want.used, want.days)
		}
	}
	if strings.Join(doubled, " ") != "third" {
		t.Errorf("doubled %v, want the third part, whose Lark 8 visits count for the second", doubled)
	}
}

// A steady part: 26 weeks at 4 a week and more of a Poisson-like past say that about 8 are asked for in two weeks.
func TestSteadyDemand(t *testing.T) {
	log := open(t, every(2, "Lark 7", "battery", "BAT-7"))
	res := compute(t, log, []Item{{Part: "BAT-7", Component: "battery", Fits: []string{"Lark 7"}, OnHand: 2, LeadDays: 7, UnitCost: schemas.Known(4), Currency: "EUR", Supplier: "Partquay"}}, Options{})
	r := res.Rows[0]
	if math.Abs(r.WeeklyMean.V-3.5) > 0.5 {
		t.Errorf("weekly mean %v, want about 3.5", r.WeeklyMean)
	}
	if want := r.OrderUpTo.V - 2; r.Order.V != want || r.LineCost.V != 4*want || r.Rule != ServiceLevel || r.ServiceLevel.V != 0.95 {
		t.Errorf("row %+v, want an order of %v at 4.00 for the service level", r, want)
	}
	// Poisson at 7 in two weeks needs 12 for 95% (Poisson table, F(11) = 0.9467, F(12) = 0.9730; from memory).
	if r.OrderUpTo.V < 10 || r.OrderUpTo.V > 14 || !(r.StockoutChance.V <= 0.05) {
		t.Errorf("up to %v with %v to run out, want about 12 and at most 5%%", r.OrderUpTo, r.StockoutChance)
	}
	found, err := res.Findings(findings.Frame{})
	if err != nil || len(found) != 1 {
		t.Fatalf("%d findings, %v; want one", len(found), err)
	}
	f := found[0]
	if f.Grade != schemas.Firm || !strings.Contains(f.Headline, "of BAT-7 (battery)") || !strings.Contains(f.Headline, "EUR") || !strings.Contains(f.Headline, "to last 2 weeks") ||
		!strings.Contains(f.Caution, "Lithium") || !strings.Contains(f.Action, "from Partquay") {
		t.Errorf("finding %+v", f)
	}
	if len(res.Orders) != 1 || res.Orders[0].Supplier != "Partquay" || float64(res.Orders[0].Order) != r.Order.V {
		t.Errorf("orders %+v", res.Orders)
	}
}

func TestCriticalRatioNeedsMarginAndHoldingRate(t *testing.T) {
	log := open(t, every(7, "Lark 7", "battery", "BAT-7"))
	item := Item{Part: "BAT-7", Component: "battery", Fits: []string{"Lark 7"}, LeadDays: 7, UnitCost: schemas.Known(73), Currency: "EUR"}
	holding := 0.25
	prices := []schemas.Price{{Model: "Lark 7", Component: "battery", Currency: "EUR", Lines: 10, MarginMedian: schemas.Known(6.65), CostLatest: schemas.Known(50)},
		{Model: "Lark 7", Component: "battery", Currency: "DKK", Lines: 1000, MarginMedian: schemas.Known(1)},
		{Model: "Lark 8", Component: "battery", Currency: "EUR", Lines: 1000, MarginMedian: schemas.Known(1)}}
	for name, tc := range map[string]struct {
		opt   Options
		level float64
		rule  string
	}{
		"both":       {Options{Holding: &holding, Prices: prices}, 0.95, CriticalRatio}, // 73 x 0.25 x 7/365 = 0.35; 6.65 / 7 = 0.95
		"no holding": {Options{Prices: prices, Service: 0.9}, 0.9, ServiceLevel},
		"no margin":  {Options{Holding: &holding, Service: 0.9}, 0.9, ServiceLevel},
	} {
		r := compute(t, log, []Item{item}, tc.opt).Rows[0]
		if math.Abs(r.ServiceLevel.V-tc.level) > 1e-9 || r.Rule != tc.rule {
			t.Errorf("%s: %v by %s, want %v by %s", name, r.ServiceLevel, r.Rule, tc.level, tc.rule)
		}
	}
	item.UnitCost = schemas.Float{}
	if r := compute(t, log, []Item{item}, Options{Prices: prices}).Rows[0]; r.UnitCost.V != 50 {
		t.Errorf("unit cost %v, want the latest of the log", r.UnitCost)
	}
}

func TestPacksAndLeastOrders(t *testing.T) {
	for _, tc := range []struct{ pack, least, level, position, want int }{
		{1, 0, 5, 5, 0}, {1, 0, 5, 7, 0}, {1, 0, 5, 2, 3}, {10, 0, 5, 2, 10}, {10, 0, 15, 2, 20}, {1, 8, 5, 2, 8}, {5, 8, 5, 4, 10}, {0, 0, 3, 0, 3},
	} {
		if got := (lotSize{tc.pack, tc.least}).order(tc.level, tc.position); got != tc.want {
			t.Errorf("%+v: order %d", tc, got)
		}
	}
}

func TestFirmPairsAreKeptForBoth(t *testing.T) {
	log := open(t, every(7, "Lark 7", "earpiece", "EAR-7"), every(7, "Lark 7", "loudspeaker", "SPK-7"), every(7, "Lark 8", "loudspeaker", "SPK-8"))
	items := []Item{
		{Part: "EAR-7", Component: "earpiece", Fits: []string{"Lark 7"}, LeadDays: 7},
		{Part: "SPK-7", Component: "loudspeaker", Fits: []string{"Lark 7"}, LeadDays: 7},
		{Part: "SPK-8", Component: "loudspeaker", Fits: []string{"Lark 8"}, LeadDays: 7},
	}
	rows := compute(t, log, items, Options{Pairs: []Pair{{"Lark 7", "earpiece", "loudspeaker"}}}).Rows
	if rows[0].WithPart != "SPK-7" || rows[1].WithPart != "EAR-7" || rows[2].WithPart != "" {
		t.Errorf("with %q, %q, %q", rows[0].WithPart, rows[1].WithPart, rows[2].WithPart)
	}
	if got := rows[0].ServiceLevel.V * rows[1].ServiceLevel.V; math.Abs(got-0.95) > 1e-12 || rows[2].ServiceLevel.V != 0.95 {
		t.Errorf("levels %v: together %v, want 0.95", rows[0].ServiceLevel, got)
	}
}

func TestPiecesOfASuspectedLotDoNotCount(t *testing.T) {
	log := open(t, every(7, "Lark 7", "battery", "BAT-7"))
	item := Item{Part: "BAT-7", Component: "battery", LeadDays: 7, OnHand: 40, lots: map[string]int{"A": 38, "B": 2}}
	if r := compute(t, log, []Item{item}, Options{Suspect: []Lot{{"display", "A"}, {"battery", "C"}}}).Rows[0]; r.Order.V != 0 {
		t.Errorf("order %v with 40 on the shelf", r.Order)
	}
	res := compute(t, log, []Item{item}, Options{Suspect: []Lot{{"battery", "A"}, {"battery", "A"}}})
	r := res.Rows[0]
	if r.OnHand.V != 40 || r.Order.V != r.OrderUpTo.V-2 || !(r.StockoutChance.V <= 0.05) {
		t.Errorf("row %+v, want an order as if 2 were on the shelf", r)
	}
	found, err := res.Findings(findings.Frame{})
	if err != nil || len(found) != 1 || !strings.Contains(found[0].Headline, "40 on hand (not counting 38 of a lot that comes back)") || !strings.Contains(found[0].Action, "Set lot A aside") {
		t.Errorf("findings %+v, %v", found, err)
	}
}

func TestBudgetBuysTheBestMarginFirst(t *testing.T) {
	log := open(t, every(7, "Lark 7", "battery", "BAT-7"), every(7, "Lark 7", "display", "DSP-7"), every(7, "Lark 7", "lens", "LNS-7"))
	item := func(part, component string, cost, margin float64, currency string) Item {
		return Item{Part: part, Component: component, LeadDays: 7, UnitCost: schemas.Known(cost), Margin: schemas.Known(margin), Currency: currency}
	}
	items := []Item{item("DSP-7", "display", 40, 20, "EUR"), item("BAT-7", "battery", 10, 30, "EUR"), item("LNS-7", "lens", 1, 90, "DKK")}
	full := compute(t, log, slices.Clone(items), Options{Currency: "EUR"})
	for _, tc := range []struct {
		budget float64
		want   []float64
	}{
		{0, []float64{0, 0, 0}},
		{9, []float64{0, 0, 0}},
		{20, []float64{0, 2, 0}},
		{1e9, []float64{full.Rows[0].Order.V, full.Rows[1].Order.V, 0}},
	} {
		res := compute(t, log, slices.Clone(items), Options{Currency: "EUR", Budget: &tc.budget})
		spent := 0.0
		for i, r := range res.Rows {
			if r.Order.V != tc.want[i] {
				t.Errorf("budget %v: order %v of %s, want %v", tc.budget, r.Order, r.Part, tc.want[i])
			}
			spent += r.LineCost.V
		}
		if spent > tc.budget {
			t.Errorf("budget %v: spends %v", tc.budget, spent)
		}
		if !slices.ContainsFunc(res.Notes, func(q schemas.QualityRow) bool { return q.Subject == "budget" && strings.Contains(q.Note, "LNS-7") }) {
			t.Errorf("budget %v: no note that the part in another currency is left out: %+v", tc.budget, res.Notes)
		}
	}
}

// A new model has no past; its part is expected to be asked for as those of the family are.
func TestANewModelBorrowsFromItsFamily(t *testing.T) {
	log := open(t, every(7, "Lark 5", "battery", ""), every(7, "Lark 6", "battery", ""), every(7, "Lark 7", "battery", ""), every(6, "Lark 8", "battery", ""))
	rows := compute(t, log, []Item{
		{Part: "new", Component: "battery", Fits: []string{"Lark 9"}, LeadDays: 7},
		{Part: "stranger", Component: "battery", Fits: []string{"Wren 1"}, LeadDays: 7},
	}, Options{}).Rows
	if m := rows[0].WeeklyMean.V; math.Abs(m-1.04) > 0.15 {
		t.Errorf("weekly mean of the new model %v, want about 1 as in its family", m)
	}
	if m := rows[1].WeeklyMean.V; !(m > 0 && m < 1) {
		t.Errorf("weekly mean of a model nothing is known of: %v", m)
	}
}

func TestBySupplier(t *testing.T) {
	list := []schemas.OrderLine{{Supplier: "", Part: "a"}, {Supplier: "Part/quay", Part: "b"}, {Supplier: "Part/quay", Part: "c"}, {Supplier: "part quay", Part: "d"}, {Supplier: "../..", Part: "e"}}
	var got []string
	for _, o := range BySupplier(list) {
		for _, l := range o.Lines {
			got = append(got, o.Slug+":"+l.Part)
		}
	}
	if want := "no-supplier:a part-quay:b part-quay:c part-quay-x:d no-supplier-x:e"; strings.Join(got, " ") != want {
		t.Errorf("got %v, want %s", got, want)
	}
}

// By hand: 7 days of 1 a day, lead 2, review 7, level 3 on a shelf that starts full. Days 0 to 2 empty the shelf; the
// order of day 0 was none, since the shelf was full; 4 are short. In the second week the 3 ordered on day 7 arrive on
// day 9: days 7 and 8 are short, 9 to 11 are served, 12 and 13 short.
func TestReplayByHand(t *testing.T) {
	c := Course{Demand: slices.Repeat([]int{1}, 14), Lead: 2, Review: 7}
	r, err := c.Replay(0, func(int) (int, error) { return 3, nil })
	if err != nil {
		t.Fatal(err)
	}
	want := Record{Days: 14, Demand: 14, Short: 8, Stockouts: 2, PieceDays: 2 + 1 + 2 + 1, Looks: 1}
	if r != want {
		t.Errorf("got  %+v\nwant %+v", r, want)
	}
	if r, err = c.Replay(1, func(known int) (int, error) { return 10 * known, nil }); err != nil || r.Demand != 7 || r.Short != 0 || r.PieceDays != 9+8+7+6+5+4+3 {
		t.Errorf("from the second week: %+v, %v", r, err)
	}
}

// What a rule is told is what was known: a change of the future changes no level before it.
func TestRulesDoNotSeeTheFuture(t *testing.T) {
	weekly := []int{1, 0, 2, 3, 0, 1, 1, 4, 2, 2}
	later := slices.Clone(weekly)
	later[6], later[9] = 40, 0
	prior := stat.GammaPrior{Shape: 1, Rate: 1}
	a, err := rules(weekly, prior, 14, Target{0.95, ServiceLevel})
	if err != nil {
		t.Fatal(err)
	}
	b, err := rules(later, prior, 14, Target{0.95, ServiceLevel})
	if err != nil {
		t.Fatal(err)
	}
	for i := range a {
		for known := range 7 {
			x, errX := a[i].level(known)
			y, errY := b[i].level(known)
			if errX != nil || errY != nil || x != y {
				t.Errorf("%s after %d weeks: %d and %d (%v, %v)", a[i].name, known, x, y, errX, errY)
			}
		}
	}
}
