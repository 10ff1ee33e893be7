package stat

import (
	"fmt"
	"math"
)

// RiskSets are those of a whole stratum: at each time with an event, in ascending order, how many were at risk just
// before it and how many events there were.
type RiskSets struct {
	Times          []float64
	AtRisk, Events []int
}

// NewRiskSets counts the risk sets of a list of lifetimes; an empty list is ErrNoData.
func NewRiskSets(list []Lifetime) (RiskSets, error) {
	list, err := tidy(list)
	if err != nil {
		return RiskSets{}, err
	}
	var sets RiskSets
	left := 0
	for _, l := range list {
		left += l.Events + l.Censored
	}
	for _, l := range list {
		if l.Events > 0 {
			sets.Times = append(sets.Times, l.Time)
			sets.AtRisk, sets.Events = append(sets.AtRisk, left), append(sets.Events, l.Events)
		}
		left -= l.Events + l.Censored
	}
	return sets, nil
}

// A Member is one group within a stratum: All counts everyone in the stratum, Own, by ascending time, is the group's
// part of that.
type Member struct {
	All *RiskSets
	Own []Lifetime
}

// OneAgainstRest compares a group with everybody else of its strata: the stratified log-rank test and the hazard ratio of
// LogRankStratified and HazardRatio. Risk sets counted once serve all groups of a stratum, so that many groups take no
// longer than all their members together. No event while both sides were at risk is ErrNoInformation.
func OneAgainstRest(strata []Member, conf float64) (Test, Ratio, error) {
	if err := checkConf(conf); err != nil {
		return Test{}, Ratio{}, err
	}
	var excess, variance float64
	var sums mhSums
	err := eachEventTable(strata, func(t Table2) {
		n, d, own := float64(t.total()), float64(t.A+t.C), float64(t.A+t.B)
		if rest := float64(t.C + t.D); rest > 0 && n > 1 {
			excess += float64(t.A) - d*own/n
			variance += d * (n - d) / (n - 1) * own / n * rest / n
		}
		sums.add(t)
	})
	if err != nil {
		return Test{}, Ratio{}, err
	}
	if variance == 0 {
		return Test{}, Ratio{}, fmt.Errorf("%w: no event while two groups were at risk", ErrNoInformation)
	}
	chi := excess * excess / variance
	test := Test{Statistic: chi, DF: 1, P: normalTwoSided(math.Sqrt(chi))}
	if sums.r > 0 && sums.s > 0 {
		return test, logRatio(sums.r/sums.s, sums.logSE(), conf), nil
	}
	var tables []Table2
	if err := eachEventTable(strata, func(t Table2) { tables = append(tables, t) }); err != nil {
		return Test{}, Ratio{}, err
	}
	ratio, err := OddsRatioStratified(tables, conf)
	return test, ratio, err
}

// eachEventTable calls visit with the 2x2 table of each event time at which someone of the group was at risk: events and
// others of the group, then of the rest.
func eachEventTable(strata []Member, visit func(Table2)) error {
	for s, m := range strata {
		left := 0
		for i, l := range m.Own {
			if i > 0 && l.Time < m.Own[i-1].Time || l.Events < 0 || l.Censored < 0 {
				return outOfRange("stratum %d: the group's lifetimes: want ascending times and counts of 0 or more", s+1)
			}
			left += l.Events + l.Censored
		}
		next := 0
		for j, time := range m.All.Times {
			for ; next < len(m.Own) && m.Own[next].Time < time; next++ {
				left -= m.Own[next].Events + m.Own[next].Censored
			}
			if left == 0 {
				break
			}
			events := 0
			for k := next; k < len(m.Own) && m.Own[k].Time == time; k++ {
				events += m.Own[k].Events
			}
			t := Table2{A: events, B: left - events, C: m.All.Events[j] - events}
			t.D = m.All.AtRisk[j] - left - t.C
			if t.C < 0 || t.D < 0 {
				return outOfRange("stratum %d: the group is no part of it", s+1)
			}
			visit(t)
		}
	}
	return nil
}
