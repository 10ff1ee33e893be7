package batches

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"

	"faultgrain/analysis/stat"
)

// Level is the greatest p of an alarm. It is below the 5% of months that the scan promises, because the test is exact
// only where nothing but chance moves the weeks; with growth, drift, season and scattered weeks it says a little too
// often that something happened. docs/calibration.md has the rates at this level.
const Level = 0.02

// minCases is the least number of cases in a window that can be an alarm.
const minCases = 3

// ErrShort: the history is too short to know what is usual.
var ErrShort = errors.New("the log is shorter than half a year: too short to know what is usual")

// ScanOptions of Scan. Only Seed is needed.
type ScanOptions struct {
	Seed       uint64
	Replicates int     // simulated histories; 0 means 999
	Alpha      float64 // alarms have p at most this; 0 means Level
	Workers    int     // 0 means one per processor; the result does not depend on it
}

// An Alarm is a window that holds more cases than the course of its component, the visits of its models and chance
// account for.
type Alarm struct {
	Component int   // index in Grid.Components
	Models    []int // models of the node, indices in Grid.Models
	Level     string
	Node      string
	Window    int     // weeks, up to the last
	Look              // at that window
	Score     float64 // LLR, scaled down where weeks differ beyond chance: what is compared with the simulated maxima
	P         float64 // over all nodes, windows and components at once
	SlopeYear float64 // odds ratio per year of the slow drift that was taken out

	looks         []Look // at all windows, the shortest first
	series, sheet int
}

// A Look is what a node shows of a component in one window.
type Look struct {
	Observed int
	Visits   int
	Expected float64 // at the level outside the window, drift, season and the mix of models allowed for
	LLR      float64 // Bernoulli log-likelihood ratio
}

// During is the alarm as another window shows it, of 1 to MaxWindow weeks; Score and P stay those of the alarm.
func (a Alarm) During(weeks int) Alarm {
	a.Window, a.Look = weeks, a.looks[weeks-1]
	return a
}

// Cases is how many visits of a model show the component in the window.
func (a Alarm) Cases(g *Grid, model int) int {
	n := 0
	if weeks := g.Cases[a.Component][model]; weeks != nil {
		for _, x := range weeks[g.Weeks-a.Window:] {
			n += int(x)
		}
	}
	return n
}

// Scan looks for components that show too often in the last 1 to MaxWindow weeks, in any node of the device tree.
//
// Null hypothesis: which of a model's visits show the component is exchangeable over the weeks, up to the slow
// course (drift and season) of the component in the class. Statistic: the largest Bernoulli log-likelihood ratio
// over all nodes, windows and components, each scaled by the spread of weeks where they differ beyond chance. Its
// distribution: replicates that keep each model's visits in their weeks and its number of cases, and reallocate
// which visits are the cases, course included; the course and the spread are estimated anew in each. A component too rare
// to tell its own spread is given that of the others, and models that drift each by itself are allowed for; replicates
// have neither. So p is family-wise over the whole table.
// Where no replicate reaches the observed maximum, the Gumbel tail continues it.
//
// Replicates stop once so many have reached the observed maximum that no alarm can come of it, which changes nothing
// else: Besag and Clifford (1991), Biometrika 78, 301-304.
//
// Kulldorff (1997), Commun. Stat. Theory Methods 26, 1481-1496; prospective: Kulldorff (2001), J. R. Stat. Soc. A
// 164, 61-72; tree: Kulldorff, Fang and Walsh (2003), Biometrics 59, 323-331; Gumbel: Abrams, Kleinman and
// Kulldorff (2010), Int. J. Health Geographics 9, 61.
func Scan(ctx context.Context, g *Grid, opt ScanOptions) ([]Alarm, error) {
	if g.Weeks < minWeeks {
		return nil, fmt.Errorf("%w (%d weeks)", ErrShort, g.Weeks)
	}
	if opt.Replicates == 0 {
		opt.Replicates = 999
	}
	if opt.Alpha == 0 {
		opt.Alpha = Level
	}
	if opt.Workers == 0 {
		opt.Workers = runtime.GOMAXPROCS(0)
	}
	s := newScanner(g)
	observed := s.observed()
	if len(observed) == 0 {
		return nil, nil
	}
	maxima, err := s.maxima(ctx, opt, observed[0].Score)
	if err != nil || len(maxima) < opt.Replicates {
		return nil, err
	}
	var alarms []Alarm
	for _, a := range observed {
		p, err := stat.MaximumP(a.Score, maxima)
		if err != nil {
			return nil, err
		}
		if p > opt.Alpha {
			break // scores fall, so p rises
		}
		if a.P = p; !hidden(a, alarms) {
			s.look(&a)
			alarms = append(alarms, a)
		}
	}
	return alarms, nil
}

// hidden tells whether a stronger alarm of the same component already covers some of the models: windows all end
// on the last week, so such two always overlap.
func hidden(a Alarm, stronger []Alarm) bool {
	for _, b := range stronger {
		if a.Component == b.Component && share(a.Models, b.Models) {
			return true
		}
	}
	return false
}

