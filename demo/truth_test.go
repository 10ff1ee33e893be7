package demo

import (
	"math"
	"slices"
	"sort"
	"testing"
	"time"
)

// The truths are counted here from the generator's own records with nothing but arithmetic, so that a
// test elsewhere which finds them leans on a fact. Bounds are four standard errors.

var seeds = []uint64{DefaultSeed, 501, 502}

// made keeps the shops of each seed: the tests only read them.
var made = map[uint64][]Shop{}

func shopsOf(seed uint64) []Shop {
	if made[seed] == nil {
		made[seed] = Shops(Options{Seed: seed})
	}
	return made[seed]
}

func ticketsOf(shops []Shop) []Ticket {
	var list []Ticket
	for _, s := range shops {
		list = append(list, s.Tickets...)
	}
	return list
}

func TestSizeIsAsStated(t *testing.T) {
	for _, seed := range seeds {
		shops := shopsOf(seed)
		n := 0
		for _, s := range shops {
			n += len(s.Tickets)
		}
		if math.Abs(float64(n)-Tickets) > 0.04*Tickets {
			t.Errorf("seed %d: %d tickets, want about %d", seed, n, Tickets)
		}
		if s := Shops(Options{Seed: seed, Tickets: 3_000}); math.Abs(float64(len(s[0].Tickets))-3_000/1.85) > 200 {
			t.Errorf("seed %d: %d tickets in shop one of 3,000, want about %d", seed, len(s[0].Tickets), 1621)
		}
	}
}

// table counts first-only, second-only, both and neither over the diagnosed visits kept.
func table(list []Ticket, a, b string, keep func(*Ticket) bool) (both, onlyA, onlyB, neither float64) {
	for i := range list {
		k := &list[i]
		if !keep(k) {
			continue
		}
		switch {
		case k.Has(a) && k.Has(b):
			both++
		case k.Has(a):
			onlyA++
		case k.Has(b):
			onlyB++
		default:
			neither++
		}
	}
	return both, onlyA, onlyB, neither
}

func TestTruth1PairFailsTogetherOnOneModel(t *testing.T) {
	for _, seed := range seeds {
		list := ticketsOf(shopsOf(seed))
		both, a, b, neither := table(list, PairA, PairB, func(k *Ticket) bool { return k.Device.Model.Name() == PairModel && !k.Return })
		odds := both * neither / (a * b)
		se := math.Sqrt(1/both + 1/a + 1/b + 1/neither)
		if math.Abs(math.Log(odds/PairOdds)) > 4*se {
			t.Errorf("seed %d: odds ratio %.2f, want %.1f within a factor of %.2f", seed, odds, PairOdds, math.Exp(4*se))
		}
		if both < 30 {
			t.Errorf("seed %d: %v visits with both, too few to be found", seed, both)
		}
		elsewhere, oa, ob, on := table(list, PairA, PairB, func(k *Ticket) bool {
			return k.Device.Model.Class == "phone" && k.Device.Model.Name() != PairModel
		})
		if elsewhere*on/(oa*ob) > 1 {
			t.Errorf("seed %d: odds ratio %.2f on other phones, want below 1", seed, elsewhere*on/(oa*ob))
		}
		for _, c := range []struct {
			id        string
			here, out float64
		}{{PairA, (both + a) / (both + a + b + neither), (elsewhere + oa) / (elsewhere + oa + ob + on)},
			{PairB, (both + b) / (both + a + b + neither), (elsewhere + ob) / (elsewhere + oa + ob + on)}} {
			if se := math.Sqrt(c.out * (1 - c.out) / (both + a + b + neither)); math.Abs(c.here-c.out) > 4*se {
				t.Errorf("seed %d: %s share %.3f on the model, %.3f elsewhere: the pair alone should be news", seed, c.id, c.here, c.out)
			}
		}
	}
}

func TestTruth2ShareOfOneModel(t *testing.T) {
	for _, seed := range seeds {
		list := ticketsOf(shopsOf(seed))
		var f, n, cf, cn float64
		for i := range list {
			k := &list[i]
			if k.Device.Model.Class != "laptop" || k.Return {
				continue
			}
			hit := 0.0
			if k.Has(ShareComponent) {
				hit = 1
			}
			if k.Device.Model.Name() == ShareModel {
				f, n = f+hit, n+1
			} else {
				cf, cn = cf+hit, cn+1
			}
		}
		// Second faults lift the class's share a little more than the model's: within 4 se and 10%.
		ratio, se := f/n/(cf/cn), math.Sqrt(1/f-1/n+1/cf-1/cn)
		if math.Abs(math.Log(ratio/ShareRatio)) > 4*se {
			t.Errorf("seed %d: ratio %.2f (%v of %v against %v of %v), want %.1f", seed, ratio, f, n, cf, cn, ShareRatio)
		}
	}
}

