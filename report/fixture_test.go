package report

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"faultgrain/report/evidence"
	"faultgrain/schemas"
)

// A fixture is a made-up set of every table, in the shape analysis writes. Its figures are plausible,
// not worked out: the pages are tested here, not the statistics.
type fixture struct {
	models     []string
	components []string
	months     int
	rng        *rand.Rand
	found      []schemas.Finding
	hostile    bool // text columns hold what a log should not
	pool       bool // with tables of other shops
	silent     bool // nothing stands out
}

// poison puts hostile texts into the text columns of rows, but for those that name models and components.
func poison[T any](rows []T) {
	n := 0
	for i := range rows {
		v := reflect.ValueOf(&rows[i]).Elem()
		for j := range v.NumField() {
			tag := v.Type().Field(j).Tag.Get("csv")
			if v.Field(j).Kind() == reflect.String && !slices.Contains([]string{"model", "scope", "component", "component_a", "component_b", "unit", "models", "fits", "topic"}, tag) {
				text := hostileTexts[n%len(hostileTexts)]
				if tag == "by" || tag == "value" { // the same in two tables
					text = hostileTexts[1] + v.Field(j).String()
				}
				v.Field(j).SetString(text)
				n++
			}
		}
	}
}

var fixtureComponents = []string{
	"display", "battery", "charge-port", "loudspeaker", "earpiece", "rear-camera", "microphone", "back-glass", "power-button", "volume-buttons",
	"housing", "touch", "front-camera", "sim-reader", "antenna", "mainboard", "software", "vibration-motor", "proximity-sensor", "fingerprint-sensor",
	"memory", "storage", "wifi", "frame", "cable", "headphone-jack", "home-button", "hinge", "keyboard", "fan",
}

// smallShop is a shop with a few models; bigShop has 200.
func smallShop() *fixture {
	f := newFixture(7, 14, 18)
	f.pool = true
	return f
}

func bigShop() *fixture { return newFixture(200, 30, 30) }

func newFixture(models, components, months int) *fixture {
	f := &fixture{components: fixtureComponents[:components], months: months, rng: rand.New(rand.NewPCG(1, 2))}
	makers := []string{"Lark", "Brindle", "Ostrel", "Varnby", "Tarsk", "Quorvel"}
	lines := []string{"P", "Sedge ", "T", "Plover ", "Gusset ", "Wicket "}
	for i := range models {
		f.models = append(f.models, fmt.Sprintf("%s %s%d", makers[i%6], lines[(i/6)%6], 3+i/36))
	}
	return f
}

// hostileTexts is what a log may hold where a name belongs.
var hostileTexts = []string{
	`</script><script>alert(1)</script>`, `"><img src=x onerror=alert(2)>`, `<!--<script>`, "=HYPERLINK(1)", "__proto__", "constructor",
	"javascript:alert(3)", "{a|x}{b}", "evil\u202ename\u2066", "line\u2028break\n", strings.Repeat("long ", 2000), "../../etc", "con", "fn:whisker",
}

// hostileShop has hostile texts for models, components and everything else that is text.
func hostileShop() *fixture {
	f := newFixture(len(hostileTexts), 8, 8)
	f.models = hostileTexts
	f.components = append([]string{"display", "battery", "earpiece", "loudspeaker"}, hostileTexts[:5]...)
	f.hostile = true
	return f
}

var classes = []string{"phone", "phone", "tablet", "phone", "laptop", "watch"}

func (f *fixture) class(i int) string { return classes[i%6] }

func known(v float64) schemas.Float { return schemas.Known(math.Round(v*1e6) / 1e6) }

// interval is a score interval of a share, good enough to look at.
func interval(k, n int) (share, low, high schemas.Float) {
	p, m := float64(k)/float64(n), float64(n)
	d, c := 1+3.84/m, p+1.92/m
	h := 1.96 * math.Sqrt(p*(1-p)/m+0.96/m/m)
	return known(p), known(max(0, (c-h)/d)), known(min(1, (c+h)/d))
}

