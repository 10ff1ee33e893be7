package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"faultgrain/analysis/batches"
	"faultgrain/analysis/stat"
	moments "gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// A world is a made-up shop's history, week by week, with nothing in it but what its fields say.
type world struct {
	name                 string
	visits               float64 // diagnosed visits a week over all models, at the end of the history
	weeks                int
	growth               float64 // of visits, a year
	drift                float64 // of half the components' odds, a year
	ownDrift             float64 // of each model's and component's own odds, a year, up or down
	turnover             bool    // a third of the models come in the middle of the history, a third go
	busy                 float64 // coefficient of variation of weekly visits
	season               float64 // largest odds of the year over the middle, of half the components
	classNoise, ownNoise float64 // coefficient of variation of weekly odds: common to a class, each model's own
}

// A burst raises one component of some models from a week on.
type burst struct {
	models    []int
	component int
	weekly    float64 // faults a week before
	times     float64
	from      int // week
}

const (
	worldModels     = 24 // in 12 families of 2, 6 makers, 3 classes
	worldComponents = 10
)

// before is the share of visits of a burst's models that show its component before it.
const before = 0.2

// draw makes a history; the models of a burst have as many visits as hold its weekly faults.
func (w world) draw(rng *rand.Rand, b *burst) *batches.Grid {
	g := &batches.Grid{Weeks: w.weeks}
	size := make([]float64, worldModels)
	sum := 0.0
	busy := noise(rng, w.busy, w.weeks)
	for m := range size {
		size[m] = math.Exp(0.8 * rng.NormFloat64())
		if b == nil || !slices.Contains(b.models, m) {
			sum += size[m]
		}
	}
	left := w.visits
	if b != nil {
		left -= b.weekly / before
	}
	for m := range size {
		if size[m] *= left / sum; b != nil && slices.Contains(b.models, m) {
			size[m] = b.weekly / before / float64(len(b.models))
		}
	}
	for m := range size {
		g.Models = append(g.Models, batches.Model{Name: fmt.Sprintf("model %02d", m), Family: fmt.Sprintf("family %02d", m/2), Maker: fmt.Sprintf("maker %d", m/4), Class: fmt.Sprintf("class %d", m/8)})
		g.Visits = append(g.Visits, make([]int32, w.weeks))
		year := rng.NormFloat64() * w.growth // growth differs between models: the mix changes
		come := rng.Float64() * float64(w.weeks)
		for t := range w.weeks {
			back := float64(w.weeks-1-t) / 52
			mean := size[m] * math.Exp(-(w.growth+year)*back) * busy[t]
			if w.turnover && m%3 < 2 {
				mean *= 2 / (1 + math.Exp((come-float64(t))/4*[]float64{1, -1}[m%3])) // within some weeks
			}
			g.Visits[m][t] = int32(drawPoisson(rng, mean))
		}
	}
	for c := range worldComponents {
		g.Components = append(g.Components, fmt.Sprintf("component %d", c))
		g.Cases = append(g.Cases, make([][]int32, worldModels))
		share := 0.02 * math.Pow(12, rng.Float64()) // 2% to 24%
		drift, season := 0.0, 0.0
		if c%2 == 0 {
			drift = math.Log(1 + w.drift)
		}
		if c%4 < 2 {
			season = math.Log(max(w.season, 1))
		}
		phase := rng.Float64()
		common := make([][]float64, 3)
		for k := range common {
			common[k] = noise(rng, w.classNoise, w.weeks)
		}
		for m := range worldModels {
			own := noise(rng, w.ownNoise, w.weeks)
			odds := share / (1 - share) * math.Exp(0.3*rng.NormFloat64())
			drift := drift + math.Log(1+w.ownDrift)*rng.NormFloat64()
			hit := b != nil && b.component == c && slices.Contains(b.models, m)
			if hit {
				odds = before / (1 - before)
			}
			g.Cases[c][m] = make([]int32, w.weeks)
			for t := range w.weeks {
				year := float64(t-w.weeks) / 52
				o := odds * math.Exp(drift*year+season*math.Sin(2*math.Pi*(year+phase))) * common[m/8][t] * own[t]
				n := int(g.Visits[m][t])
				x := drawBinomial(rng, n, o/(1+o))
				if hit && t >= b.from { // more devices come in because of it
					more := drawPoisson(rng, b.weekly/float64(len(b.models))*(b.times-1))
					x += more
					g.Visits[m][t] += int32(more)
				}
				g.Cases[c][m][t] = int32(x)
			}
		}
	}
	return g
}

// noise are factors of mean 1, gamma distributed.
func noise(rng *rand.Rand, cv float64, weeks int) []float64 {
	f := make([]float64, weeks)
	for t := range f {
		f[t] = 1
		if cv > 0 {
			f[t] = distuv.Gamma{Alpha: 1 / (cv * cv), Beta: 1 / (cv * cv), Src: rng}.Rand()
		}
	}
	return f
}

const allWeeks = batches.Baseline + batches.MaxWindow

