package pool

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"faultgrain/analysis/bundle"
	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/analysis/tally/tallytest"
	"faultgrain/schemas"
)

// A maker-up of visits: volume a month and model, and the share of each component, by month.
type story struct {
	months, volume int
	models         []string
	share          func(model, component string, month int) float64
}

var components = []string{"battery", "display", "earpiece"}

func (s story) visits(seed uint64) []tallytest.Visit {
	r := rand.New(rand.NewPCG(seed, 5))
	var list []tallytest.Visit
	for m := range s.months {
		for _, model := range s.models {
			maker, family, _ := strings.Cut(model, " ")
			for i := range s.volume {
				v := tallytest.Visit{Class: "phone", Maker: maker, Family: strings.Fields(family)[0], Model: model, Outcome: schemas.NoFault,
					Opened: time.Date(2024, time.Month(1+m), 1+i*27/s.volume, 12, 0, 0, 0, time.UTC)}
				for _, c := range components {
					if r.Float64() < s.share(model, c, m) {
						v.Faults, v.Outcome = append(v.Faults, c), schemas.Repaired
					}
				}
				list = append(list, v)
			}
		}
	}
	// The last month is over.
	list = append(list, tallytest.Visit{Class: "phone", Maker: "Lark", Model: "Lark 0", Opened: time.Date(2024, time.Month(1+s.months), 0, 12, 0, 0, 0, time.UTC)})
	return list
}

func even(share float64) func(string, string, int) float64 {
	return func(string, string, int) float64 { return share }
}

// shared makes a shop's bundle and returns its path.
func shared(tb testing.TB, name string, visits []tallytest.Visit) string {
	tb.Helper()
	dir := tallytest.History(tb, tallytest.Segment{Visits: visits})
	log := tallytest.OpenDir(tb, dir, tally.Options{})
	mark, err := bundle.Mark(dir)
	if err != nil {
		tb.Fatal(err)
	}
	made, err := bundle.Make(tb.Context(), log, bundle.Options{Mark: mark})
	if err != nil {
		tb.Fatal(err)
	}
	path := filepath.Join(tb.TempDir(), name+".zip")
	if err := bundle.Save(path, made.Write); err != nil {
		tb.Fatal(err)
	}
	return path
}

func pooled(tb testing.TB, paths ...string) *Tables {
	tb.Helper()
	shops, err := Load(tb.Context(), paths)
	if err != nil {
		tb.Fatal(err)
	}
	t, err := Compute(tb.Context(), shops, Options{Seed: 1, Replicates: 199})
	if err != nil {
		tb.Fatal(err)
	}
	return t
}

func TestAHistorySplitOverShopsAddsUpToTheWhole(t *testing.T) {
	// Every month of every shop holds enough of everything: nothing is withheld.
	all := story{months: 4, volume: 300, models: []string{"Lark 7", "Corvo 2 Mini"}, share: even(0.4)}.visits(1)
	whole := pooled(t, shared(t, "whole", all))
	const k = 3
	var paths []string
	for i := range k {
		var own []tallytest.Visit
		for j, v := range all {
			if j%k == i {
				own = append(own, v)
			}
		}
		own = append(own, all[len(all)-1]) // each log ends on the same day
		paths = append(paths, shared(t, fmt.Sprint(i), own))
	}
	split := pooled(t, paths...)
	if len(whole.Pool) != 2*len(components) || len(split.Pool) != len(whole.Pool) || len(whole.Pairs) != 4 || len(split.Pairs) != len(whole.Pairs) {
		t.Fatalf("%d and %d rows, %d and %d pairs: want 6 each, and 4 (two of three pairs of each model, which close no circle)", len(whole.Pool), len(split.Pool), len(whole.Pairs), len(split.Pairs))
	}
	faults := map[key]int{}
	for _, v := range all {
		for _, c := range v.Faults {
			faults[key{v.Model, c}]++
		}
	}
	for i, w := range whole.Pool {
		s := split.Pool[i]
		if s.Faults != w.Faults || s.Visits != w.Visits || s.Most != w.Most || s.Model != w.Model || s.Component != w.Component || w.Most != w.Faults {
			t.Errorf("whole %+v\nsplit %+v", w, s)
		}
		if w.Faults != faults[key{w.Model, w.Component}] || w.Visits != 1200 {
			t.Errorf("%s of %s: %d of %d, want %d of 1200", w.Component, w.Model, w.Faults, w.Visits, faults[key{w.Model, w.Component}])
		}
		if s.Shops != k {
			t.Errorf("%d shops, want %d", s.Shops, k)
		}
	}
	for i, w := range whole.Pairs {
		if s := split.Pairs[i]; s.Both != w.Both || s.AOnly != w.AOnly || s.BOnly != w.BOnly || s.Neither != w.Neither {
			t.Errorf("whole %+v\nsplit %+v", w, s)
		}
	}
}