func (f *fixture) finding(kind, grade, headline, action string, subject schemas.Subject, table string, key map[string]string) {
	f.found = append(f.found, schemas.Finding{
		ID: fmt.Sprintf("%s-%d", kind, len(f.found)), Kind: kind, Grade: grade, Subject: subject, Headline: headline, Action: action,
		Caution: "Association is not cause.", Method: "Share of diagnosed visits with Wilson limits; Fisher mid-p, Benjamini-Hochberg over the table.",
		Numbers: map[string]schemas.Float{"p": known(0.001)}, Period: schemas.Period{From: "2024-12-01", To: "2026-05-30"}, Row: schemas.RowRef{Table: table, Key: key},
	})
}

func write[T any](t testing.TB, f *fixture, dir, name string, rows []T) {
	t.Helper()
	if f.hostile {
		poison(rows)
	}
	var b bytes.Buffer
	if err := schemas.WriteCSV(&b, rows); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "tables", name+".csv"), b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// write makes the tables and findings.json in a folder of its own.
func (f *fixture) write(t testing.TB) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "tables"), 0o755); err != nil {
		t.Fatal(err)
	}
	write(t, f, dir, "batches", f.batches())
	write(t, f, dir, "lookback", []schemas.PastAlarm{{Raised: "2025-10-11", Component: "touch", Node: "tablet", Level: "class", Models: f.models[2], WindowStart: "2025-09-21", Observed: 9, Visits: 40, Expected: known(2.5), RelativeRisk: known(3.6), P: known(0.01), LastRaised: "2025-11-08", Peak: "2025-10-25", WeeksBeforePeak: 2}})
	write(t, f, dir, "shares", f.shares())
	write(t, f, dir, "pairs", f.pairs())
	write(t, f, dir, "times", f.times())
	write(t, f, dir, "trends", f.trends())
	returns, curves := f.returns()
	write(t, f, dir, "returns", returns)
	write(t, f, dir, "returns_curve", curves)
	write(t, f, dir, "prices", f.prices())
	stock := f.stock()
	write(t, f, dir, "stock", stock)
	write(t, f, dir, "order", stock)
	write(t, f, dir, "backtest", f.backtest())
	write(t, f, dir, "quality", f.quality())
	if f.pool {
		f.writePool(t, dir)
	}
	if f.hostile {
		for i := range f.found {
			x := hostileTexts[i%len(hostileTexts)]
			g := &f.found[i]
			g.Headline, g.Action, g.Caution, g.Method, g.Subject.Lot = x+g.Headline, x, x, x, x
		}
	}
	if f.silent {
		f.found = nil
	}
	var b bytes.Buffer
	if err := schemas.WriteFindings(&b, schemas.Findings{Version: 1, AsOf: "2026-05-30", Findings: f.found}); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "findings.json"), b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return dir
}