func TestTruth3BadLotComesBackInTheLastWeeks(t *testing.T) {
	if got := LotOnset.AddDate(0, 0, 7*LotWeeks-1); !got.Equal(LastDay) {
		t.Fatalf("onset and %d weeks end on %v, want %v", LotWeeks, got, LastDay)
	}
	for _, seed := range seeds {
		for _, shop := range shopsOf(seed) {
			carries := map[*Device]bool{}
			early, cases, untold := 0, 0, 0
			var window, windowBattery, before, beforeBattery float64
			for i := range shop.Tickets {
				k := &shop.Tickets[i]
				if k.FromLot {
					cases++
					if !carries[k.Device] {
						untold++ // fitted on a visit that logged no part line
					}
					if !k.Has(LotComponent) || k.Opened.Before(LotOnset) || !slices.Contains(LotModels(), k.Device.Model.Name()) {
						t.Fatalf("seed %d: ticket %s is no visit of the bad lot", seed, k.Number)
					}
				}
				for _, l := range k.Lines {
					if l.Lot == Lot {
						if l.PartNo != LotPartNo || l.Supplier != LotSupplier || l.Grade != LotGrade || l.Component != LotComponent {
							t.Fatalf("seed %d: lot on another part: %+v", seed, l)
						}
						carries[k.Device] = true
						if k.Ready.Before(LotOnset.AddDate(0, 0, -3)) {
							early++
						}
					}
				}
				if k.Device.Model.Family == LotFamily {
					hit := 0.0
					if k.Has(LotComponent) {
						hit = 1
					}
					if k.Opened.Before(LotOnset) {
						before, beforeBattery = before+1, beforeBattery+hit
					} else {
						window, windowBattery = window+1, windowBattery+hit
					}
				}
			}
			if untold > 2+cases/5 {
				t.Errorf("seed %d: shop %s: the log tells the lot of only %d of %d cases", seed, shop.Key, cases-untold, cases)
			}
			if early == 0 {
				t.Fatalf("seed %d: shop %s fitted none of the lot before the onset", seed, shop.Key)
			}
			if risk := windowBattery / window / (beforeBattery / before); shop.Size == 1 && risk < 1.8 {
				t.Errorf("seed %d: shop %s: battery share %.1f times the usual, want at least 1.8 (%v of %v)", seed, shop.Key, risk, windowBattery, window)
			}
			if shop.Size == 1 && cases < 25 {
				t.Errorf("seed %d: %d cases in shop one, too few to be found there alone", seed, cases)
			}
		}
	}
}

// follow counts returns and exposure in days over the first ReturnHorizon days of every fitted part.
func follow(list []Ticket, keep func(l Line) bool) (events, days float64) {
	visits := map[*Device][]*Ticket{}
	for i := range list {
		visits[list[i].Device] = append(visits[list[i].Device], &list[i])
	}
	for i := range list {
		k := &list[i]
		for _, l := range k.Lines {
			if !keep(l) {
				continue
			}
			until := math.Min(ReturnHorizon, LastDay.Add(24*time.Hour).Sub(k.Ready).Hours()/24)
			back := math.Inf(1)
			for _, v := range visits[k.Device] {
				if v.Return && v.Opened.After(k.Ready) && v.Has(l.Component) {
					back = math.Min(back, v.Opened.Sub(k.Ready).Hours()/24)
				}
			}
			if back <= until {
				events, until = events+1, back
			}
			days += until
		}
	}
	return events, days
}