// What is withheld is an interval that holds the truth.
func TestWithheldCountsAreIntervals(t *testing.T) {
	withheld := 0
	for seed := range uint64(3) {
		all := story{months: 9, volume: 14, models: []string{"Lark 7", "Lark 8", "Corvo 2"}, share: func(_, c string, _ int) float64 {
			return map[string]float64{"battery": 0.3, "display": 0.1, "earpiece": 0.03}[c]
		}}.visits(seed)
		shops, err := Load(t.Context(), []string{shared(t, "a", all), shared(t, "b", story{months: 9, volume: 40, models: []string{"Lark 7", "Lark 8"}, share: even(0.2)}.visits(seed+50))})
		if err != nil {
			t.Fatal(err)
		}
		tables, err := Compute(t.Context(), shops, Options{Seed: 1, Replicates: 99})
		if err != nil {
			t.Fatal(err)
		}
		ends := map[string]bundle.Month{}
		for _, v := range shops[0].Visits {
			ends[v.Model] = v.To
		}
		for _, r := range tables.Shops {
			if r.Shop != "shop 1" {
				continue
			}
			truth := 0
			for _, v := range all {
				if v.Model == r.Model && bundle.MonthOf(v.Opened) <= ends[r.Model] {
					for _, c := range v.Faults {
						if c == r.Component {
							truth++
						}
					}
				}
			}
			if r.Most > r.Faults {
				withheld++
			}
			if truth < r.Faults || truth > r.Most || r.ShareLow.V > float64(truth)/float64(r.Visits) || r.ShareHigh.V < float64(truth)/float64(r.Visits) {
				t.Errorf("seed %d: truth %d, %+v", seed, truth, r)
			}
			if !(r.ShareLow.V <= r.Share.V && r.Share.V <= r.ShareHigh.V && r.Shrunk.OK == (r.Model != "Corvo 2")) {
				t.Errorf("%+v", r)
			}
		}
	}
	if withheld < 5 {
		t.Errorf("%d rows with something withheld: the test tests nothing", withheld)
	}
}

func TestTheSameShopTwiceIsRefused(t *testing.T) {
	visits := story{months: 9, volume: 40, models: []string{"Lark 7", "Lark 8"}, share: even(0.3)}.visits(3)
	one := shared(t, "one", visits)
	raw, err := os.ReadFile(one)
	if err != nil {
		t.Fatal(err)
	}
	copied := filepath.Join(t.TempDir(), "copy.zip")
	if err := os.WriteFile(copied, raw, 0o644); err != nil {
		t.Fatal(err)
	}
	for what, other := range map[string]string{"a copy": copied, "the same log in another history": shared(t, "again", visits)} {
		if _, err := Load(t.Context(), []string{one, other}); !errors.Is(err, ErrTwice) || !strings.Contains(err.Error(), filepath.Base(other)) {
			t.Errorf("%s: %v, want ErrTwice with its name", what, err)
		}
	}
	if _, err := Load(t.Context(), []string{one, shared(t, "other", story{months: 9, volume: 41, models: []string{"Lark 7"}, share: even(0.3)}.visits(4))}); err != nil {
		t.Errorf("another shop: %v", err)
	}
}

