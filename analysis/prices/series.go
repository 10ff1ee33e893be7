package prices

import (
	"cmp"
	"math"
	"slices"
)

// A quote is what a part cost on some lines of one month.
type quote struct {
	cost        float64
	lines       int32
	month       day // its first
	first, last day
}

// A series holds the quotes of one model, component and currency, months in order.
type series []quote

func (s series) lines() (n int) {
	for _, q := range s {
		n += int(q.lines)
	}
	return n
}

// latest is the cost on the last day; of several that day the highest, which is what the next one may cost.
func (s series) latest() float64 {
	best := s[0]
	for _, q := range s[1:] {
		if q.last > best.last || q.last == best.last && q.cost > best.cost {
			best = q
		}
	}
	return best.cost
}

// since leaves out what was last quoted before a day.
func (s series) since(from day) series {
	var out series
	for _, q := range s {
		if q.last >= from {
			out = append(out, q)
		}
	}
	return out
}

// quartiles of the cost over lines.
func (s series) quartiles() (q [3]float64) {
	sorted := s.byCost()
	for i := range q {
		q[i] = sorted.quantile(float64(i+1) / 4)
	}
	return q
}

func (s series) median() float64 { return s.byCost().quantile(0.5) }

func (s series) byCost() series {
	sorted := slices.Clone(s)
	slices.SortFunc(sorted, func(a, b quote) int { return cmp.Compare(a.cost, b.cost) })
	return sorted
}

// quantile is the p-quantile of the cost over the lines of a series in order of cost: Hyndman and Fan (1996), American
// Statistician 50, 361-365, type 7.
func (s series) quantile(p float64) float64 {
	at := p * float64(s.lines()-1)
	lower, share := int(math.Floor(at)), at-math.Floor(at)
	value := func(i int) float64 {
		for _, q := range s {
			if i < int(q.lines) {
				return q.cost
			}
			i -= int(q.lines)
		}
		return s[len(s)-1].cost
	}
	low := value(lower)
	if share == 0 {
		return low
	}
	return low + share*(value(lower+1)-low)
}

// A jump is a lasting change of cost: from before to after on a day.
type jump struct {
	on            day
	before, after float64
}

const (
	jumpFactor = 1.25 // the least change that is told, up or down
	jumpLines  = 3    // the least lines on both sides
)

// lastJump finds the latest day from which on the cost is another and stays so: the last border between the series'
// segments. A border is the month that leaves the least spread of log cost on its two sides, and then again within
// each side; it counts when the medians of the sides differ by jumpFactor or more and their middle halves do not
// overlap.
//
// Least-squares segmentation: Scott and Knott (1974), Biometrics 30, 507-512.
func (s series) lastJump() (jump, bool) {
	parts := s.segments()
	if len(parts) < 2 {
		return jump{}, false
	}
	before, after := parts[len(parts)-2], parts[len(parts)-1]
	on := after[0].first
	for _, q := range after {
		on = min(on, q.first)
	}
	return jump{on: on, before: before.median(), after: after.median()}, true
}

func (s series) segments() []series {
	at := s.border()
	if at == 0 || !differ(s[:at], s[at:]) {
		return []series{s}
	}
	return append(s[:at].segments(), s[at:].segments()...)
}

// border is the first quote of the month that parts the series best; 0 when none leaves enough lines on both sides.
func (s series) border() int {
	logs, mean, lines := make([]float64, len(s)), 0.0, 0
	for i, q := range s {
		logs[i] = math.Log(q.cost)
		mean += float64(q.lines) * logs[i]
		lines += int(q.lines)
	}
	mean /= float64(lines) // sums about the mean lose no digits to its square
	var before, after sums
	for i, q := range s {
		after.add(logs[i]-mean, int(q.lines))
	}
	best, at := math.Inf(1), 0
	for i := 1; i < len(s); i++ {
		before.add(logs[i-1]-mean, int(s[i-1].lines))
		after.add(logs[i-1]-mean, -int(s[i-1].lines))
		if s[i].month == s[i-1].month || before.n < jumpLines || after.n < jumpLines {
			continue
		}
		if spread := before.spread() + after.spread(); spread < best {
			best, at = spread, i
		}
	}
	return at
}

// sums of log costs over lines.
type sums struct {
	n            int
	sum, squares float64
}

func (s *sums) add(v float64, lines int) {
	s.n += lines
	s.sum += float64(lines) * v
	s.squares += float64(lines) * v * v
}

// spread is the sum of squares about their mean.
func (s *sums) spread() float64 { return s.squares - s.sum*s.sum/float64(s.n) }

func differ(a, b series) bool {
	x, y := a.quartiles(), b.quartiles()
	return math.Max(x[1]/y[1], y[1]/x[1]) >= jumpFactor && (x[0] > y[2] || y[0] > x[2])
}
