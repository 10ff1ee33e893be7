package batches

import "slices"

// A scanner holds what replicates share; it is read only once made.
type scanner struct {
	grid   *Grid
	axis   []vector
	nodes  []node
	urns   []urn // [model]
	series []series
}

// A series is one component in one class: what is fitted and simulated together.
type series struct {
	component int
	models    []int   // those that ever show the component
	cases     []int   // per model of models, in all weeks
	under     [][]int // per model of models: the sheets it counts for
	visits    []int32 // of the class, per week
	total     []int32 // cases of the class, per week
	course    course  // fitted to what was seen
	rests     []rest  // per model of models
	rest      rest    // of all of them
	cover     [terms]vector
	score     vector  // see pull
	weights   weights // of the weeks, by the course
	sheets    []sheet
	fences    []fence // of the sheets
	scatter   scatter
}

// A sheet is what a node expects of a component, by window. Its course is that of the rest of the class, one Newton step
// from the course of the class, so that an excess of the node doesn't pass for drift or season; where the rest has too
// few cases it is that of the class.
type sheet struct {
	node          int
	trials, cases float64
	whole         bool               // the course is that of the class
	cover         [terms]vector      // of the course; see course
	score         vector             // seen by what the course was fitted to
	expected      [MaxWindow]float64 // of cases, when the course is the fitted one
	tilt          [MaxWindow]vector  // how the logarithm of expected moves with the course
	doubt         [MaxWindow]float64 // variance of the logarithm of expected, from the course of the rest being an estimate
	alike         float64            // how far the node's cases lie in one model: 1 in one, 1/n in n equal ones
	apart         float64            // alike of the node and that of the rest together
}

func newScanner(g *Grid) *scanner {
	s := &scanner{grid: g, axis: axis(g.Weeks), nodes: g.nodes(), urns: make([]urn, len(g.Models))}
	for m := range g.Models {
		s.urns[m] = newUrn(g.Visits[m])
	}
	var classes [][]int
	at := map[string]int{}
	for m, d := range g.Models {
		i, ok := at[d.Class]
		if !ok {
			i = len(classes)
			at[d.Class] = i
			classes = append(classes, nil)
		}
		classes[i] = append(classes[i], m)
	}
	within := make([][]int, len(classes)) // nodes of each class
	for n := range s.nodes {
		c := at[g.Models[s.nodes[n].models[0]].Class]
		within[c] = append(within[c], n)
	}
	for c := range g.Components {
		for i, models := range classes {
			if sr, ok := s.newSeries(c, models, within[i]); ok {
				s.series = append(s.series, sr)
			}
		}
	}
	return s
}

func (s *scanner) newSeries(component int, models, nodes []int) (series, bool) {
	g := s.grid
	sr := series{component: component, visits: make([]int32, g.Weeks), total: make([]int32, g.Weeks)}
	all := 0
	for _, m := range models {
		for w, v := range g.Visits[m] {
			sr.visits[w] += v
		}
		k := 0
		for w, x := range g.Cases[component][m] {
			sr.total[w] += x
			k += int(x)
		}
		if k > 0 {
			sr.models, sr.cases = append(sr.models, m), append(sr.cases, k)
			if s.urns[m].single(k) {
				s.urns[m].open()
			}
		}
		all += k
	}
	if all < minCases {
		return sr, false // no window can hold enough, in any replicate
	}
	sr.course = newCourse(s.axis, sr.total, sr.visits)
	for j := range sr.models {
		r := s.restOf(&sr, j)
		sr.rests = append(sr.rests, r)
		sr.rest.add(1, &r)
	}
	sr.cover, sr.score = sr.pull(sr.rest)
	sr.weights = newWeights(sr.course.p)
	sr.under = make([][]int, len(sr.models))
	for _, n := range nodes {
		s.addSheet(&sr, n)
	}
	sr.scatter = s.newScatter(&sr)
	return sr, true
}

