package prices

import (
	"math"
	"slices"
	"time"
)

// A quote is what a part cost on some lines of one month.
type quote struct {
	cost        float64
	lines       int
	month       time.Time
	first, last time.Time
}

// A series holds the quotes of one model, component and currency, months in order.
type series []quote

func (s series) lines() (n int) {
	for _, q := range s {
		n += q.lines
	}
	return n
}

// latest is the cost on the last day; of several that day the highest, which is what the next one may cost.
func (s series) latest() float64 {
	best := s[0]
	for _, q := range s[1:] {
		if q.last.After(best.last) || q.last.Equal(best.last) && q.cost > best.cost {
			best = q
		}
	}
	return best.cost
}

// since leaves out what was last quoted before a day.
func (s series) since(day time.Time) series {
	var out series
	for _, q := range s {
		if !q.last.Before(day) {
			out = append(out, q)
		}
	}
	return out
}

// quantile is the p-quantile of the cost over lines: Hyndman and Fan (1996), American Statistician 50, 361-365, type 7.
func (s series) quantile(p float64) float64 {
	sorted := slices.Clone(s)
	slices.SortFunc(sorted, func(a, b quote) int {
		switch {
		case a.cost < b.cost:
			return -1
		case a.cost > b.cost:
			return 1
		}
		return 0
	})
	at := p * float64(s.lines()-1)
	lower, share := int(math.Floor(at)), at-math.Floor(at)
	value := func(i int) float64 {
		for _, q := range sorted {
			if i < q.lines {
				return q.cost
			}
			i -= q.lines
		}
		return sorted[len(sorted)-1].cost
	}
	low := value(lower)
	if share == 0 {
		return low
	}
	return low + share*(value(lower+1)-low)
}

func (s series) median() float64 { return s.quantile(0.5) }

// A jump is a lasting change of cost: from before to after on a day.
type jump struct {
	on            time.Time
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
	day := after[0].first
	for _, q := range after {
		if q.first.Before(day) {
			day = q.first
		}
	}
	return jump{on: day, before: before.median(), after: after.median()}, true
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
		lines += q.lines
	}
	mean /= float64(lines) // sums about the mean lose no digits to its square
	var before, after sums
	for i, q := range s {
		after.add(logs[i]-mean, q.lines)
	}
	best, at := math.Inf(1), 0
	for i := 1; i < len(s); i++ {
		before.add(logs[i-1]-mean, s[i-1].lines)
		after.add(logs[i-1]-mean, -s[i-1].lines)
		if s[i].month.Equal(s[i-1].month) || before.n < jumpLines || after.n < jumpLines {
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
	x, y := a.median(), b.median()
	return math.Max(x/y, y/x) >= jumpFactor && (a.quantile(0.25) > b.quantile(0.75) || b.quantile(0.25) > a.quantile(0.75))
}