// quiet are histories in which nothing happened but what goes on in every shop.
func quiet() []world {
	all := world{season: 1.4, growth: 0.47, drift: 0.3, classNoise: 0.2, ownNoise: 0.3, busy: 0.3}
	list := []world{
		{name: "nothing at all", visits: 40},
		{name: "nothing at all, large", visits: 400},
		{name: "short history, 40 weeks", visits: 40, weeks: 40},
		{name: "season, 1.5 times", visits: 80, season: 1.5},
		{name: "season, 1.5 times, large", visits: 400, season: 1.5},
		{name: "volume grows 60% a year", visits: 80, growth: 0.47},
		{name: "busy and quiet weeks, 40%", visits: 80, busy: 0.4},
		{name: "models come and go", visits: 80, turnover: true},
		{name: "drift 30% a year", visits: 80, drift: 0.3},
		{name: "drift 30% a year, large", visits: 400, drift: 0.3},
		{name: "each model drifts by itself, 30% a year", visits: 80, ownDrift: 0.3},
		{name: "each model drifts by itself, 30% a year, large", visits: 400, ownDrift: 0.3},
		{name: "scattered weeks of a class, 30%", visits: 80, classNoise: 0.3},
		{name: "scattered weeks of a class, 30%, large", visits: 400, classNoise: 0.3},
		{name: "scattered weeks of each model, 50%", visits: 80, ownNoise: 0.5},
		{name: "scattered weeks of each model, 50%, large", visits: 400, ownNoise: 0.5},
	}
	all.name, all.visits = "all of it", 120
	list = append(list, all)
	all.name, all.visits = "all of it, large", 400
	list = append(list, all)
	for i := range list {
		if list[i].weeks == 0 {
			list[i].weeks = allWeeks
		}
	}
	return list
}

func falseAlarmSection() Section {
	return Section{
		ID:      "false-alarms",
		Title:   "Batches: false alarms of a month in which nothing happened",
		Promise: "At most 5% of months raise an alarm, over all models, families, makers, classes, windows and components at once.",
		About: "A shop of 24 models in three classes and 10 components; 65 weeks, or 40; each month is that of another history. Growth differs between models, drift and season between " +
			"components. A scattered week multiplies the odds of a component by a gamma factor with the coefficient of variation told, for a whole class or for " +
			"each model by itself. All of it: season 1.4 times, growth 60%, drift 30%, busy weeks 30%, scatter 20% of a class and 30% of each model. 199 replicates a scan. " +
			fmt.Sprintf("An alarm needs p of at most %v: with nothing but chance the test is exact, so that %v of months are raised; the rest of the 5%% is room for what moves weeks besides. ", batches.Level, batches.Level) +
			"Low and high are Wilson's 95% limits of the measured share.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"history", "visits a week", "months", "months with an alarm", "low", "high"}}
			var drawn []whisker
			for _, w := range quiet() {
				months := e.runs(500)
				raised := make([]bool, months)
				err := each(ctx, months, func(ctx context.Context, i int) error {
					alarms, err := batches.Scan(ctx, w.draw(e.rng("false-alarms", w, i), nil), batches.ScanOptions{Seed: uint64(i), Replicates: 199, Workers: 1})
					raised[i] = len(alarms) > 0
					return err
				})
				if err != nil {
					return t, err
				}
				n := count(raised)
				limits, err := stat.Wilson(n, months, 0.95)
				if err != nil {
					return t, err
				}
				rate := float64(n) / float64(months)
				t.add(w.name, num(w.visits), num(months), share(rate), share(limits.Lo), share(limits.Hi))
				t.expect(limits.Lo <= 0.05, "%s: %.4f", w.name, rate)
				drawn = append(drawn, whisker{w.name, limits.Lo, rate, limits.Hi})
			}
			t.Figures = append(t.Figures, whiskers("false-alarms", "Share of months in which nothing happened and an alarm was raised, by kind of history, with 95% limits, against the promised 5%",
				"months with an alarm, 95% limits; dashed: the promise", drawn, 0.05))
			return t, nil
		},
	}
}

func count(list []bool) (n int) {
	for _, v := range list {
		if v {
			n++
		}
	}
	return n
}

