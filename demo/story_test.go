package demo_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"faultgrain/analysis"
	"faultgrain/demo"
	"faultgrain/ingest"
	"faultgrain/schemas"
)

// The story told in README.md is looked for from outside: the largest shop's files go through ingest and
// analysis, and the tables must hold what truth.go says, each interval covering its truth, and the
// findings nothing firm that nobody put there.

// played is one run of the pipeline over the largest shop; all tests here read it.
type played struct {
	files    demo.ShopFiles
	ingested ingest.Summary
	out      string
	findings []schemas.Finding
}

// storyDir outlives the tests that share it.
var storyDir string

func TestMain(m *testing.M) {
	var err error
	if storyDir, err = os.MkdirTemp("", "faultgrain-story"); err != nil {
		panic(err)
	}
	code := m.Run()
	if err := os.RemoveAll(storyDir); err != nil {
		panic(err)
	}
	os.Exit(code)
}

var write = sync.OnceValues(func() (demo.Files, error) {
	return demo.Write(context.Background(), storyDir, demo.Options{Seed: demo.DefaultSeed})
})

var play = sync.OnceValues(func() (played, error) { return playShop(0) })

// playShop runs the pipeline over one of the shops.
func playShop(i int) (played, error) {
	ctx := context.Background()
	files, err := write()
	if err != nil {
		return played{}, err
	}
	shop := files.Shops[i]
	p := played{files: shop, out: filepath.Join(shop.Dir, "brief")}
	settings, err := schemas.LoadSettings(shop.Settings)
	if err != nil {
		return p, err
	}
	history := filepath.Join(shop.Dir, "history")
	p.ingested, err = ingest.Run(ctx, shop.Logs, ingest.Options{History: history, Settings: settings, Columns: shop.Columns})
	if err != nil {
		return p, err
	}
	if _, err := analysis.Run(ctx, analysis.Options{History: history, Out: p.out, Settings: settings, Seed: 1}); err != nil {
		return p, err
	}
	f, err := os.Open(filepath.Join(p.out, "findings.json"))
	if err != nil {
		return p, err
	}
	defer f.Close()
	found, err := schemas.ReadFindings(f)
	p.findings = found.Findings
	return p, err
}

