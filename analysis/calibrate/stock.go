package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"faultgrain/analysis/stat"
	"faultgrain/analysis/stock"
)

// A demandKind is how a part is asked for. weekly is its mean over the time before the replay; year runs from -1.5, when
// the log starts, over 0, when the replay starts, to 1.
type demandKind struct {
	name  string
	rate  func(weekly, year float64) float64 // pieces a week
	burst bool                               // 3 at a time on average
}

func demandKinds() []demandKind {
	steady := func(weekly, _ float64) float64 { return weekly }
	return []demandKind{
		{name: "Poisson", rate: steady},
		{name: "bursty", rate: steady, burst: true},
		{name: "trending", rate: func(weekly, year float64) float64 { return weekly * math.Pow(2, year+0.75) }},
		{name: "dying", rate: func(weekly, year float64) float64 { return weekly * math.Exp(-3*max(year, 0)) }},
	}
}

// draw is the pieces asked for on a day.
func (k demandKind) draw(rng *rand.Rand, weekly, year float64) int {
	daily := k.rate(weekly, year) / 7
	if !k.burst {
		return drawPoisson(rng, daily)
	}
	n := 0
	for range drawPoisson(rng, daily/3) {
		n += 1 + drawPoisson(rng, 2)
	}
	return n
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
		Promise: "At the critical ratio, ordering by this forecast costs no more than by any other one, for each kind of demand and over all (within three standard errors); " +
			"at an asked level, for each kind that does not die out and over all; and what is asked is reached within 3 points where demand is steady or bursty.",
		About: "Parts are used 0.1 to 8 times a week on average, cost 5 to 45, leave a margin of 10 to 50, take 3 to 14 days and are ordered weekly; " +
			"a year on the shelf costs a quarter of the cost. 78 weeks are known, 52 are replayed; jobs that find no part are lost. Bursty: 3 pieces at a " +
			"time on average. Trending: doubles every year. Dying: falls to a twentieth within the year replayed. Cost is lost margin and holding cost per part; " +
			"the others' as a multiple of this forecast's, with the standard error of the difference on the same parts. All rules order up to the same chance of lasting, but that this one aims lower at the critical ratio where it sees demand fall; " +
			"the others take their rate for a Poisson mean. True rate: a rule that knows how the demand will fall or rise, and orders for a Poisson demand of that rate. Lasted is " +
			"how often on hand and on order lasted until the next order had arrived. Theory: no method is best for every kind; one that " +
			"doubts its own rate keeps a piece more, which pays unless the demand is over. A level of 90% is far below what these margins ask for: where demand dies, a rule " +
			"is then cheaper the more it overrates the demand, and the one that knows it is the dearest of all.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"demand", "asked", "lasted", "cost per part", "last month x", "moving average x", "Croston x", "SBA x", "TSB x", "true rate x"}}
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
					if k.name != "dying" || asked == 0 {
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
		cells = append(cells, fmt.Sprintf("%.2f ± %.2f", s.mean(rule)/s.mean(0), s.noise(rule)))
	}
	t.add(cells...)
}

// noise is the standard error of the multiple that a rule costs, by the delta method on the same parts.
func (s *stockSum) noise(rule int) float64 {
	ours, times := s.mean(0), s.mean(rule)/s.mean(0)
	squares := 0.0
	for _, c := range s.costs {
		d := c[rule] - times*c[0]
		squares += d * d
	}
	n := float64(len(s.costs))
	return sqrt(squares/n/n) / ours
}

// expectCheapest holds the other forecasts to cost as much as this one, less a slack and three standard errors.
func (s *stockSum) expectCheapest(t *Table, where string) {
	for rule := 1; rule < len(s.costs[0])-1; rule++ { // the last one knows the future
		times := s.mean(rule) / s.mean(0)
		t.expect(times > 1-3*s.noise(rule), "%s: rule %d costs %.2f of this forecast's", where, rule, times)
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
			c.Demand = append(c.Demand, k.draw(rng, weekly, float64(day-7*stockLearn)/365))
		}
		margin, cost := 10+40*rng.Float64(), 5+40*rng.Float64()
		target := stock.Target{Level: asked, Rule: stock.ServiceLevel}
		if asked == 0 {
			ratio, err := stat.CriticalRatio(margin, cost*stockHolds*float64(c.Review)/365)
			if err != nil {
				return s, err
			}
			target = stock.Target{Level: min(ratio, stock.MostLevel), Rule: stock.CriticalRatio}
		}
		records, err := c.Compare(stockLearn, stat.GammaPrior{Shape: 0.5, Rate: 1}, target)
		if err != nil {
			return s, err
		}
		knowing, err := c.Replay(stockLearn, func(known int) (int, error) {
			mean := 0.0
			for day := range c.Lead + c.Review {
				mean += k.rate(weekly, float64(7*(known-stockLearn)+day)/365) / 7
			}
			return stat.PoissonQuantile(target.Level, mean)
		})
		if err != nil {
			return s, err
		}
		var costs []float64
		for _, r := range append(records, knowing) {
			costs = append(costs, float64(r.Short)*margin+float64(r.PieceDays)*cost*stockHolds/365)
		}
		s.costs = append(s.costs, costs)
		s.asked += target.Level
		s.lasted.hits += float64(records[0].Lasted)
		s.lasted.of += float64(records[0].Looks)
	}
	return s, nil
}