func powerSection() Section {
	return Section{
		ID:      "batch-power",
		Title:   "Batches: how often and how soon an excess is found",
		Promise: "A fivefold excess of a fault that is usual three times a week is found in at least 9 of 10 histories within 13 weeks.",
		About: "The shop of the section before, 120 visits a week, weeks scattered by 15%. Faults a week are those usual before the excess, over the models told together, and show on one in five of their visits; " +
			"the devices that come in because of the excess are visits on top, so that five times the faults are 56% of the visits. " +
			"The scan is run after 1, 2, 3, 4, 6, 8, 10 and 13 weeks of the excess, 199 replicates each; found means an alarm about the component that holds one of the models. " +
			"Median delay is in weeks, over the histories in which it was found. The standard error of a share is 5 points or less with 100 histories.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"models", "faults a week", "excess", "histories", "found by week 2", "found by week 4", "found by week 8", "found by week 13", "median delay, weeks"}}
			var drawn []panel
			for _, where := range []struct {
				name   string
				models []int
			}{{"one model", []int{5}}, {"three models of two families", []int{4, 5, 6}}} {
				for _, weekly := range []float64{1, 3, 8} {
					p := panel{title: fmt.Sprintf("%s, %v a week", where.name, weekly)}
					for _, times := range []float64{2, 3, 5} {
						delays := make([]int, e.runs(100))
						err := each(ctx, len(delays), func(ctx context.Context, i int) (err error) {
							rng := e.rng("batch-power", where.name, weekly, times, i)
							delays[i], err = delayOf(ctx, rng, burst{models: where.models, component: 3, weekly: weekly, times: times}, uint64(i))
							return err
						})
						if err != nil {
							return t, err
						}
						by := foundBy(delays)
						found := slices.DeleteFunc(slices.Sorted(slices.Values(delays)), func(d int) bool { return d == 0 })
						median := ""
						if len(found) > 0 {
							median = num(found[len(found)/2])
						}
						last := by[len(by)-1]
						t.add(where.name, num(weekly), num(times), num(len(delays)), share(by[1]), share(by[3]), share(by[5]), share(last), median)
						t.expect(weekly < 3 || times < 5 || last >= 0.9, "%s, %v a week: %.3f", where.name, weekly, last)
						p.lines = append(p.lines, curve{fmt.Sprintf("%v times", times), by})
					}
					drawn = append(drawn, p)
				}
			}
			var weeks []string
			for _, w := range looks {
				weeks = append(weeks, num(w))
			}
			t.Figures = append(t.Figures, panels("batch-power", "Share of histories in which an excess of two, three and five times was found, by weeks since it began, for one, three and eight faults a week in one model and in three",
				"share found, by weeks since the excess began", weeks, drawn, 3))
			return t, nil
		},
	}
}

// looks are the weeks of an excess after which it is looked for. Read only.
var looks = []int{1, 2, 3, 4, 6, 8, 10, 13}

// foundBy is the share of histories found by each look; a delay of 0 is one never found.
func foundBy(delays []int) []float64 {
	by := make([]float64, len(looks))
	for i, week := range looks {
		for _, d := range delays {
			if d > 0 && d <= week {
				by[i] += 1 / float64(len(delays))
			}
		}
	}
	return by
}

// delayOf draws one history and looks again and again: the weeks of excess until it was found, 0 when it was not.
func delayOf(ctx context.Context, rng *rand.Rand, b burst, seed uint64) (int, error) {
	w := world{visits: 120, weeks: allWeeks + batches.MaxWindow, classNoise: 0.15}
	b.from = allWeeks
	g := w.draw(rng, &b)
	for _, weeks := range looks {
		alarms, err := batches.Scan(ctx, g.Until(allWeeks+weeks), batches.ScanOptions{Seed: seed, Replicates: 199, Workers: 1})
		if err != nil {
			return 0, err
		}
		for _, a := range alarms {
			if a.Component == b.component && slices.ContainsFunc(a.Models, func(m int) bool { return slices.Contains(b.models, m) }) {
				return weeks, nil
			}
		}
	}
	return 0, nil
}

func lookBackSection() Section {
	return Section{
		ID:      "look-back",
		Title:   "Batches: episodes that chance alone brings about when looking back",
		Promise: "Who looks back week by week finds at most as many episodes a year by chance as the page of alarms says.",
		About: "The quiet shops of the section on false alarms, looked at in each of 52 weeks with what was known then. Alarms about one component that share a model, at most 13 weeks apart, are one episode. " +
			fmt.Sprintf("The page says %v a year.", batches.ByChance(52)),
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"history", "visits a week", "years", "share of weeks with one", "episodes a year", "standard error"}}
			for _, w := range quiet() {
				if w.name != "nothing at all" && w.name != "scattered weeks of each model, 50%" && w.name != "all of it" {
					continue
				}
				w.weeks = allWeeks + 51
				counts, weeks := make([]float64, e.runs(60)), make([]float64, e.runs(60))
				err := each(ctx, len(counts), func(ctx context.Context, i int) error {
					episodes, err := batches.Episodes(ctx, w.draw(e.rng("look-back", w, i), nil), allWeeks, uint64(i))
					counts[i] = float64(len(episodes))
					for _, p := range episodes {
						weeks[i] += float64(p.Alarms) / 52
					}
					return err
				})
				if err != nil {
					return t, err
				}
				rate, sd := moments.MeanStdDev(counts, nil)
				se := sd / sqrt(float64(len(counts)))
				t.add(w.name, num(w.visits), num(len(counts)), share(moments.Mean(weeks, nil)), share(rate), share(se))
				t.expect(rate-2*se <= batches.ByChance(52), "%s: %.2f a year", w.name, rate)
			}
			return t, nil
		},
	}
}