func story(t *testing.T) played {
	t.Helper()
	if testing.Short() {
		t.Skip("runs the whole pipeline")
	}
	p, err := play()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// rows reads a table and keeps the rows asked for.
func rows[T any](t *testing.T, p played, table string, keep func(T) bool) []T {
	t.Helper()
	f, err := os.Open(filepath.Join(p.out, "tables", table+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := schemas.ReadCSV[T](f, table)
	if err != nil {
		t.Fatal(err)
	}
	return slices.DeleteFunc(all, func(r T) bool { return !keep(r) })
}

// one is the only row that is kept.
func one[T any](t *testing.T, p played, table string, keep func(T) bool) T {
	t.Helper()
	list := rows(t, p, table, keep)
	if len(list) != 1 {
		t.Fatalf("%d rows of %s, want 1: %+v", len(list), table, list)
	}
	return list[0]
}

// covers fails when the interval misses the truth, or tells nothing.
func covers(t *testing.T, what string, low, high schemas.Float, truth float64) {
	t.Helper()
	if !low.OK || low.V > truth || high.OK && high.V < truth {
		t.Errorf("%s: interval %s to %s, want one that covers %v", what, low, high, truth)
	}
}

func below(t *testing.T, what string, got schemas.Float, limit float64) {
	t.Helper()
	if !got.OK || got.V >= limit {
		t.Errorf("%s is %q, want below %v", what, got, limit)
	}
}

// firm lists the headlines of the firm findings of a kind that are about something else.
func firm(p played, kind string, known func(schemas.Subject) bool) []string {
	var list []string
	for _, f := range p.findings {
		if f.Kind == kind && f.Grade == schemas.Firm && !known(f.Subject) {
			list = append(list, f.Headline)
		}
	}
	return list
}

// found tells whether a firm finding of a kind is about the subject.
func found(p played, kind string, is func(schemas.Subject) bool) bool {
	return slices.ContainsFunc(p.findings, func(f schemas.Finding) bool {
		return f.Kind == kind && f.Grade == schemas.Firm && is(f.Subject)
	})
}

func TestStoryRowsAddUp(t *testing.T) {
	p := story(t)
	var read, quarantined, duplicate int64
	for _, f := range p.ingested.Files {
		read, quarantined, duplicate = read+f.Read, quarantined+f.Quarantined, duplicate+f.Duplicate
	}
	if read != int64(p.files.Rows) || quarantined != int64(p.files.Broken) || duplicate != int64(p.files.Duplicates) || p.ingested.Visits != int64(p.files.Tickets) {
		t.Errorf("%d rows read, %d quarantined, %d duplicate, %d visits; want %d, %d, %d, %d", read, quarantined, duplicate, p.ingested.Visits,
			p.files.Rows, p.files.Broken, p.files.Duplicates, p.files.Tickets)
	}
}

func TestStory1Pair(t *testing.T) {
	p := story(t)
	r := one(t, p, "pairs", func(r schemas.Pair) bool {
		return r.Scope == demo.PairModel && r.Unit == "visit" && r.ComponentA == demo.PairA && r.ComponentB == demo.PairB
	})
	covers(t, "odds ratio", r.OddsLow, r.OddsHigh, demo.PairOdds)
	below(t, "q", r.Q, 0.05)
	is := func(s schemas.Subject) bool {
		return (s.Model == demo.PairModel || s.Model == "" || s.Model == schemas.Any) && s.Component == demo.PairA && s.ComponentB == demo.PairB
	}
	if !found(p, schemas.KindPair, is) {
		t.Error("the pair is no firm finding")
	}
	if other := firm(p, schemas.KindPair, is); len(other) > 0 {
		t.Errorf("firm pairs nobody put there: %q", other)
	}
}

func TestStory2Share(t *testing.T) {
	p := story(t)
	r := one(t, p, "shares", func(r schemas.Share) bool {
		return r.Model == demo.ShareModel && r.Component == demo.ShareComponent
	})
	covers(t, "ratio", r.RatioLow, r.RatioHigh, demo.ShareRatio)
	is := func(s schemas.Subject) bool { return s.Model == demo.ShareModel && s.Component == demo.ShareComponent }
	if !found(p, schemas.KindShare, is) {
		t.Error("the hinge is no firm finding")
	}
	if other := firm(p, schemas.KindShare, is); len(other) > 0 {
		t.Errorf("firm shares nobody put there: %q", other)
	}
}

func TestStory3BadLot(t *testing.T) {
	p := story(t)
	list := lotAlarm(t, p)
	warned := slices.ContainsFunc(p.findings, func(f schemas.Finding) bool {
		return f.Kind == schemas.KindBatch && f.Subject.Component == demo.LotComponent && f.Caution != ""
	})
	if !warned {
		t.Error("no finding about the batteries carries a caution")
	}
	linked := slices.IndexFunc(list, func(r schemas.Batch) bool {
		return strings.HasSuffix(r.Link, "lot") && r.LinkValue == demo.Lot && r.LinkQ.OK && r.LinkQ.V < 0.05
	})
	if linked < 0 {
		t.Fatalf("lot %s is linked to no alarm: %+v", demo.Lot, list)
	}
	if got := list[linked].OnShelf; got != schemas.Known(demo.LotOnShelf) {
		t.Errorf("%q of the lot on the shelf, want %d", got, demo.LotOnShelf)
	}
	if got := list[linked].UnderWarranty; !got.OK || got.V < 1 {
		t.Errorf("%q devices under warranty, want some", got)
	}
}

// The smaller shops saw a third of it: the alarm, the lot and its start are found all the same.
func TestStory3BadLotInEveryShop(t *testing.T) {
	story(t) // writes the logs, or skips
	for _, i := range []int{1, 2} {
		p, err := playShop(i)
		if err != nil {
			t.Fatal(err)
		}
		t.Run(filepath.Base(p.files.Dir), func(t *testing.T) {
			list := lotAlarm(t, p)
			if !slices.ContainsFunc(list, func(r schemas.Batch) bool { return r.Link == "earlier_lot" && r.LinkValue == demo.Lot }) {
				t.Errorf("lot %s is linked to no alarm: %+v", demo.Lot, list)
			}
		})
	}
}

// lotAlarm checks the alarm about the bad lot, its models and its start, and that there is no other. It returns the rows
// about the component.
func lotAlarm(t *testing.T, p played) []schemas.Batch {
	t.Helper()
	list := rows(t, p, "batches", func(r schemas.Batch) bool { return r.Component == demo.LotComponent })
	at := slices.IndexFunc(list, func(r schemas.Batch) bool { return r.P.OK })
	if at < 0 {
		t.Fatalf("no alarm about batteries among %+v", list)
	}
	alarm := list[at]
	if got := strings.Split(alarm.Models, ";"); !slices.Equal(got, demo.LotModels()) {
		t.Errorf("models %q, want %q", got, demo.LotModels())
	}
	start, err := time.Parse(time.DateOnly, alarm.WindowStart)
	if err != nil {
		t.Fatal(err)
	}
	if off := start.Sub(demo.LotOnset).Abs(); off > 7*24*time.Hour {
		t.Errorf("window starts on %s, want %s within a week", alarm.WindowStart, demo.LotOnset.Format(time.DateOnly))
	}
	others := rows(t, p, "batches", func(r schemas.Batch) bool { return r.Component != demo.LotComponent && r.P.OK })
	if len(others) > 0 {
		t.Errorf("alarms nobody put there: %+v", others)
	}
	return list
}

func TestStory4Return(t *testing.T) {
	p := story(t)
	r := one(t, p, "returns", func(r schemas.Return) bool {
		return r.Component == demo.ReturnComponent && r.By == "grade" && r.Value == demo.ReturnGrade
	})
	covers(t, "hazard ratio", r.RatioLow, r.RatioHigh, demo.ReturnHazard)
	below(t, "q", r.Q, 0.05)
	other := firm(p, schemas.KindReturn, func(s schemas.Subject) bool {
		return s.Component == demo.ReturnComponent && s.Grade == demo.ReturnGrade || s.Component == demo.LotComponent
	})
	if len(other) > 0 {
		t.Errorf("firm returns nobody put there: %q", other)
	}
}

func TestStory5Price(t *testing.T) {
	p := story(t)
	r := one(t, p, "prices", func(r schemas.Price) bool {
		return r.Model == demo.PriceModel && r.Component == demo.PriceComponent
	})
	if r.Z.V < 3.5 {
		t.Errorf("robust z is %q, want above 3.5 (Iglewicz and Hoaglin)", r.Z)
	}
	for _, c := range []struct {
		what  string
		got   schemas.Float
		truth float64
	}{{"latest", r.CostLatest, demo.PriceAfter}, {"before", r.CostBefore, demo.PriceBefore}, {"usual", r.CostUsual, demo.PriceUsual}} {
		if !c.got.OK || c.got.V < 0.85*c.truth || c.got.V > 1.15*c.truth {
			t.Errorf("cost %s is %q, want about %.2f", c.what, c.got, c.truth)
		}
	}
	if want := firstDearPurchase().Format(time.DateOnly); r.JumpOn != want {
		t.Errorf("jump on %q, want %s, the first purchase at the new price", r.JumpOn, want)
	}
	is := func(s schemas.Subject) bool { return s.Model == demo.PriceModel && s.Component == demo.PriceComponent }
	if !found(p, schemas.KindPrice, is) {
		t.Error("the price is no firm finding")
	}
	if other := firm(p, schemas.KindPrice, is); len(other) > 0 {
		t.Errorf("firm prices nobody put there: %q", other)
	}
}

// firstDearPurchase is the day of the first part line of truth 5 at the new price in the largest shop.
func firstDearPurchase() time.Time {
	for _, k := range demo.Shops(demo.Options{Seed: demo.DefaultSeed})[0].Tickets {
		for _, l := range k.Lines {
			if k.Device.Model.Name() == demo.PriceModel && l.Component == demo.PriceComponent && !k.Opened.Before(demo.PriceJump) {
				return k.Opened
			}
		}
	}
	return time.Time{}
}

func TestStory6Trend(t *testing.T) {
	p := story(t)
	list := rows(t, p, "trends", func(r schemas.Trend) bool {
		return r.Class == demo.RisingClass && r.Model == schemas.Any && r.Component == demo.RisingComponent
	})
	if len(list) == 0 {
		t.Fatal("no such series")
	}
	last := slices.MaxFunc(list, func(a, b schemas.Trend) int { return strings.Compare(a.Month, b.Month) })
	if last.Direction != "rising" {
		t.Errorf("direction is %q, want rising", last.Direction)
	}
	below(t, "q", last.Q, 0.05)
	other := firm(p, schemas.KindTrend, func(s schemas.Subject) bool {
		return s.Component == demo.RisingComponent || s.Component == demo.LotComponent && strings.Contains(s.Model, demo.LotFamily)
	})
	if len(other) > 0 {
		t.Errorf("firm trends nobody put there: %q", other)
	}
}

func TestStory7Demand(t *testing.T) {
	p := story(t)
	r := one(t, p, "stock", func(r schemas.StockLine) bool { return r.Part == demo.DemandPart })
	// A forecast that remembers half a year has a standard deviation of sqrt(2/26) = 0.28 a week.
	if !r.WeeklyMean.OK || r.WeeklyMean.V < demo.DemandWeekly-0.85 || r.WeeklyMean.V > demo.DemandWeekly+0.85 {
		t.Errorf("weekly mean is %q, want about %v", r.WeeklyMean, demo.DemandWeekly)
	}
}

func TestStory8TogetherSaves(t *testing.T) {
	p := story(t)
	r := one(t, p, "times", func(r schemas.Time) bool {
		return r.Model == demo.PairModel && r.Component == demo.PairA && r.ComponentB == demo.PairB
	})
	covers(t, "minutes saved", r.SavesLow, r.SavesHigh, demo.TogetherSaves())
	is := func(s schemas.Subject) bool { return s.Component == demo.PairA && s.ComponentB == demo.PairB }
	if other := firm(p, schemas.KindTime, is); len(other) > 0 {
		t.Errorf("firm savings nobody put there: %q", other)
	}
}
