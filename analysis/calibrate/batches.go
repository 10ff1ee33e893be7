package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"faultgrain/analysis/batches"
	"gonum.org/v1/gonum/stat/distuv"
)

// A world is a made-up shop's history, week by week, with nothing in it but what its fields say.
type world struct {
	name                 string
	visits               float64 // diagnosed visits a week over all models, at the end of the history
	weeks                int
	growth               float64 // of visits, a year
	drift                float64 // of half the components' odds, a year
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

// draw makes a history; with a burst the component's share on its models is set so that it has its weekly faults.
func (w world) draw(rng *rand.Rand, b *burst) *batches.Grid {
	g := &batches.Grid{Weeks: w.weeks}
	size := make([]float64, worldModels)
	sum := 0.0
	for m := range size {
		size[m] = math.Exp(0.8 * rng.NormFloat64())
		if b != nil && slices.Contains(b.models, m) {
			size[m] = 2 // large enough to hold the burst
		}
		sum += size[m]
		g.Models = append(g.Models, batches.Model{Name: fmt.Sprintf("model %02d", m), Family: fmt.Sprintf("family %02d", m/2), Maker: fmt.Sprintf("maker %d", m/4), Class: fmt.Sprintf("class %d", m/8)})
		g.Visits = append(g.Visits, make([]int32, w.weeks))
		year := rng.NormFloat64() * w.growth // growth differs between models: the mix changes
		for t := range w.weeks {
			back := float64(w.weeks-1-t) / 52
			g.Visits[m][t] = int32(drawPoisson(rng, w.visits*size[m]/sum*math.Exp(-(w.growth+year)*back)))
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
			hit := b != nil && b.component == c && slices.Contains(b.models, m)
			if hit {
				p := min(b.weekly/float64(len(b.models))/(w.visits*size[m]/sum), 0.5)
				odds = p / (1 - p)
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

func falseAlarmSection() Section {
	return Section{
		ID:      "false-alarms",
		Title:   "Batches: false alarms of a month in which nothing happened",
		Promise: "At most 5% of months raise an alarm, over all models, families, makers, classes, windows and components at once.",
		About: "A shop of 24 models in three classes and 10 components; 65 weeks, or 40. Growth differs between models, drift and season between " +
			"components. A scattered week multiplies the odds of a component by a gamma factor with the coefficient of variation told, for a whole class or for " +
			"each model by itself. 199 replicates a scan. Theory: without drift, season and scatter the test is exact, so that 5% are raised.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"history", "visits a week", "months", "months with an alarm", "standard error"}}
			for _, w := range []world{
				{name: "nothing at all", visits: 40, weeks: allWeeks},
				{name: "nothing at all, large", visits: 400, weeks: allWeeks},
				{name: "short history", visits: 40, weeks: 40},
				{name: "season, 1.5 times", visits: 80, weeks: allWeeks, season: 1.5},
				{name: "season, 1.5 times, large", visits: 400, weeks: allWeeks, season: 1.5},
				{name: "volume grows 60% a year", visits: 80, weeks: allWeeks, growth: 0.47},
				{name: "drift 30% a year", visits: 80, weeks: allWeeks, drift: 0.3},
				{name: "drift 30% a year, large", visits: 400, weeks: allWeeks, drift: 0.3},
				{name: "scattered weeks of a class, 30%", visits: 80, weeks: allWeeks, classNoise: 0.3},
				{name: "scattered weeks of a class, 30%, large", visits: 400, weeks: allWeeks, classNoise: 0.3},
				{name: "scattered weeks of each model, 50%", visits: 80, weeks: allWeeks, ownNoise: 0.5},
				{name: "scattered weeks of each model, 50%, large", visits: 400, weeks: allWeeks, ownNoise: 0.5},
				{name: "all of it", visits: 120, weeks: allWeeks, season: 1.4, growth: 0.47, drift: 0.3, classNoise: 0.2, ownNoise: 0.3},
				{name: "all of it, large", visits: 400, weeks: allWeeks, season: 1.4, growth: 0.47, drift: 0.3, classNoise: 0.2, ownNoise: 0.3},
			} {
				var raised tally
				rng := e.rng("false-alarms", w)
				for i := range e.runs(400) {
					alarms, err := batches.Scan(ctx, w.draw(rng, nil), batches.ScanOptions{Seed: uint64(i), Replicates: 199})
					if err != nil {
						return t, err
					}
					raised.count(len(alarms) > 0)
				}
				se := math.Sqrt(raised.share() * (1 - raised.share()) / raised.of)
				t.add(w.name, num(w.visits), num(raised.of), share(raised.share()), share(se))
				t.expect(raised.share() <= 0.05+3*math.Sqrt(0.05*0.95/raised.of), "%s: %.4f", w.name, raised.share())
			}
			return t, nil
		},
	}
}

func powerSection() Section {
	return Section{
		ID:      "batch-power",
		Title:   "Batches: how often and how soon an excess is found",
		Promise: "A fivefold excess of a fault that is usual three times a week is found in at least 9 of 10 histories within 13 weeks.",
		About: "The shop of the section before, 120 visits a week, weeks scattered by 15%. Faults a week are those usual before the excess, over the models told together. " +
			"The scan is run after 1, 2, 3, 4, 6, 8, 10 and 13 weeks of the excess, 199 replicates each; found means an alarm about the component that holds one of the models. " +
			"Median delay is in weeks, over the histories in which it was found.",
		Run: func(ctx context.Context, e Effort) (Table, error) {
			t := Table{Columns: []string{"models", "faults a week", "excess", "histories", "found by week 4", "found by week 13", "median delay, weeks"}}
			for _, where := range []struct {
				name   string
				models []int
			}{{"one model", []int{5}}, {"three models of two families", []int{4, 5, 6}}} {
				for _, weekly := range []float64{1, 3, 8} {
					for _, times := range []float64{2, 3, 5} {
						rng := e.rng("batch-power", where.name, weekly, times)
						var soon, found tally
						var delays []int
						for i := range e.runs(50) {
							delay, err := delayOf(ctx, rng, burst{models: where.models, component: 3, weekly: weekly, times: times}, uint64(i))
							if err != nil {
								return t, err
							}
							soon.count(delay > 0 && delay <= 4)
							found.count(delay > 0)
							if delay > 0 {
								delays = append(delays, delay)
							}
						}
						median := "-"
						if slices.Sort(delays); len(delays) > 0 {
							median = num(delays[len(delays)/2])
						}
						t.add(where.name, num(weekly), num(times), num(found.of), share(soon.share()), share(found.share()), median)
						t.expect(weekly < 3 || times < 5 || found.share() >= 0.9, "%s, %v a week: %.3f", where.name, weekly, found.share())
					}
				}
			}
			return t, nil
		},
	}
}

// delayOf draws one history and looks again and again: the weeks of excess until it was found, 0 when it was not.
func delayOf(ctx context.Context, rng *rand.Rand, b burst, seed uint64) (int, error) {
	w := world{visits: 120, weeks: allWeeks + batches.MaxWindow, classNoise: 0.15}
	b.from = allWeeks
	g := w.draw(rng, &b)
	for _, weeks := range []int{1, 2, 3, 4, 6, 8, 10, 13} {
		alarms, err := batches.Scan(ctx, g.Until(allWeeks+weeks), batches.ScanOptions{Seed: seed, Replicates: 199})
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
