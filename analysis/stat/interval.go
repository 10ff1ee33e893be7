package stat

// An Interval is a pair of limits with Lo <= Hi, in the unit of what they limit.
type Interval struct{ Lo, Hi float64 }

// An Estimate is a point estimate between two limits, all in the same unit.
type Estimate struct{ Value, Lo, Hi float64 }

// A Limit is a number that may not exist because the quantity runs off to infinity
// (the odds ratio of a table with a zero cell, the median when fewer than half failed).
// Value means something only where Bounded is true; a table leaves the cell empty otherwise.
type Limit struct {
	Value   float64
	Bounded bool
}

// A Ratio is the estimate of a ratio (odds, risk, rate, hazard) with its limits.
// Lo is at least 0; Value and Hi may be unbounded.
type Ratio struct {
	Value Limit
	Lo    float64
	Hi    Limit
}

// A Test is a statistic with its two-sided p-value. DF is the degrees of freedom of a
// chi-square statistic, and 0 for a statistic that is standard normal under the hypothesis.
type Test struct {
	Statistic float64
	DF        int
	P         float64
}

func bounded(v float64) Limit { return Limit{Value: v, Bounded: true} }

// leastP is the smallest p-value reported: a p of exactly 0 would claim the impossible,
// and below this the tails are lost to floating point anyway.
const leastP = 1e-300

// probability trims rounding so that a p-value is in [1e-300, 1].
func probability(p float64) float64 { return min(max(p, leastP), 1) }