func (f *fixture) shares() (rows []schemas.Share) {
	for i, m := range f.models {
		visits := 40 + f.rng.IntN(200)
		for j, c := range f.components {
			k := int(float64(visits) * (0.22 / (1 + 0.5*float64(j))) * (0.5 + f.rng.Float64()))
			if i == 0 && j == 3 {
				k = visits / 3
			}
			if k == 0 && f.rng.IntN(3) > 0 {
				continue
			}
			r := schemas.Share{Class: f.class(i), Maker: "Lark", Family: "P", Model: m, Component: c, Faults: k, Visits: visits, Unread: visits / 20, ClassFaults: 60, ClassVisits: 900}
			r.Share, r.ShareLow, r.ShareHigh = interval(k, visits)
			r.UnreadLow, r.UnreadHigh = known(r.Share.V*0.95), known(min(1, r.Share.V*1.05+0.04))
			r.Shrunk, r.ShrunkLow, r.ShrunkHigh = known(r.Share.V*0.8+0.01), known(r.ShareLow.V*0.9), known(r.ShareHigh.V*0.9)
			r.ClassShare = known(0.2 / (1 + 0.5*float64(j)))
			if k > 0 {
				ratio := r.Share.V / r.ClassShare.V
				spread := math.Exp(1.96 / math.Sqrt(float64(k)))
				r.Ratio, r.RatioLow, r.RatioHigh = known(ratio), known(ratio/spread), known(ratio*spread)
				r.P, r.Q = known(math.Exp(-r.RatioLow.V)), known(min(1, 3*math.Exp(-r.RatioLow.V)))
			}
			rows = append(rows, r)
			if i == 0 && j == 3 {
				f.finding(schemas.KindShare, schemas.Firm, fmt.Sprintf("%s: loudspeaker in %d of %d (33%%, 95%% 27 to 41%%) of diagnosed visits; other phones 8%%: 4.1 times as often (3.1 to 5.4), firm.", m, k, visits),
					"Look at the loudspeaker first when one comes in, and check what is on the shelf for it.", schemas.Subject{Model: m, Class: "phone", Component: c}, "shares", map[string]string{"model": m, "component": c})
			}
			if i == 1 && j < 10 {
				f.finding(schemas.KindShare, []string{schemas.Firm, schemas.Leaning, schemas.Thin, schemas.Thin}[min(j, 3)], fmt.Sprintf("%s: %s in %d of %d of diagnosed visits; other phones 6%%: 1.9 times as often (1.1 to 3.4).", m, c, k, visits),
					"Look at it first.", schemas.Subject{Model: m, Class: "phone", Component: c}, "shares", map[string]string{"model": m, "component": c})
			}
		}
	}
	return rows
}

func (f *fixture) pairs() (rows []schemas.Pair) {
	scopes := append([]string{schemas.Any}, f.models...)
	for i, scope := range scopes {
		for a := range f.components {
			for b := range a {
				if i > 0 && f.rng.IntN(6) > 0 {
					continue
				}
				x, y := f.components[a], f.components[b]
				if x > y {
					x, y = y, x
				}
				r := schemas.Pair{Scope: scope, Unit: []string{"visit", "device-30d"}[f.rng.IntN(2)], ComponentA: x, ComponentB: y, Both: f.rng.IntN(9), AOnly: 10 + f.rng.IntN(30), BOnly: 6 + f.rng.IntN(30), Neither: 200}
				if i == 0 {
					r.Unit = "visit"
					r.HomogeneityP = known(f.rng.Float64())
				}
				firm := i == 1 && a == 4 && b == 3 || i == 0 && a == 4 && b == 3
				if firm {
					r.Unit, r.Both = "visit", 24
				}
				r.N = r.Both + r.AOnly + r.BOnly + r.Neither
				r.BGivenA, r.BGivenALow, r.BGivenAHigh = interval(r.Both, r.Both+r.AOnly)
				r.AGivenB, r.AGivenBLow, r.AGivenBHigh = interval(r.Both, r.Both+r.BOnly)
				odds := (float64(r.Both) + 0.2) * float64(r.Neither) / float64(r.AOnly*r.BOnly)
				spread := math.Exp(1.96 * math.Sqrt(1/(float64(r.Both)+0.5)+0.1))
				r.OddsRatio, r.OddsLow = known(odds), known(odds/spread)
				if f.rng.IntN(8) > 0 {
					r.OddsHigh = known(odds * spread)
				}
				r.Expected = known(float64((r.Both+r.AOnly)*(r.Both+r.BOnly)) / float64(r.N))
				r.P, r.Q = known(0.01), known(0.04)
				rows = append(rows, r)
				if firm {
					where := scope
					subject := schemas.Subject{Component: x, ComponentB: y, Model: scope}
					if scope == schemas.Any {
						where, subject.Model = "All models", ""
					}
					f.finding(schemas.KindPair, schemas.Firm, fmt.Sprintf("%s: %s and %s fail together: 24 of 50 (48%%, 95%% 35 to 61%%) visits with the %s also show the %s; without it 8%%: 6.1 times the odds (3.2 to 11), firm.", where, x, y, x, y),
						"With one open for it, check the other too.", subject, "pairs", map[string]string{"scope": scope, "unit": "visit", "component_a": x, "component_b": y})
				}
			}
		}
	}
	return rows
}

