package batches

import (
	"context"
	"slices"
	"strings"
	"time"

	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

// lookBackReplicates is enough to tell whether p is at most Level: the look back does not ask how surely.
const lookBackReplicates = 199

// chanceEpisodes is about how many episodes chance alone brings about in a year of weekly looks: docs/calibration.md
// measured half to nine tenths, the most where weeks scatter most.
const chanceEpisodes = 0.8

// ByChance is how many of the episodes of so many weekly looks chance alone is expected to have brought about.
func ByChance(looks int) float64 { return chanceEpisodes * float64(looks) / 52 }

// LookBack asks at the end of every week of the log, the last included, what alarms would have been raised with what
// was known then; looks is how often it asked. Each row is an episode and tells its first alarm. Each look keeps its own
// Level; a long log is expected to hold some that chance raised, see ByChance.
func LookBack(ctx context.Context, log *tally.Log, seed uint64) (rows []schemas.PastAlarm, looks int, err error) {
	weeks := wholeWeeks(log.From, log.AsOf)
	if weeks < minWeeks {
		return nil, 0, nil
	}
	g, err := loadGrid(ctx, log, log.AsOf, weeks)
	if err != nil {
		return nil, 0, err
	}
	episodes, err := Episodes(ctx, g, minWeeks, seed)
	if err != nil {
		return nil, 0, err
	}
	for _, e := range episodes {
		rows = append(rows, e.row(g, log.AsOf))
	}
	return rows, weeks - minWeeks + 1, nil
}

// Episodes looks at the end of every week of a grid, first (counted from 1) the earliest. Alarms about the same component
// that share a model, at most 13 weeks apart, are one episode.
func Episodes(ctx context.Context, g *Grid, first int, seed uint64) ([]Episode, error) {
	var episodes []Episode
	for end := first; end <= g.Weeks; end++ {
		alarms, err := Scan(ctx, g.Until(end), ScanOptions{Seed: seed, Replicates: lookBackReplicates})
		if err != nil {
			return nil, err
		}
		for _, a := range alarms {
			i := slices.IndexFunc(episodes, func(e Episode) bool {
				return e.First.Component == a.Component && end-e.Latest <= MaxWindow && share(e.models, a.Models)
			})
			if i < 0 {
				i = len(episodes)
				episodes = append(episodes, Episode{First: a, Raised: end, node: g.Until(end)})
			}
			if episodes[i].Latest < end {
				episodes[i].Latest = end
				episodes[i].Alarms++
			}
			for _, m := range a.Models {
				if !slices.Contains(episodes[i].models, m) {
					episodes[i].models = append(episodes[i].models, m)
				}
			}
		}
	}
	return episodes, nil
}

// An Episode is a run of alarms about one thing. Weeks are counted from 1, the first of the grid.
type Episode struct {
	First          Alarm
	Raised, Latest int // weeks
	Alarms         int // weeks with one of its alarms

	node   *Grid // as it stood then
	models []int // of all its alarms
}

// share tells whether two lists of models have one in common.
func share(a, b []int) bool {
	return slices.ContainsFunc(a, func(m int) bool { return slices.Contains(b, m) })
}

func (e Episode) row(g *Grid, last time.Time) schemas.PastAlarm {
	a := e.First
	lastDay := func(week int) time.Time { return last.AddDate(0, 0, -7*(g.Weeks-week)) }
	peak, most := e.Raised, int32(-1)
	for w := e.Raised - a.Window; w < min(e.Latest+MaxWindow, g.Weeks); w++ {
		var sum int32
		for _, m := range a.Models {
			if x := g.Cases[a.Component][m]; x != nil {
				sum += x[w]
			}
		}
		if sum > most {
			peak, most = w+1, sum
		}
	}
	names := g.named(a.Models, func(m int) bool { return a.Cases(e.node, m) > 0 })
	return schemas.PastAlarm{
		Raised: lastDay(e.Raised).Format(time.DateOnly), Component: g.Components[a.Component], Node: a.Node, Level: a.Level,
		Models: strings.Join(names, ";"), WindowStart: lastDay(e.Raised-a.Window).AddDate(0, 0, 1).Format(time.DateOnly),
		Observed: a.Observed, Visits: a.Visits, Expected: schemas.Known(a.Expected), RelativeRisk: schemas.Known(float64(a.Observed) / a.Expected),
		P: schemas.Known(a.P), LastRaised: lastDay(e.Latest).Format(time.DateOnly), Peak: lastDay(peak).Format(time.DateOnly),
		WeeksBeforePeak: peak - e.Raised,
	}
}
