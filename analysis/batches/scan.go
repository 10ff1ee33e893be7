package batches

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"faultgrain/analysis/stat"
)

// minCases is the least number of cases in a window that can be an alarm.
const minCases = 3

// ErrShort: the history is too short to know what is usual.
var ErrShort = errors.New("the log is shorter than half a year: too short to know what is usual")

// ScanOptions of Scan. Only Seed is needed.
type ScanOptions struct {
	Seed       uint64
	Replicates int     // simulated histories; 0 means 999
	Alpha      float64 // alarms have p at most this; 0 means 0.05
	Workers    int     // 0 means one per processor; the result does not depend on it
}

// An Alarm is a window that holds more cases than the course of its component, the visits of its models and chance
// account for.
type Alarm struct {
	Component int   // index in Grid.Components
	Models    []int // models of the node, indices in Grid.Models
	Level     string
	Node      string
	Window    int // weeks, up to the last
	Observed  int
	Visits    int
	Expected  float64
	LLR       float64 // Bernoulli log-likelihood ratio, before scaling by the spread of weeks
	Score     float64 // what is compared with the simulated maxima
	P         float64 // over all nodes, windows and components at once
	SlopeYear float64 // odds ratio per year of the slow drift that was taken out
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
// logistic drift of the component in the class. Statistic: the largest Bernoulli log-likelihood ratio over all
// nodes, windows and components, each scaled by the spread of weeks where they differ beyond chance. Its
// distribution: replicates that keep each model's visits in their weeks and its number of cases, and reallocate
// which visits are the cases, drift included; the drift and the spread are estimated anew in each. So p is
// family-wise over the whole table. Where no replicate reaches the observed maximum, the Gumbel tail continues it.
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
		opt.Alpha = 0.05
	}
	if opt.Workers == 0 {
		opt.Workers = runtime.GOMAXPROCS(0)
	}
	s := newScanner(g)
	observed := s.observed()
	if len(observed) == 0 {
		return nil, nil
	}
	maxima, err := s.maxima(ctx, opt)
	if err != nil {
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
		if a.P = p; !s.hidden(a, alarms) {
			alarms = append(alarms, a)
		}
	}
	return alarms, nil
}

// hidden tells whether a stronger alarm of the same component already covers some of the models: windows all end
// on the last week, so such two always overlap.
func (s *scanner) hidden(a Alarm, stronger []Alarm) bool {
	for _, b := range stronger {
		if a.Component == b.Component && (node{models: a.Models}).overlaps(node{models: b.Models}) {
			return true
		}
	}
	return false
}

// A series is one component in one class: what is fitted and simulated together.
type series struct {
	component int
	class     int
	models    []int // those that ever show the component
	cases     []int // per model of models, in all weeks
	truth     drift // fitted to what was seen
	nodes     []int // nodes with a model that shows it
	visits    []int32
}

// A scanner holds what replicates share; it is read only once made.
type scanner struct {
	grid    *Grid
	nodes   []node
	series  []series
	classes []string
	weekOf  [][]uint8 // [model][visit] week of the visit, for models drawn visit by visit
	visits  []int     // [model] all weeks
	tail    [][MaxWindow]int32
}

// directDraws is the number of cases up to which a model's cases are drawn one by one.
const directDraws = 4000