func (f *fixture) times() (rows []schemas.Time) {
	add := func(model, a, b string, scale float64) {
		m := scale * (12 + 60*f.rng.Float64())
		r := schemas.Time{Model: model, Component: a, ComponentB: b, Jobs: 5 + f.rng.IntN(90), MTTR: known(m * 1.1), MTTRLow: known(m), MTTRHigh: known(m * 1.25), Median: known(m), P90: known(m * 2), GSD: known(1.6),
			TurnaroundJobs: 40, TurnaroundOpen: 2, TurnaroundMedianHours: known(20 + 90*f.rng.Float64())}
		r.TurnaroundLow, r.TurnaroundHigh = known(r.TurnaroundMedianHours.V*0.8), known(r.TurnaroundMedianHours.V*1.2)
		if b != "" {
			r.TogetherSaves, r.SavesLow, r.SavesHigh = known(m/3-6), known(m/3-12), known(m/3)
		}
		rows = append(rows, r)
	}
	for _, c := range f.components {
		add(schemas.Any, c, "", 1)
	}
	add(schemas.Any, "earpiece", "loudspeaker", 1.4)
	for i, m := range f.models {
		for j, c := range f.components {
			if (i+j)%2 == 0 {
				add(m, c, "", 1)
			}
		}
		add(m, "battery", "display", 1.5)
	}
	f.finding(schemas.KindTime, schemas.Leaning, "Earpiece and loudspeaker in one opening save 19 min (12 to 26 min) against two visits, leaning.", "Offer both when one is open.",
		schemas.Subject{Component: "earpiece", ComponentB: "loudspeaker"}, "times", map[string]string{"model": "*", "component": "earpiece", "component_b": "loudspeaker"})
	return rows
}

func (f *fixture) trends() (rows []schemas.Trend) {
	line := func(class, model, component string, visits int, share, slope float64, direction string) {
		for m := range f.months {
			n := visits + f.rng.IntN(visits/3+1)
			k := min(n, int(float64(n)*(share+slope*float64(m))+f.rng.Float64()*2))
			r := schemas.Trend{Month: time.Date(2024, time.Month(12+m), 1, 0, 0, 0, 0, time.UTC).Format("2006-01"), Class: class, Model: model, Component: component, Faults: k, Visits: n,
				Centre: known(share), LowerLimit: known(max(0, share-0.06)), UpperLimit: known(share + 0.06), SlopeP: known(0.2), Q: known(0.6), Direction: direction}
			if direction == "rising" {
				r.SlopeP, r.Q = known(1e-6), known(1e-4)
			}
			r.Share, r.Low, r.High = interval(k, n)
			rows = append(rows, r)
		}
	}
	for j, c := range f.components {
		slope, direction := 0.0, "steady"
		if c == "charge-port" {
			slope, direction = 0.009, "rising"
		}
		line(schemas.Any, schemas.Any, c, 140, 0.2/(1+0.5*float64(j)), slope, direction)
		line("phone", schemas.Any, c, 90, 0.2/(1+0.5*float64(j)), slope, direction)
	}
	for i, m := range f.models {
		if i < 20 {
			line(f.class(i), m, "charge-port", 14, 0.1, 0.01, []string{"rising", "steady"}[i%2])
			line(f.class(i), m, "display", 14, 0.1, 0, "steady")
		}
	}
	last := rows[f.months-1].Month
	f.finding(schemas.KindTrend, schemas.Firm, "Charge ports of phones rise: 24 of 120 (20%, 95% 14 to 28%) of visits in May 2026, 3% a year before, firm.", "Look into what changed; order more.",
		schemas.Subject{Class: "phone", Component: "charge-port"}, "trends", map[string]string{"month": last, "class": "phone", "model": "*", "component": "charge-port"})
	return rows
}