// observed scores the history itself, the strongest window of each node and component, in falling order.
func (s *scanner) observed() []Alarm {
	b := s.newBench()
	b.usual = s.usual(b)
	b.wander = s.wander(b.usual.own)
	var list []Alarm
	for i := range s.series {
		sr := &s.series[i]
		b.read(s, sr)
		b.settle(sr)
		for n := range sr.sheets {
			if score, h := b.strongest(sr, n, 0); score > 0 {
				at := s.nodes[sr.sheets[n].node]
				list = append(list, Alarm{Component: sr.component, Models: at.models, Level: at.level, Node: at.display(s.grid),
					Window: h + 1, Score: score, SlopeYear: math.Exp(sr.course.at[1]), series: i, sheet: n})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b Alarm) int { // of equal scores the shorter list of models, then the order of nodes
		return cmp.Or(cmp.Compare(b.Score, a.Score), cmp.Compare(len(a.Models), len(b.Models)))
	})
	return list
}

// look fills in what an alarm saw.
func (s *scanner) look(a *Alarm) {
	b, sr := s.newBench(), &s.series[a.series]
	b.read(s, sr)
	b.settle(sr)
	k := &sr.sheets[a.sheet]
	moved := b.course(a.sheet, k)
	a.looks = make([]Look, MaxWindow)
	for h := range a.looks {
		e, l := k.expect(h, moved), &a.looks[h]
		l.Observed = b.within(a.sheet, h)
		c := float64(l.Observed)
		l.LLR = bernoulli(c, k.trials*e/k.cases, k.cases, k.trials)
		l.Expected = e
		if l.Observed < int(k.cases) {
			l.Expected = (k.cases - c) * e / (k.cases - e)
		}
		for _, m := range a.Models {
			l.Visits += s.visitsWithin(m, h)
		}
	}
	a.Look = a.looks[a.Window-1]
}

// usual is how much the weeks of all series differ beyond chance, for those that can't tell by themselves. Replicates
// are drawn without such scatter.
func (s *scanner) usual(b *bench) spread {
	type both struct {
		common estimate
		one    float64
	}
	var list []both
	var own, common usual
	for i := range s.series {
		sr := &s.series[i]
		b.read(s, sr)
		b.moved = step(&sr.cover, b.all, sr.score)
		c, o, one := b.measure(sr)
		own.add(o)
		list = append(list, both{c, one})
	}
	for _, l := range list {
		l.common.spread -= own.spread() * l.one
		common.add(l.common)
	}
	return spread{common.spread(), own.spread()}
}

// wander is how much models drift each by itself; see the type. Replicates are drawn without it, too.
func (s *scanner) wander(own float64) float64 {
	var u wander
	for i := range s.series {
		sr := &s.series[i]
		for j, m := range sr.models {
			u.add(&sr.scatter.models[j], s.grid.Cases[sr.component][m], sr.scatter.share, s.axis, own)
		}
	}
	return u.variance()
}

// bernoulli is Kulldorff's log-likelihood ratio with a number of visits that need not be whole: the visits that
// would make the expected number of cases come out under one chance everywhere. With a single model and no course
// these are the visits of the window, and it is stat.BernoulliLLR.
func bernoulli(c, n, C, N float64) float64 {
	n = math.Min(math.Max(n, c), N-(C-c)) // a mix of very unequal models can leave less room than cases
	if n <= 0 || n >= N || c*(N-n) <= (C-c)*n {
		return 0
	}
	return max(0, part(c, C*n/N)+part(C-c, C*(N-n)/N)+part(n-c, (N-C)*n/N)+part(N-n-C+c, (N-C)*(N-n)/N)) // rounding leaves a stray -1e-15
}

// part is one cell's share of the log-likelihood ratio; the linear terms of the four cells add up to 0.
func part(seen, expected float64) float64 {
	if seen <= 0 {
		return 0
	}
	return seen * math.Log(seen/expected)
}

// round is how many replicates are made before it is asked whether an alarm can still come of it, and how many one
// goroutine makes side by side at most.
const round = 16

// maxima simulates the largest score under the null hypothesis. Each replicate has a random stream of its own, so
// the result does not depend on the number of workers. It returns early, with fewer, when more than alpha of all
// replicates have reached seen already.
func (s *scanner) maxima(ctx context.Context, opt ScanOptions, seen float64) ([]float64, error) {
	maxima := make([]float64, opt.Replicates)
	benches := make([]*bench, opt.Workers)
	for i := range benches {
		benches[i] = s.newBench()
	}
	reached := 0
	each := (round + len(benches) - 1) / len(benches)
	for done := 0; done < len(maxima); {
		end := min(done+round, len(maxima))
		var wg sync.WaitGroup
		for i, b := range benches {
			first, last := min(done+i*each, end), min(done+(i+1)*each, end)
			wg.Go(func() { s.replicates(ctx, b, opt.Seed, first, maxima[first:last]) })
		}
		wg.Wait()
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		for ; done < end; done++ {
			if maxima[done] >= seen {
				reached++
			}
		}
		if float64(1+reached) > opt.Alpha*float64(1+len(maxima)) {
			return maxima[:done], nil
		}
	}
	return maxima, nil
}

// replicates fills in the largest scores of the replicates from number first on. They are made side by side, series by
// series, while what a series needs is at hand.
func (s *scanner) replicates(ctx context.Context, b *bench, seed uint64, first int, largest []float64) {
	for r := range largest {
		largest[r] = 0
		b.streams[r].Seed(seed, uint64(first+r)+1)
	}
	for i := range s.series {
		if ctx.Err() != nil {
			return
		}
		sr := &s.series[i]
		for r := range largest {
			*b.draws.source = b.streams[r]
			largest[r] = s.replicate(b, sr, largest[r])
			b.streams[r] = *b.draws.source
		}
	}
}

// replicate draws one series and gives its largest score; atLeast where none is above.
func (s *scanner) replicate(b *bench, sr *series, atLeast float64) float64 {
	b.start(sr)
	for j, m := range sr.models {
		b.draws.draw(m, &s.urns[m], sr.cases[j], &sr.weights, &b.tray)
		b.add(sr, j)
	}
	b.settle(sr)
	for n := range sr.sheets {
		if score, _ := b.strongest(sr, n, atLeast); score > atLeast {
			atLeast = score
		}
	}
	return atLeast
}
