package stat

import (
	"fmt"
	"sort"
)

// A LogRankTest compares groups over the whole of follow-up. Observed and Expected events
// are per group, in the order given; Expected is under one common hazard.
type LogRankTest struct {
	Observed, Expected []float64
	Test               // chi-square with groups less one degrees of freedom
}

// LogRank tests whether two or more groups share one hazard; each group is a list of
// lifetimes. A group never at risk together with another one counts for nothing; fewer than
// two groups left, or no event, is ErrNoInformation.
//
// Mantel (1966), Cancer Chemotherapy Reports 50, 163-170; Peto and Peto (1972).
func LogRank(groups [][]Lifetime) (LogRankTest, error) {
	return LogRankStratified([][][]Lifetime{groups})
}

// LogRankStratified is LogRank within strata: strata[s][g] is group g in stratum s (empty
// where there is none). Hazards may differ between strata, not between groups within one.
func LogRankStratified(strata [][][]Lifetime) (LogRankTest, error) {
	k, err := groupCount(strata)
	if err != nil {
		return LogRankTest{}, err
	}
	r := LogRankTest{Observed: make([]float64, k), Expected: make([]float64, k)}
	variance := make([]float64, k*k)
	for _, groups := range strata {
		err := eventTimes(groups, func(atRisk, events []int) {
			n, d := 0.0, 0.0
			for g := range groups {
				n += float64(atRisk[g])
				d += float64(events[g])
			}
			for g := range groups {
				share := float64(atRisk[g]) / n
				r.Observed[g] += float64(events[g])
				r.Expected[g] += d * share
				if n < 2 {
					continue
				}
				spread := d * (n - d) / (n - 1) * share
				for h := range groups {
					variance[g*k+h] -= spread * float64(atRisk[h]) / n
				}
				variance[g*k+g] += spread
			}
		})
		if err != nil {
			return LogRankTest{}, err
		}
	}
	excess := make([]float64, k)
	for g := range excess {
		excess[g] = r.Observed[g] - r.Expected[g]
	}
	chi, rank := quadraticForm(excess, variance)
	if rank == 0 {
		return LogRankTest{}, fmt.Errorf("%w: no event while two groups were at risk", ErrNoInformation)
	}
	r.Test = Test{Statistic: chi, DF: rank, P: chiSquareTail(chi, rank)}
	return r, nil
}

// HazardRatio is the hazard of the first group over that of the second, assumed constant
// over time and strata: the Mantel-Haenszel odds ratio over the event times, so it is
// consistent with the log-rank test and has limits even when a group has no event.
//
// Bernstein, Anderson and Pike (1981), J. Chronic Diseases 34, 511-518, discuss such
// estimators; variance of Robins, Breslow and Greenland as in MantelHaenszelOdds.
func HazardRatio(strata [][][]Lifetime, conf float64) (Ratio, error) {
	k, err := groupCount(strata)
	if err != nil {
		return Ratio{}, err
	}
	if k != 2 {
		return Ratio{}, outOfRange("%d groups: want 2", k)
	}
	var tables []Table2
	for _, groups := range strata {
		err := eventTimes(groups, func(n, d []int) {
			tables = append(tables, Table2{d[0], n[0] - d[0], d[1], n[1] - d[1]})
		})
		if err != nil {
			return Ratio{}, err
		}
	}
	if len(tables) == 0 {
		return Ratio{}, fmt.Errorf("%w: no event", ErrNoInformation)
	}
	return MantelHaenszelOdds(tables, conf)
}

func groupCount(strata [][][]Lifetime) (int, error) {
	if len(strata) == 0 {
		return 0, fmt.Errorf("%w: no stratum", ErrNoData)
	}
	k := len(strata[0])
	for s, groups := range strata {
		if len(groups) != k {
			return 0, outOfRange("stratum %d has %d groups, the first has %d", s+1, len(groups), k)
		}
	}
	if k < 2 {
		return 0, outOfRange("%d groups: want 2 or more", k)
	}
	return k, nil
}

// eventTimes calls visit at each time with an event, in order, with those at risk just
// before it and the events at it, per group.
func eventTimes(groups [][]Lifetime, visit func(atRisk, events []int)) error {
	type entry struct {
		Lifetime
		group int
	}
	var all []entry
	atRisk, events := make([]int, len(groups)), make([]int, len(groups))
	for g, list := range groups {
		if len(list) == 0 {
			continue
		}
		list, err := tidy(list)
		if err != nil {
			return fmt.Errorf("group %d: %w", g+1, err)
		}
		for _, l := range list {
			all = append(all, entry{l, g})
			atRisk[g] += l.Events + l.Censored
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Time < all[j].Time })
	for i := 0; i < len(all); {
		j, any := i, false
		for ; j < len(all) && all[j].Time == all[i].Time; j++ {
			events[all[j].group] += all[j].Events
			any = any || all[j].Events > 0
		}
		if any {
			visit(atRisk, events)
		}
		for ; i < j; i++ {
			atRisk[all[i].group] -= all[i].Events + all[i].Censored
			events[all[i].group] = 0
		}
	}
	return nil
}

// quadraticForm is x' V- x for a covariance V (k by k, rows in turn) whose rows sum to 0
// within sets of groups compared with each other, and the rank of V. It eliminates with
// the largest remaining diagonal as pivot and stops where only rounding is left.
func quadraticForm(x, v []float64) (form float64, rank int) {
	k := len(x)
	x, v = append([]float64(nil), x...), append([]float64(nil), v...)
	largest := 0.0
	for g := range k {
		largest = max(largest, v[g*k+g])
	}
	done := make([]bool, k)
	for range k {
		p := -1
		for g := range k {
			if !done[g] && (p < 0 || v[g*k+g] > v[p*k+p]) {
				p = g
			}
		}
		pivot := v[p*k+p]
		if !(pivot > 1e-10*largest) {
			break
		}
		done[p] = true
		rank++
		form += x[p] * x[p] / pivot
		for g := range k {
			if done[g] {
				continue
			}
			f := v[g*k+p] / pivot
			x[g] -= f * x[p]
			for h := range k {
				if !done[h] {
					v[g*k+h] -= f * v[p*k+h]
				}
			}
		}
	}
	return max(form, 0), rank
}
