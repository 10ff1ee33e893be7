package stat

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"
)

// A Lifetime is a count of subjects that were followed for Time: Events ended with the
// event then, Censored were still without it when last seen.
type Lifetime struct {
	Time             float64
	Events, Censored int
}

// Lifetimes turns one time and one flag per subject into tallies. Times may be in any order.
func Lifetimes(times []float64, event []bool) ([]Lifetime, error) {
	if err := checkLengths(len(times), len(event)); err != nil {
		return nil, err
	}
	list := make([]Lifetime, len(times))
	for i, t := range times {
		list[i].Time = t
		if event[i] {
			list[i].Events = 1
		} else {
			list[i].Censored = 1
		}
	}
	return tidy(list)
}

// tidy sorts by time and adds up equal times; the input is not changed.
func tidy(list []Lifetime) ([]Lifetime, error) {
	sorted := slices.Clone(list)
	byTime := func(a, b Lifetime) int { return cmp.Compare(a.Time, b.Time) }
	if !slices.IsSortedFunc(sorted, byTime) {
		slices.SortStableFunc(sorted, byTime)
	}
	out := sorted[:0]
	for _, l := range sorted {
		switch {
		case !(l.Time >= 0) || math.IsInf(l.Time, 0):
			return nil, outOfRange("time %v: want 0 or more", l.Time)
		case l.Events < 0 || l.Censored < 0:
			return nil, outOfRange("at time %v: %d events, %d censored: want 0 or more", l.Time, l.Events, l.Censored)
		case l.Events+l.Censored == 0:
		case len(out) > 0 && out[len(out)-1].Time == l.Time:
			out[len(out)-1].Events += l.Events
			out[len(out)-1].Censored += l.Censored
		default:
			out = append(out, l)
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("%w: no lifetime", ErrNoData)
	}
	return out, nil
}

// LimitScale is the scale on which limits of a survival curve are symmetric.
type LimitScale int

const (
	LogLog LimitScale = iota // limits stay within 0 and 1; better in small samples
	Log                      // the upper limit is cut at 1
)

// A SurvivalStep is the curve from Time (an event time) on.
type SurvivalStep struct {
	Time    float64
	AtRisk  int // followed up to Time or longer
	Events  int
	Share   float64 // still without the event
	SE      float64 // Greenwood's standard error; 0 once Share is 0
	Lo, Hi  float64
	Limited bool // false once Share is 0, where Greenwood's variance does not exist
}

// A Survival is a Kaplan-Meier curve: steps at event times, in order.
type Survival struct {
	Steps  []SurvivalStep
	Total  int     // subjects
	Events int     // in all
	Last   float64 // the longest time of follow-up, event or not
	list   []Lifetime
	conf   float64
	scale  LimitScale
}

// KaplanMeier estimates the share still without the event at each time, allowing for
// subjects seen only for a while, if why they were lost says nothing about the event.
// Events at a time come before those censored at it. Without any event there are no steps.
//
// Kaplan and Meier (1958), J. Am. Stat. Assoc. 53, 457-481; Greenwood (1926); log-log limits
// of Kalbfleisch and Prentice, The Statistical Analysis of Failure Time Data.
func KaplanMeier(list []Lifetime, conf float64, scale LimitScale) (Survival, error) {
	if err := checkConf(conf); err != nil {
		return Survival{}, err
	}
	list, err := tidy(list)
	if err != nil {
		return Survival{}, err
	}
	s := Survival{list: list, conf: conf, scale: scale, Last: list[len(list)-1].Time}
	for _, l := range list {
		s.Total += l.Events + l.Censored
		s.Events += l.Events
	}
	atRisk, share, greenwood := s.Total, 1.0, 0.0
	for _, l := range list {
		if l.Events > 0 {
			n, d := float64(atRisk), float64(l.Events)
			share *= (n - d) / n
			step := SurvivalStep{Time: l.Time, AtRisk: atRisk, Events: l.Events, Share: share, Hi: 1}
			if l.Events < atRisk {
				greenwood += d / (n * (n - d))
				step.SE = share * math.Sqrt(greenwood)
				step.Lo, step.Hi = survivalLimits(share, math.Sqrt(greenwood), conf, scale)
				step.Limited = true
			} else if len(s.Steps) > 0 {
				step.Hi = s.Steps[len(s.Steps)-1].Hi
			}
			s.Steps = append(s.Steps, step)
		}
		atRisk -= l.Events + l.Censored
	}
	return s, nil
}

// survivalLimits takes the standard error of log(share).
func survivalLimits(share, seLog, conf float64, scale LimitScale) (lo, hi float64) {
	z := zFor(conf)
	if scale == Log {
		return share * math.Exp(-z*seLog), min(share*math.Exp(z*seLog), 1)
	}
	spread := math.Exp(z * seLog / -math.Log(share))
	return math.Pow(share, spread), math.Pow(share, 1/spread)
}

// At is the share still without the event at time t, with limits. Past the end of
// follow-up nothing is known: ErrNoData. Before the first event Greenwood's variance is 0
// and would claim certainty, so the limits are those of Wilson for all of those still
// at risk at t.
func (s Survival) At(t float64) (Estimate, error) {
	if !(t >= 0) {
		return Estimate{}, outOfRange("time %v: want 0 or more", t)
	}
	if t > s.Last {
		return Estimate{}, fmt.Errorf("%w: follow-up ends at %g, before %g", ErrNoData, s.Last, t)
	}
	i := sort.Search(len(s.Steps), func(i int) bool { return s.Steps[i].Time > t })
	if i > 0 {
		step := s.Steps[i-1]
		return Estimate{step.Share, step.Lo, step.Hi}, nil
	}
	atRisk := s.Total
	for _, l := range s.list {
		if l.Time < t {
			atRisk -= l.Events + l.Censored
		}
	}
	iv, err := Wilson(atRisk, atRisk, s.conf)
	return Estimate{1, iv.Lo, iv.Hi}, err
}

// A TimeEstimate is a time with limits, each unbounded where the curve never gets there.
type TimeEstimate struct{ Value, Lo, Hi Limit }

// Median is the time by which half have had the event: Quantile(1/2).
func (s Survival) Median() TimeEstimate {
	q, _ := s.Quantile(0.5)
	return q
}

// Quantile is the first time by which a share p has had the event, with limits read off
// the limits of the curve. Where the curve is level at 1-p, it is the middle of the level.
//
// Brookmeyer and Crowley (1982), Biometrics 38, 29-41.
func (s Survival) Quantile(p float64) (TimeEstimate, error) {
	if !(p > 0 && p < 1) {
		return TimeEstimate{}, outOfRange("quantile %v: want a value between 0 and 1", p)
	}
	left := 1 - p
	return TimeEstimate{
		Value: s.crossing(left, func(st SurvivalStep) (float64, bool) { return st.Share, true }),
		Lo:    s.crossing(left, func(st SurvivalStep) (float64, bool) { return st.Lo, st.Limited }),
		Hi:    s.crossing(left, func(st SurvivalStep) (float64, bool) { return st.Hi, st.Limited }),
	}, nil
}

// crossing is the first time the curve is at or below level; level with tolerance for rounding.
func (s Survival) crossing(level float64, curve func(SurvivalStep) (float64, bool)) Limit {
	const tol = 1e-8
	for i, step := range s.Steps {
		v, ok := curve(step)
		if !ok || v > level+tol {
			continue
		}
		if v >= level-tol && i+1 < len(s.Steps) {
			return bounded((step.Time + s.Steps[i+1].Time) / 2)
		}
		return bounded(step.Time)
	}
	return Limit{}
}

// RestrictedMean is the mean time without the event within the first horizon, with its
// standard error: the area under the curve up to there. A horizon past the end of
// follow-up is ErrNoData unless the curve is already at 0.
//
// Klein and Moeschberger, Survival Analysis, section 4.5.
func (s Survival) RestrictedMean(horizon float64) (mean, se float64, err error) {
	if !(horizon > 0) || math.IsInf(horizon, 0) {
		return 0, 0, outOfRange("horizon %v: want a positive number", horizon)
	}
	done := len(s.Steps) > 0 && s.Steps[len(s.Steps)-1].Share == 0
	if horizon > s.Last && !done {
		return 0, 0, fmt.Errorf("%w: follow-up ends at %g, before %g", ErrNoData, s.Last, horizon)
	}
	// Backwards, so that area is what lies to the right of each step.
	area, variance, right := 0.0, 0.0, horizon
	for i := len(s.Steps) - 1; i >= 0; i-- {
		step := s.Steps[i]
		if step.Time >= horizon {
			continue
		}
		area += step.Share * (right - step.Time)
		right = step.Time
		n, d := float64(step.AtRisk), float64(step.Events)
		if n > d {
			variance += area * area * d / (n * (n - d))
		}
	}
	return area + right, math.Sqrt(variance), nil
}