// addSheet works out what a node expects; a node without enough cases has no sheet.
func (s *scanner) addSheet(sr *series, n int) {
	k := sheet{node: n}
	var members []int
	for _, m := range s.nodes[n].models {
		k.trials += float64(s.urns[m].all)
		if j, ok := slices.BinarySearch(sr.models, m); ok {
			members = append(members, j)
			k.cases += float64(sr.cases[j])
			k.alike += float64(sr.cases[j]) * float64(sr.cases[j])
		}
	}
	if k.cases < minCases {
		return
	}
	k.alike /= k.cases * k.cases
	others := sr.rest
	for _, j := range members {
		others.add(-1, &sr.rests[j])
	}
	if k.whole = others.cases < minCases; k.whole {
		others = sr.rest
	}
	if k.apart = k.alike; !k.whole {
		for j, cases := range sr.cases {
			if !slices.Contains(members, j) {
				share := float64(cases) / float64(others.cases)
				k.apart += share * share
			}
		}
	}
	k.cover, k.score = sr.pull(others)
	for _, j := range members {
		sr.under[j] = append(sr.under[j], len(sr.sheets))
		var all, in float64
		var allMoved, moved vector
		visits := s.urns[sr.models[j]].visits
		for w, v := range visits {
			all += float64(v) * sr.course.p[w]
			allMoved.add(float64(v)*sr.course.p[w]*(1-sr.course.p[w]), s.axis[w])
		}
		for h := range MaxWindow {
			w := len(visits) - 1 - h
			in += float64(visits[w]) * sr.course.p[w]
			moved.add(float64(visits[w])*sr.course.p[w]*(1-sr.course.p[w]), s.axis[w])
			e := float64(sr.cases[j]) * in / all
			k.expected[h] += e
			if in > 0 {
				k.tilt[h].add(e/in, moved)
			}
			k.tilt[h].add(-e/all, allMoved)
		}
	}
	for h := range k.tilt {
		if k.expected[h] > 0 {
			for i := range terms {
				k.tilt[h][i] /= k.expected[h]
			}
		}
	}
	for h := range k.doubt {
		if !k.whole {
			k.doubt[h] = max(0, k.tilt[h].dot(step(&k.cover, k.tilt[h], vector{})))
		}
	}
	sr.sheets, sr.fences = append(sr.sheets, k), append(sr.fences, newFence(&k))
}

// A rest sums, over some models of a series, what a step from the class's course needs: the score and the information
// of the course at the cases expected week by week of each model's own number.
type rest struct {
	score vector
	info  [terms]vector
	cases int
}

func (r *rest) add(f float64, o *rest) {
	r.score.add(f, o.score)
	for i := range terms {
		r.info[i].add(f, o.info[i])
	}
	r.cases += int(f) * o.cases
}

// restOf is what model j of a series adds.
func (s *scanner) restOf(sr *series, j int) rest {
	r := rest{cases: sr.cases[j]}
	sum := 0.0
	visits := s.urns[sr.models[j]].visits
	for w, v := range visits {
		sum += float64(v) * sr.course.p[w]
	}
	for w, v := range visits {
		mean := float64(sr.cases[j]) * float64(v) * sr.course.p[w] / sum
		r.score.add(mean, s.axis[w])
		for i := range terms {
			r.info[i].add(mean*(1-sr.course.p[w])*s.axis[w][i], s.axis[w])
		}
	}
	return r
}

// pull makes a rest ready for steps: cover is the inverse of the information with the penalty, score what is to be
// taken off what was seen.
func (sr *series) pull(r rest) (cover [terms]vector, score vector) {
	for i := range terms {
		r.info[i][i] += penalty[i]
		r.score[i] += penalty[i] * sr.course.at[i]
	}
	r.score[0] -= penalty[0] * sr.course.at[0] // each model's number of cases is kept: the level has nothing to learn
	return inverse(r.info), r.score
}

func (v *vector) add(f float64, o vector) {
	for i := range terms {
		v[i] += f * o[i]
	}
}

func (s *scanner) visitsWithin(model, h int) int {
	n := 0
	for _, v := range s.grid.Visits[model][s.grid.Weeks-1-h:] {
		n += int(v)
	}
	return n
}