func newScanner(g *Grid) *scanner {
	s := &scanner{grid: g, nodes: g.nodes(), weekOf: make([][]uint8, len(g.Models)), visits: make([]int, len(g.Models)), tail: make([][MaxWindow]int32, len(g.Models))}
	classIndex := map[string]int{}
	var members [][]int
	for m, d := range g.Models {
		i, ok := classIndex[d.Class]
		if !ok {
			i = len(members)
			classIndex[d.Class] = i
			members = append(members, nil)
			s.classes = append(s.classes, d.Class)
		}
		members[i] = append(members[i], m)
		var sum int32
		for h := range MaxWindow {
			sum += g.Visits[m][g.Weeks-1-h]
			s.tail[m][h] = sum
		}
		for _, v := range g.Visits[m] {
			s.visits[m] += int(v)
		}
	}
	for c := range g.Components {
		for class, models := range members {
			sr := series{component: c, class: class, visits: make([]int32, g.Weeks)}
			total := make([]int32, g.Weeks)
			shows := map[int]bool{}
			most := 0
			for _, m := range models {
				for w, v := range g.Visits[m] {
					sr.visits[w] += v
				}
				k := 0
				if g.Cases[c][m] != nil {
					for w, x := range g.Cases[c][m] {
						total[w] += x
						k += int(x)
					}
				}
				if k > 0 {
					sr.models = append(sr.models, m)
					sr.cases = append(sr.cases, k)
					shows[m] = true
					most = max(most, k)
				}
			}
			if len(sr.models) == 0 {
				continue
			}
			for i, n := range s.nodes {
				if slices.ContainsFunc(n.models, func(m int) bool { return shows[m] }) {
					sr.nodes = append(sr.nodes, i)
				}
			}
			sr.truth.p = make([]float64, g.Weeks)
			sr.truth.start(total, sr.visits)
			sr.truth.fit(total, sr.visits, 50)
			for i, m := range sr.models {
				if sr.cases[i] <= directDraws && s.weekOf[m] == nil {
					s.weekOf[m] = make([]uint8, 0, s.visits[m])
					for w, v := range g.Visits[m] {
						for range v {
							s.weekOf[m] = append(s.weekOf[m], uint8(w))
						}
					}
				}
			}
			s.series = append(s.series, sr)
		}
	}
	return s
}

// A bench is one goroutine's working memory.
type bench struct {
	counts [][]int32 // [model][week] of the series at hand
	share  [][MaxWindow]float64
	taken  [][]uint32 // [model][visit] stamp of the draw that took it
	stamp  uint32
	total  []int32
	drift  drift
	keep   []float64
	cells  []float64
}

func (s *scanner) newBench() *bench {
	g := s.grid
	b := &bench{counts: make([][]int32, len(g.Models)), share: make([][MaxWindow]float64, len(g.Models)), taken: make([][]uint32, len(g.Models)),
		total: make([]int32, g.Weeks), keep: make([]float64, g.Weeks), cells: make([]float64, g.Weeks)}
	for m := range g.Models {
		b.counts[m] = make([]int32, g.Weeks)
		b.taken[m] = make([]uint32, len(s.weekOf[m]))
	}
	b.drift.p = make([]float64, g.Weeks)
	return b
}

// observed scores the history itself, the strongest window of each node and component, in falling order.
func (s *scanner) observed() []Alarm {
	b := s.newBench()
	var list []Alarm
	for i := range s.series {
		sr := &s.series[i]
		clear(b.total)
		for _, m := range sr.models {
			copy(b.counts[m], s.grid.Cases[sr.component][m])
			for w, x := range b.counts[m] {
				b.total[w] += x
			}
		}
		b.settle(sr, 0)
		s.score(b, sr, func(n, h, o int, expected, cases, trials, score float64) {
			a := Alarm{Component: sr.component, Models: s.nodes[n].models, Level: s.nodes[n].level, Node: s.nodes[n].display(s.grid),
				Window: h, Observed: o, Expected: expected, Score: score, SlopeYear: math.Exp(b.drift.slope)}
			a.LLR = bernoulli(float64(o), trials*expected/cases, cases, trials)
			for _, m := range a.Models {
				a.Visits += int(s.tail[m][h-1])
			}
			list = append(list, a)
		})
	}
	slices.SortStableFunc(list, func(a, b Alarm) int { // a total order: of equal scores the shorter list of models, then the order of nodes
		return cmp.Or(cmp.Compare(b.Score, a.Score), cmp.Compare(len(a.Models), len(b.Models)))
	})
	return list
}

// settle fits the drift of the counts at hand: from scratch for the history, one step from the truth for replicates.
func (b *bench) settle(sr *series, steps int) {
	b.drift.level, b.drift.slope = sr.truth.level, sr.truth.slope
	copy(b.drift.p, sr.truth.p)
	b.drift.fit(b.total, sr.visits, steps)
}

