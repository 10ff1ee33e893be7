package demo_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"faultgrain/demo"
	"faultgrain/schemas"
)

// On the made-up shop's own last year, ordering by the forecast costs no more than by any other rule: this holds for
// the shop as it was written, not only on average as in analysis/calibrate.
func TestStoryBacktest(t *testing.T) {
	p := story(t)
	list := rows(t, p, "backtest", func(schemas.Backtest) bool { return true })
	if len(list) < 6 || list[0].Policy != "this forecast" || !list[0].Cost.OK {
		t.Fatalf("backtest %+v, want this forecast first, with its cost", list)
	}
	for _, r := range list[1:] {
		if !r.Cost.OK || r.Cost.V < list[0].Cost.V {
			t.Errorf("%s would have cost %v, this forecast %v", r.Policy, r.Cost, list[0].Cost)
		}
	}
}

func TestStoryDemandInterval(t *testing.T) {
	r := one(t, story(t), "stock", func(r schemas.StockLine) bool { return r.Part == demo.DemandPart })
	covers(t, "weekly demand", r.WeeklyLow, r.WeeklyHigh, demo.DemandWeekly)
	if r.WeeklyHigh.V-r.WeeklyLow.V > demo.DemandWeekly {
		t.Errorf("weekly demand from %v to %v: tells too little", r.WeeklyLow, r.WeeklyHigh)
	}
}

// The pair of truth 1 is ordered together; no piece of the bad lot of truth 3 is counted on; each supplier has a list.
func TestStoryOrders(t *testing.T) {
	p := story(t)
	pair := rows(t, p, "stock", func(r schemas.StockLine) bool {
		return strings.Contains(r.Fits, demo.PairModel) && (r.Component == demo.PairA || r.Component == demo.PairB)
	})
	if len(pair) != 2 || pair[0].WithPart != pair[1].Part || pair[1].WithPart != pair[0].Part {
		t.Errorf("parts of the pair %+v, want each to be ordered with the other", pair)
	}
	bad := one(t, p, "stock", func(r schemas.StockLine) bool { return r.Part == demo.LotPartNo })
	if want := bad.OrderUpTo.V - bad.OnHand.V - bad.OnOrder.V; bad.Order.V <= want {
		t.Errorf("order %v of %s, want more than %v, for the bad lot on the shelf does not count", bad.Order, bad.Part, want)
	}
	whole := rows(t, p, "order", func(schemas.OrderLine) bool { return true })
	files, err := filepath.Glob(filepath.Join(p.out, "tables", "orders", "*.csv"))
	if err != nil {
		t.Fatal(err)
	}
	var apart []schemas.OrderLine
	for _, name := range files {
		f, err := os.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		list, err := schemas.ReadCSV[schemas.OrderLine](f, name)
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		apart = append(apart, list...)
	}
	if len(whole) == 0 || !slices.Equal(whole, apart) {
		t.Errorf("order.csv holds %d lines, the lists of %d suppliers %d; want the same lines", len(whole), len(files), len(apart))
	}
}