func TestTruth4GradeComesBack(t *testing.T) {
	for _, seed := range seeds {
		list := ticketsOf(shopsOf(seed))
		bad, badDays := follow(list, func(l Line) bool { return l.Component == ReturnComponent && l.Grade == ReturnGrade })
		good, goodDays := follow(list, func(l Line) bool { return l.Component == ReturnComponent && l.Grade != ReturnGrade })
		ratio, se := bad/badDays/(good/goodDays), math.Sqrt(1/bad+1/good)
		if math.Abs(math.Log(ratio/ReturnHazard)) > 4*se {
			t.Errorf("seed %d: hazard ratio %.2f, want %.1f within a factor of %.2f", seed, ratio, ReturnHazard, math.Exp(4*se))
		}
		other, otherDays := follow(list, func(l Line) bool {
			return l.Component != ReturnComponent && l.Lot != Lot && l.Component != DemandComponent
		})
		want := -math.Log(1-ReturnBase) / 90
		if got := other / otherDays; math.Abs(math.Log(got/want)) > 4/math.Sqrt(other) {
			t.Errorf("seed %d: hazard %.6f a day elsewhere, want %.6f", seed, got, want)
		}
	}
}

func median(v []float64) float64 {
	sort.Float64s(v)
	return v[len(v)/2]
}

func TestTruth5PriceTripled(t *testing.T) {
	for _, seed := range seeds {
		var before, after, usual []float64
		for _, k := range ticketsOf(shopsOf(seed)) {
			for _, l := range k.Lines {
				switch {
				case l.Component != PriceComponent || k.Device.Model.Class != "phone":
				case k.Device.Model.Name() != PriceModel:
					usual = append(usual, l.UnitCost)
				case k.Opened.Before(PriceJump):
					before = append(before, l.UnitCost)
				default:
					after = append(after, l.UnitCost)
				}
			}
		}
		if len(before) < 10 || len(after) < 10 {
			t.Fatalf("seed %d: %d lines before and %d after, too few", seed, len(before), len(after))
		}
		for _, c := range []struct {
			name      string
			got, want float64
		}{{"before", median(before), PriceBefore}, {"after", median(after), PriceAfter}, {"usual", median(usual), PriceUsual}} {
			if math.Abs(c.got/c.want-1) > 0.12 {
				t.Errorf("seed %d: median %s %.2f, want about %.2f", seed, c.name, c.got, c.want)
			}
		}
	}
}

func TestTruth6ChargePortsRise(t *testing.T) {
	if got := rising(LastDay); math.Abs(got-RisingTo) > 1e-9 {
		t.Errorf("share on the last day %.4f, want %.2f", got, RisingTo)
	}
	if got := rising(FirstDay); math.Abs(got-RisingFrom) > 1e-9 {
		t.Errorf("share on the first day %.4f, want %.2f", got, RisingFrom)
	}
	for _, seed := range seeds {
		var n, f [5]float64 // by quarter of the last fifteen months
		list := ticketsOf(shopsOf(seed))
		for i := range list {
			k := &list[i]
			q := 4 - int(LastDay.AddDate(0, 0, 1).Sub(k.Opened).Hours()/24/91.3)
			if k.Device.Model.Class != RisingClass || k.Return || q < 0 || k.Device.Model.Name() == PairModel {
				continue
			}
			n[q]++
			if k.Has(RisingComponent) {
				f[q]++
			}
		}
		for q := range n {
			middle := LastDay.AddDate(0, 0, -int((4.5-float64(q))*91.3))
			want := rising(middle) * 1.08 // second faults add a little
			if got := f[q] / n[q]; math.Abs(got-want) > 4*math.Sqrt(want*(1-want)/n[q]) {
				t.Errorf("seed %d: quarter %d: share %.3f, want %.3f", seed, q, got, want)
			}
		}
	}
}

func TestTruth7DemandIsAPoissonCount(t *testing.T) {
	for _, seed := range seeds {
		for _, shop := range shopsOf(seed) {
			weeks := int(LastDay.Sub(FirstDay).Hours()/24/7) - 1 // the last days are still on the bench
			count := make([]float64, weeks)
			for _, k := range shop.Tickets {
				for _, l := range k.Lines {
					if w := int(k.Opened.Sub(FirstDay).Hours() / 24 / 7); l.PartNo == DemandPart && w < weeks {
						count[w] += float64(l.Quantity)
					}
				}
			}
			mean, n := 0.0, float64(weeks)
			for _, c := range count {
				mean += c / n
			}
			dispersion := 0.0
			for _, c := range count {
				dispersion += (c - mean) * (c - mean) / mean / (n - 1)
			}
			want := DemandWeekly * shop.Size
			if math.Abs(mean-want) > 4*math.Sqrt(want/n)+0.03*want { // holidays close a day or two a year
				t.Errorf("seed %d: shop %s: %.2f a week, want %.2f", seed, shop.Key, mean, want)
			}
			if math.Abs(dispersion-1) > 4*math.Sqrt(2/(n-1)) {
				t.Errorf("seed %d: shop %s: index of dispersion %.2f, want 1", seed, shop.Key, dispersion)
			}
		}
	}
}