func (f *fixture) batches() []schemas.Batch {
	models := f.models[0] + ";" + f.models[1]
	alarm := schemas.Batch{Component: "battery", Node: "P", Level: "family", Models: models, WindowStart: "2026-04-19", WindowEnd: "2026-05-30", Observed: 17, Visits: 60, Expected: known(4.2), RelativeRisk: known(4), LLR: known(11.2), P: known(0.0004), RecurrenceDays: known(75000)}
	linked := alarm
	linked.Link, linked.LinkValue, linked.LinkCases, linked.LinkVisits, linked.LinkOdds, linked.LinkLow, linked.LinkQ, linked.UnderWarranty, linked.OnShelf = "earlier_lot", "NB-2604-C", 15, 22, known(18), known(7), known(0.0001), known(31), known(12)
	supplier := alarm
	supplier.Link, supplier.LinkValue, supplier.LinkCases, supplier.LinkVisits, supplier.LinkOdds, supplier.LinkLow, supplier.LinkHigh, supplier.LinkQ = "supplier", "Partquay", 16, 40, known(3), known(1.2), known(7), known(0.04)
	f.finding(schemas.KindBatch, schemas.Firm, "Batteries of the Lark P family: 17 of 60 visits since 19 April 2026, 4.2 expected: 4 times the usual; 15 of 22 devices carried lot NB-2604-C, firm.", "Set lot NB-2604-C aside, 12 are on the shelf; call back 31 devices under warranty; tell Partquay.",
		schemas.Subject{Models: []string{f.models[0], f.models[1]}, Component: "battery", Lot: "NB-2604-C"}, "batches", map[string]string{"component": "battery", "node": "P", "link": "earlier_lot", "link_value": "NB-2604-C"})
	weak := schemas.Batch{Component: "touch", Node: "tablet", Level: "class", Models: f.models[2], WindowStart: "2026-05-10", WindowEnd: "2026-05-30", Observed: 6, Visits: 30, Expected: known(2.4), RelativeRisk: known(2.5), LLR: known(3.2), P: known(0.3), RecurrenceDays: known(100)}
	return []schemas.Batch{linked, supplier, weak}
}

func (f *fixture) returns() (rows []schemas.Return, curves []evidence.CurvePoint) {
	values := map[string][]string{"grade": {"original", "pulled", "refurbished", "aftermarket"}, "supplier": {"Partquay", "Wharfside", "Cellar Parts"}, "lot": {"A-1", "A-2", "NB-2604-C"}}
	for _, c := range f.components[:8] {
		for _, by := range []string{"grade", "supplier", "lot"} {
			for i, v := range values[by] {
				rate := 0.0005 * (1 + 0.2*float64(i))
				if c == "display" && v == "refurbished" {
					rate = 0.0018
				}
				at := func(d float64) float64 { return 1 - math.Exp(-rate*d) }
				r := schemas.Return{Component: c, By: by, Value: v, Repairs: 60 + 30*i, Returns: int(at(90) * 100), Ratio: known(rate / 0.0006), RatioLow: known(rate / 0.0009), RatioHigh: known(rate / 0.0004), P: known(0.02), Q: known(0.2)}
				r.Back30, r.Back30Low, r.Back30High = known(at(30)), known(at(30)*0.5), known(at(30)*1.8)
				r.Back90, r.Back90Low, r.Back90High = known(at(90)), known(at(90)*0.6), known(at(90)*1.6)
				r.Back180, r.Back180Low, r.Back180Hi = known(at(180)), known(at(180)*0.7), known(at(180)*1.5)
				rows = append(rows, r)
				for d := 0.0; d <= 180; d += 12 {
					curves = append(curves, evidence.CurvePoint{Component: c, By: by, Value: v, Day: known(d), AtRisk: known(float64(r.Repairs) - d/4), Back: known(at(d)), Low: known(at(d) * 0.6), High: known(at(d) * 1.6)})
				}
			}
		}
	}
	f.finding(schemas.KindReturn, schemas.Firm, "Refurbished displays come back three times as often: 15% by day 90 (95% 11 to 21%), others 5%: 3 times (2 to 4.4), firm.", "Use another grade, or price the return in.",
		schemas.Subject{Component: "display", Grade: "refurbished"}, "returns", map[string]string{"component": "display", "by": "grade", "value": "refurbished"})
	return rows, curves
}