// score hands each node's strongest window with enough cases to found: the node, the window in weeks, the cases in
// it, those expected, the node's cases and visits in all weeks, and the scaled log-likelihood ratio.
func (s *scanner) score(b *bench, sr *series, found func(n, h, o int, expected, cases, trials, score float64)) {
	g := s.grid
	for i, m := range sr.models {
		var all float64
		for w, v := range g.Visits[m] {
			if v > 0 {
				all += float64(v) * b.drift.p[w]
			}
		}
		var in float64
		for h := range MaxWindow {
			w := g.Weeks - 1 - h
			in += float64(g.Visits[m][w]) * b.drift.p[w]
			b.share[m][h] = float64(sr.cases[i]) * in / all
		}
	}
	for _, ni := range sr.nodes {
		n := &s.nodes[ni]
		var o [MaxWindow]int32
		var e [MaxWindow]float64
		var trials, cases float64
		for _, m := range n.models {
			trials += float64(s.visits[m])
			k := sr.casesOf(m)
			if k == 0 {
				continue
			}
			cases += float64(k)
			var sum int32
			for h := range MaxWindow {
				sum += b.counts[m][g.Weeks-1-h]
				o[h] += sum
				e[h] += b.share[m][h]
			}
		}
		best, at := 0.0, -1
		for h := range MaxWindow {
			if o[h] < minCases || float64(o[h]) <= e[h] {
				continue
			}
			llr := bernoulli(float64(o[h]), trials*e[h]/cases, cases, trials)
			if score := llr / (1 + b.drift.spread*e[h]/float64(h+1)); score > best {
				best, at = score, h
			}
		}
		if at >= 0 {
			found(ni, at+1, int(o[at]), e[at], cases, trials, best)
		}
	}
}

func (sr *series) casesOf(model int) int {
	i, ok := slices.BinarySearch(sr.models, model)
	if !ok {
		return 0
	}
	return sr.cases[i]
}

// bernoulli is Kulldorff's log-likelihood ratio with a number of visits that need not be whole: the visits that
// would make the expected number of cases come out under one chance everywhere. With a single model and no drift
// these are the visits of the window, and it is stat.BernoulliLLR.
func bernoulli(c, n, C, N float64) float64 {
	n = math.Min(math.Max(n, c), N-(C-c)) // a mix of very unequal models can leave less room than cases
	if n <= 0 || n >= N || c*(N-n) <= (C-c)*n {
		return 0
	}
	return part(c, C*n/N) + part(C-c, C*(N-n)/N) + part(n-c, (N-C)*n/N) + part(N-n-C+c, (N-C)*(N-n)/N)
}

// part is one cell's share of the log-likelihood ratio; the linear terms of the four cells add up to 0.
func part(seen, expected float64) float64 {
	if seen <= 0 {
		return 0
	}
	return seen * math.Log(seen/expected)
}

// maxima simulates the largest score under the null hypothesis. Each replicate has a random stream of its own, so
// the result does not depend on the number of workers.
func (s *scanner) maxima(ctx context.Context, opt ScanOptions) ([]float64, error) {
	maxima := make([]float64, opt.Replicates)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range opt.Workers {
		wg.Go(func() {
			b := s.newBench()
			source := rand.NewPCG(0, 0)
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= len(maxima) {
					return
				}
				source.Seed(opt.Seed, uint64(i)+1)
				maxima[i] = s.replicate(b, source)
			}
		})
	}
	wg.Wait()
	return maxima, ctx.Err()
}

func (s *scanner) replicate(b *bench, source *rand.PCG) float64 {
	largest := 0.0
	rng := draws{source}
	for i := range s.series {
		sr := &s.series[i]
		s.reallocate(b, sr, rng)
		b.settle(sr, 1)
		s.score(b, sr, func(_, _, _ int, _, _, _, score float64) { largest = max(largest, score) })
	}
	return largest
}
