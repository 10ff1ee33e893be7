package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"faultgrain/analysis/stat"
	"faultgrain/analysis/stock"
)

// A demandKind draws the pieces asked for on a day. weekly is the part's mean over the time before the replay; year
// runs from -1.5, when the log starts, over 0, when the replay starts, to 1.
type demandKind struct {
	name string
	day  func(rng *rand.Rand, weekly, year float64) int
}

func demandKinds() []demandKind {
	return []demandKind{
		{"Poisson", func(rng *rand.Rand, weekly, _ float64) int { return drawPoisson(rng, weekly/7) }},
		{"bursty", func(rng *rand.Rand, weekly, _ float64) int {
			n := 0
			for range drawPoisson(rng, weekly/7/3) {
				n += 1 + drawPoisson(rng, 2)
			}
			return n
		}},
		{"trending", func(rng *rand.Rand, weekly, year float64) int {
			return drawPoisson(rng, weekly/7*math.Pow(2, year+0.75))
		}},
		{"dying", func(rng *rand.Rand, weekly, year float64) int {
			return drawPoisson(rng, weekly/7*math.Exp(-3*max(year, 0)))
		}},
	}
}

const (
	stockLearn  = 78 // weeks known before the replay
	stockReplay = 52
	stockHolds  = 0.25 // of a part's cost a year
)

func stockSection() Section {
	return Section{
		ID:    "stock",
		Title: "Stock: what ordering by the forecast costs, and how often it lasts",
		Promise: "Ordering by this forecast costs no more than by any other one, over all kinds of demand together and for each kind that does not die out; " +
			"and what is asked (critical ratio or service level) is reached within 3 points where demand is steady or bursty.",
		About: "Parts are used 0.1 to 8 times a week on average, cost 5 to 45, leave a margin of 10 to 50, take 3 to 14 days and are ordered weekly; " +
			"a year on the shelf costs a quarter of the cost. 78 weeks are known, 52 are replayed; jobs that find no part are lost. Bursty: 3 pieces at a " +
			"time on average. Trending: doubles every year. Dying: falls to a twentieth within the year replayed. Cost is lost margin and holding cost per part; " +
			"the others' as a multiple of this forecast's. All rules order up to the same chance of lasting; the others take their rate for a Poisson mean. Lasted is " +
			"how often on hand and on order lasted until the next order had arrived. Theory: no method is best for every kind; one that " +
			"doubts its own rate keeps a piece more, which pays unless the demand is over.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"demand", "asked", "lasted", "cost per part", "last month x", "moving average x", "Croston x", "SBA x", "TSB x"}}
			for _, asked := range []float64{0, 0.95, 0.9} {
				var all stockSum
				name := "critical ratio"
				if asked > 0 {
					name = num(asked)
				}
				for _, k := range demandKinds() {
					sum, err := measureStock(ctx, e, k, asked)
					if err != nil {
						return t, err
					}
					sum.tell(&t, k.name, name)
					if k.name != "dying" {
						sum.expectCheapest(&t, k.name+", asked "+name)
					}
					if k.name == "Poisson" || k.name == "bursty" {
						lasted, wanted := sum.lasted.share(), sum.asked/float64(len(sum.costs))
						t.expect(lasted >= wanted-0.03, "%s, asked %s: lasted %.4f, wanted %.4f", k.name, name, lasted, wanted)
					}
					all.merge(sum)
				}
				all.tell(&t, "all four", name)
				all.expectCheapest(&t, "all four, asked "+name)
			}
			return t, nil
		},
	}
}

// A stockSum gathers replays: the costs of each part by rule.
type stockSum struct {
	costs  [][]float64
	lasted tally
	asked  float64
}

func (s *stockSum) merge(o stockSum) {
	s.costs = append(s.costs, o.costs...)
	s.lasted.hits += o.lasted.hits
	s.lasted.of += o.lasted.of
	s.asked += o.asked
}

func (s *stockSum) mean(rule int) float64 {
	sum := 0.0
	for _, c := range s.costs {
		sum += c[rule]
	}
	return sum / float64(len(s.costs))
}

func (s *stockSum) tell(t *Table, demand, asked string) {
	cells := []string{demand, asked, share(s.lasted.share()), fmt.Sprintf("%.2f", s.mean(0))}
	for rule := 1; rule < len(s.costs[0]); rule++ {
		cells = append(cells, fmt.Sprintf("%.2f", s.mean(rule)/s.mean(0)))
	}
	t.add(cells...)
}

// expectCheapest compares on the same parts, so that the noise is that of the difference.
func (s *stockSum) expectCheapest(t *Table, where string) {
	n := float64(len(s.costs))
	for rule := 1; rule < len(s.costs[0]); rule++ {
		var sum, squares float64
		for _, c := range s.costs {
			d := c[rule] - c[0]
			sum += d
			squares += d * d
		}
		mean := sum / n
		noise := sqrt(max(squares/n-mean*mean, 0) / n)
		t.expect(mean > -3*noise, "%s: rule %d costs %.2f of this forecast's", where, rule, s.mean(rule)/s.mean(0))
	}
}

func measureStock(ctx context.Context, e Effort, k demandKind, asked float64) (stockSum, error) {
	rng := e.rng("stock", k.name, asked)
	var s stockSum
	for range e.runs(300) {
		if err := ctx.Err(); err != nil {
			return s, err
		}
		weekly := 0.1 * pow(80, rng.Float64())
		c := stock.Course{Lead: 3 + rng.IntN(12), Review: 7}
		for day := range 7 * (stockLearn + stockReplay) {
			c.Demand = append(c.Demand, k.day(rng, weekly, float64(day-7*stockLearn)/365))
		}
		margin, cost := 10+40*rng.Float64(), 5+40*rng.Float64()
		aim := asked
		if asked == 0 {
			ratio, err := stat.CriticalRatio(margin, cost*stockHolds*float64(c.Review)/365)
			if err != nil {
				return s, err
			}
			aim = min(ratio, stock.MostLevel)
		}
		records, err := c.Compare(stockLearn, stat.GammaPrior{Shape: 0.5, Rate: 1}, aim)
		if err != nil {
			return s, err
		}
		var costs []float64
		for _, r := range records {
			costs = append(costs, float64(r.Short)*margin+float64(r.PieceDays)*cost*stockHolds/365)
		}
		s.costs = append(s.costs, costs)
		s.asked += aim
		s.lasted.hits += float64(records[0].Lasted)
		s.lasted.of += float64(records[0].Looks)
	}
	return s, nil
}