func (f *fixture) prices() (rows []schemas.Price) {
	for i, m := range f.models {
		for j, c := range f.components[:8] {
			cost := 4 + 8*float64((i+j)%9)
			r := schemas.Price{Model: m, Component: c, Lines: 4 + f.rng.IntN(40), CostLatest: known(cost), CostMedian: known(cost), CostQ1: known(cost * 0.9), CostQ3: known(cost * 1.15), CostUsual: known(cost * (0.9 + 0.2*f.rng.Float64())), Z: known(f.rng.Float64() * 2),
				ChargeMedian: known(cost*2 + 40), MinutesMedian: known(35), MarginMedian: known(cost*0.5 + 8), PriceFloor: known(cost*1.8 + 42), BelowTarget: known(float64(f.rng.IntN(3))), Currency: "EUR"}
			if i == 5 && c == "loudspeaker" {
				r.CostLatest, r.CostMedian, r.CostQ1, r.CostQ3, r.CostUsual, r.Z, r.CostBefore, r.JumpOn = known(19.8), known(19.6), known(18), known(20), known(3), known(9.1), known(6.6), "2025-05-05"
			}
			rows = append(rows, r)
		}
	}
	m := f.models[min(5, len(f.models)-1)]
	f.finding(schemas.KindPrice, schemas.Firm, "Loudspeaker of the "+m+" costs 19.80 EUR; usual in its class is 3.00 EUR, and it cost 6.60 EUR until 5 May 2025, firm.", "Ask another supplier, or raise the charge to 89.00 EUR.",
		schemas.Subject{Model: m, Component: "loudspeaker"}, "prices", map[string]string{"model": m, "component": "loudspeaker"})
	return rows
}

func (f *fixture) stock() (rows []schemas.StockLine) {
	for i := range min(3*len(f.models), 60) {
		r := schemas.StockLine{Part: fmt.Sprintf("PRT-%03d", i), Component: f.components[i%8], Fits: f.models[i%len(f.models)], Supplier: []string{"Partquay", "Wharfside"}[i%2], Basis: "lines", WeeklyMean: known(0.3 + 0.4*float64(i%6)), LeadDays: known(7), ReviewDays: known(7),
			OrderUpTo: known(float64(3 + i%6)), OnHand: known(float64(i % 5)), OnOrder: known(float64(i % 2)), Order: known(float64(max(0, 3-i%5))), StockoutChance: known(0.04), UnitCost: known(4.5), LineCost: known(4.5 * float64(max(0, 3-i%5))), Currency: "EUR", ServiceLevel: known(0.95), Rule: "service-level"}
		if i == 4 {
			r.WithPart = "PRT-003"
		}
		rows = append(rows, r)
	}
	f.finding(schemas.KindStock, schemas.Leaning, "Order 3 of PRT-000: 94% chance to last 3 weeks, 13.50 EUR.", "Order 3 now.", schemas.Subject{Part: "PRT-000", Component: "display"}, "stock", map[string]string{"part": "PRT-000"})
	return rows
}

func (f *fixture) backtest() []schemas.Backtest {
	return []schemas.Backtest{
		{Policy: "this forecast", Parts: 20, Demand: known(400), Short: known(6), Stockouts: 5, LostMargin: known(210), Tied: known(410), Cost: known(290), Currency: "EUR"},
		{Policy: "same as last month", Parts: 20, Demand: known(400), Short: known(41), Stockouts: 33, LostMargin: known(1300), Tied: known(380), Cost: known(1376), Currency: "EUR"},
		{Policy: "moving average", Parts: 20, Demand: known(400), Short: known(22), Stockouts: 18, LostMargin: known(700), Tied: known(395), Cost: known(779), Currency: "EUR"},
	}
}