func TestTruth8TogetherSavesMinutes(t *testing.T) {
	for _, seed := range seeds {
		var sum, square, n [3]float64
		for _, k := range ticketsOf(shopsOf(seed)) {
			at := -1
			switch {
			case k.Device.Model.Class != "phone" || k.Outcome != "repaired":
			case len(k.Faults) == 1 && k.Faults[0] == PairA:
				at = 0
			case len(k.Faults) == 1 && k.Faults[0] == PairB:
				at = 1
			case len(k.Faults) == 2 && k.Has(PairA) && k.Has(PairB):
				at = 2
			}
			if at >= 0 {
				sum[at], square[at], n[at] = sum[at]+k.Minutes, square[at]+k.Minutes*k.Minutes, n[at]+1
			}
		}
		saves, variance := 0.0, 0.0
		for i, sign := range []float64{1, 1, -1} {
			mean := sum[i] / n[i]
			saves += sign * mean
			variance += (square[i]/n[i] - mean*mean) / n[i]
		}
		if math.Abs(saves-TogetherSaves()) > 4*math.Sqrt(variance) {
			t.Errorf("seed %d: saves %.1f minutes, want %.1f within %.1f", seed, saves, TogetherSaves(), 4*math.Sqrt(variance))
		}
	}
}

// Everything else is noise: no other model's share of a component, in any half year, is off.
func TestNothingElse(t *testing.T) {
	type cell struct {
		model, component string
		half             int
	}
	for _, seed := range seeds {
		hits, visits, classHits, classVisits := map[cell]float64{}, map[cell]float64{}, map[cell]float64{}, map[cell]float64{}
		for _, k := range ticketsOf(shopsOf(seed)) {
			m := k.Device.Model
			if k.Return || m.Name() == ShareModel {
				continue
			}
			half := int(k.Opened.Sub(FirstDay).Hours() / 24 / 183)
			for _, c := range classes()[m.Class] {
				at, class := cell{m.Name(), c.id, half}, cell{m.Class, c.id, half}
				visits[at]++
				classVisits[class]++
				if k.Has(c.id) {
					hits[at]++
					classHits[class]++
				}
			}
		}
		for at, n := range visits {
			class := ""
			for _, m := range models() {
				if m.Name() == at.model {
					class = m.Class
				}
			}
			of := cell{class, at.component, at.half}
			p := classHits[of] / classVisits[of]
			if want := n * p; want >= 5 {
				if z := (hits[at] - want) / math.Sqrt(want*(1-p)); math.Abs(z) > 5 {
					t.Errorf("seed %d: %+v: %v of %v, want about %.1f", seed, at, hits[at], n, want)
				}
			}
		}
	}
}

func TestNullHoldsNoTruth(t *testing.T) {
	list := ticketsOf(Shops(Options{Seed: 4, Null: true}))
	both, a, b, neither := table(list, PairA, PairB, func(k *Ticket) bool { return k.Device.Model.Name() == PairModel })
	if odds := both * neither / (a * b); odds > 1.5 {
		t.Errorf("odds ratio %.2f, want no association", odds)
	}
	var late, n [2]float64
	for i := range list {
		k := &list[i]
		for _, l := range k.Lines {
			if l.Lot == Lot || l.PartNo == "LSP-WICKET11" && l.UnitCost > 2*PriceUsual {
				t.Fatalf("ticket %s: part line %+v of a truth", k.Number, l)
			}
		}
		if k.FromLot {
			t.Fatalf("ticket %s comes from the bad lot", k.Number)
		}
		if k.Device.Model.Class == RisingClass {
			half := 0
			if k.Opened.After(LastDay.AddDate(0, -6, 0)) {
				half = 1
			}
			n[half]++
			if k.Has(RisingComponent) {
				late[half]++
			}
		}
	}
	if a, b := late[0]/n[0], late[1]/n[1]; math.Abs(a-b) > 4*math.Sqrt(a*(1-a)/n[1]) {
		t.Errorf("charge ports %.3f, then %.3f: want no rise", a, b)
	}
}