// BCG trials: Colditz et al. (1994), JAMA 271, 698-702, as in R's metafor (dat.bcg); values of metafor 4.x, measure OR:
// rma.mh and rma(method = "DL").
func TestBCG(t *testing.T) {
	tables := []stat.Table2{{A: 4, B: 119, C: 11, D: 128}, {A: 6, B: 300, C: 29, D: 274}, {A: 3, B: 228, C: 11, D: 209}, {A: 62, B: 13536, C: 248, D: 12619},
		{A: 33, B: 5036, C: 47, D: 5761}, {A: 180, B: 1361, C: 372, D: 1079}, {A: 8, B: 2537, C: 10, D: 619}, {A: 505, B: 87886, C: 499, D: 87892},
		{A: 29, B: 7470, C: 45, D: 7232}, {A: 17, B: 1699, C: 65, D: 1600}, {A: 186, B: 50448, C: 141, D: 27197}, {A: 5, B: 2493, C: 3, D: 2338}, {A: 27, B: 16886, C: 29, D: 17825}}
	var r schemas.Pooled
	each := make([]schemas.PooledShop, len(tables))
	if err := errors.Join(setOdds(&r, tables, tables, tables), setRandom(&r, each, tables)); err != nil {
		t.Fatal(err)
	}
	near := func(what string, got, want, tol float64) {
		t.Helper()
		if math.Abs(got-want) > tol {
			t.Errorf("%s %v, want %v", what, got, want)
		}
	}
	near("log MH odds ratio", math.Log(r.Odds.V), -0.473410988388585, 1e-9)
	near("lower", math.Log(r.OddsLow.V), -0.553784757146878, 1e-9)
	near("upper", math.Log(r.OddsHigh.V), -0.393037219630292, 1e-9)
	near("log DL odds ratio", math.Log(r.Random.V), -0.747392349732137, 1e-9)
	near("tau squared", r.Tau2.V, 0.3663434067256, 1e-9)
	near("I squared", r.I2.V, (163.1649151808-12)/163.1649151808, 1e-9)
	if r.Method != randomEffects {
		t.Errorf("method %s: these studies differ", r.Method)
	}
}

// A lot that came to three shops in the last two months, and months with nothing in them.
func TestScanOverShops(t *testing.T) {
	quiet := func(_, c string, _ int) float64 {
		return map[string]float64{"battery": 0.15, "display": 0.25, "earpiece": 0.1}[c]
	}
	bad := func(model, c string, month int) float64 {
		if strings.HasPrefix(model, "Lark 7") && c == "battery" && month >= 16 {
			return 0.5
		}
		return quiet(model, c, month)
	}
	for name, tc := range map[string]struct {
		share func(string, string, int) float64
		want  int
	}{"bad": {bad, 1}, "quiet": {quiet, 0}} {
		var paths []string
		for shop := range uint64(3) {
			s := story{months: 18, volume: 12, models: []string{"Lark 7", "Lark 7 Plus", "Corvo 2", "Corvo 3"}, share: tc.share}
			paths = append(paths, shared(t, fmt.Sprint(name, shop), s.visits(shop)))
		}
		rows := pooled(t, paths...).Batches
		if len(rows) != tc.want {
			t.Errorf("%s: %d alarms, want %d: %+v", name, len(rows), tc.want, rows)
			continue
		}
		for _, r := range rows {
			if r.Component != "battery" || !strings.HasPrefix(r.Node, "Lark") || r.Shops != 3 || r.WindowEnd != "2025-06-30" {
				t.Errorf("alarm %+v", r)
			}
		}
	}
}

func TestWriteLeavesOtherTables(t *testing.T) {
	out := t.TempDir()
	if err := os.MkdirAll(filepath.Join(out, "tables"), 0o755); err != nil {
		t.Fatal(err)
	}
	own := filepath.Join(out, "tables", "shares.csv")
	if err := os.WriteFile(own, []byte("x\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	tables := &Tables{Pool: []schemas.Pooled{{Model: "Lark 7", Component: "battery", Odds: schemas.Known(2)}}}
	if err := tables.Write(out); err != nil {
		t.Fatal(err)
	}
	if b, err := os.ReadFile(own); err != nil || string(b) != "x\n" {
		t.Errorf("shares.csv: %q, %v", b, err)
	}
	f, err := os.Open(filepath.Join(out, "tables", "pool.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if rows, err := schemas.ReadCSV[schemas.Pooled](f, "pool.csv"); err != nil || len(rows) != 1 || rows[0] != tables.Pool[0] {
		t.Errorf("%v, %v", rows, err)
	}
}

// 200 bundles: read, check and pool.
func BenchmarkPool200(b *testing.B) {
	var paths []string
	models := []string{}
	for i := range 20 {
		models = append(models, fmt.Sprintf("Lark %d", i))
	}
	for shop := range uint64(200) {
		s := story{months: 24, volume: 4, models: models, share: func(_, c string, _ int) float64 {
			return map[string]float64{"battery": 0.3, "display": 0.25, "earpiece": 0.1}[c]
		}}
		paths = append(paths, shared(b, fmt.Sprint(shop), s.visits(shop)))
	}
	for b.Loop() {
		shops, err := Load(b.Context(), paths)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := Compute(b.Context(), shops, Options{Seed: 1}); err != nil {
			b.Fatal(err)
		}
	}
}