// writePool makes the tables of four shops together.
func (f *fixture) writePool(t testing.TB, dir string) {
	var rows []schemas.Pooled
	var shops []schemas.PooledShop
	for i, m := range f.models {
		for j, c := range f.components[:4] {
			odds := 0.6 + 0.5*float64((i+2*j)%6)
			r := schemas.Pooled{Class: f.class(i), Model: m, Component: c, Shops: 4, Faults: 40, Visits: 300, Most: 46, Share: known(0.14), ShareLow: known(0.1), ShareHigh: known(0.2), Odds: known(odds), OddsLow: known(odds * 0.7), OddsHigh: known(odds * 1.4), P: known(0.01), Q: known(0.03),
				Random: known(odds * 1.05), RandLow: known(odds * 0.6), RandHigh: known(odds * 1.7), I2: known(0.3), NextLow: known(odds * 0.4), NextHigh: known(odds * 2.4), Method: []string{"mantel-haenszel", "random-effects"}[j%2]}
			rows = append(rows, r)
			for k := range 4 {
				o := odds * (0.7 + 0.2*float64(k))
				shops = append(shops, schemas.PooledShop{Model: m, Component: c, Shop: fmt.Sprintf("shop %d", k+1), Faults: 8 + k, Visits: 60, Most: 8 + k + 4*(k%2), Share: known(0.15), ShareLow: known(0.08), ShareHigh: known(0.25), Shrunk: known(0.14), ShrunkLow: known(0.1), ShrunkHigh: known(0.2), Odds: known(o), OddsLow: known(o * 0.5), OddsHigh: known(o * 2)})
			}
		}
	}
	write(t, f, dir, "pool", rows)
	write(t, f, dir, "pool_shops", shops)
	write(t, f, dir, "pool_pairs", []schemas.PooledPair{{Model: f.models[0], ComponentA: "earpiece", ComponentB: "loudspeaker", Shops: 4, Both: 40, AOnly: 60, BOnly: 55, Neither: 800, Odds: known(6), OddsLow: known(4), OddsHigh: known(9), HomogP: known(0.4)}})
	write(t, f, dir, "pool_batches", []schemas.PooledBatch{{Component: "battery", Node: "P", Level: "family", Models: f.models[0], Shops: 3, WindowStart: "2026-04-19", WindowEnd: "2026-05-30", Observed: 40, Visits: 200, Expected: known(12), RelativeRisk: known(3.3), P: known(0.001)}})
}

func (f *fixture) quality() []schemas.QualityRow {
	return []schemas.QualityRow{
		{Topic: "accepted", Subject: "repairs.csv", Count: 1204, Note: "rows that became part of a ticket"}, {Topic: "duplicate", Subject: "repairs.csv", Count: 4, Note: "rows that repeat a row already read"},
		{Topic: "emptied", Subject: "ready", Count: 3, Note: "ready before opened"}, {Topic: "folded", Subject: "Lark P3", Count: 12, Note: "Lark P3 64GB black, LARK P3"},
		{Topic: "missing-key", Subject: "fleet", Note: "no failures per 1,000 device-months: how many devices are out there is not known"},
		{Topic: "missing-key", Subject: "target_margin", Note: "no price floor and no list of jobs below target"},
		{Topic: "quarantined", Subject: "repairs.csv", Count: 5, Note: "rows set aside with a reason; correct and ingest them again"},
		{Topic: "read", Subject: "repairs.csv", Count: 1213, Note: "rows read"}, {Topic: "unread", Subject: "visits", Count: 21, Note: "fault text was given and no component could be read from it"},
		{Topic: "unread-value", Subject: "gizmo", Count: 3, Note: `"gizmo" = add to components`},
	}
}
