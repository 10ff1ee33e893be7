package batches

import (
	"context"
	"slices"
	"strings"
	"time"

	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

// lookBackReplicates is enough to tell 5%: the look back asks whether, not how surely.
const lookBackReplicates = 199

// LookBack asks at the end of every week of the log, the last included, what alarms would have been raised with what
// was known then. Alarms about the same component that share a model, at most 13 weeks apart, are one episode: its row
// tells the first. Each look keeps its own 5%; a long log is expected to hold some that chance raised.
func LookBack(ctx context.Context, log *tally.Log, seed uint64) ([]schemas.PastAlarm, error) {
	weeks := wholeWeeks(log.From, log.AsOf)
	if weeks < minWeeks {
		return nil, nil
	}
	g, err := loadGrid(ctx, log, log.AsOf, weeks)
	if err != nil {
		return nil, err
	}
	var episodes []episode
	for end := minWeeks; end <= weeks; end++ {
		alarms, err := Scan(ctx, g.Until(end), ScanOptions{Seed: seed, Replicates: lookBackReplicates})
		if err != nil {
			return nil, err
		}
		for _, a := range alarms {
			i := slices.IndexFunc(episodes, func(e episode) bool {
				return e.first.Component == a.Component && end-e.latest <= MaxWindow && share(e.models, a.Models)
			})
			if i < 0 {
				i = len(episodes)
				episodes = append(episodes, episode{first: a, raised: end, node: g.Until(end)})
			}
			episodes[i].latest = end
			for _, m := range a.Models {
				if !slices.Contains(episodes[i].models, m) {
					episodes[i].models = append(episodes[i].models, m)
				}
			}
		}
	}
	var rows []schemas.PastAlarm
	for _, e := range episodes {
		rows = append(rows, e.row(g, log.AsOf))
	}
	return rows, nil
}

// An episode is a run of alarms about one thing. Weeks are counted from 1, the first of the log.
type episode struct {
	first          Alarm
	node           *Grid // as it stood then
	models         []int // of all its alarms
	raised, latest int
}

func share(a, b []int) bool {
	return slices.ContainsFunc(a, func(m int) bool { return slices.Contains(b, m) })
}

func (e episode) row(g *Grid, last time.Time) schemas.PastAlarm {
	a := e.first
	lastDay := func(week int) time.Time { return last.AddDate(0, 0, -7*(g.Weeks-week)) }
	peak, most := e.raised, int32(-1)
	for w := e.raised - a.Window; w < min(e.latest+MaxWindow, g.Weeks); w++ {
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
	var names []string
	for _, m := range a.Models {
		if a.Cases(e.node, m) > 0 {
			names = append(names, g.Models[m].Name)
		}
	}
	slices.Sort(names)
	return schemas.PastAlarm{
		Raised: lastDay(e.raised).Format(time.DateOnly), Component: g.Components[a.Component], Node: a.Node, Level: a.Level,
		Models: strings.Join(names, ";"), WindowStart: lastDay(e.raised-a.Window).AddDate(0, 0, 1).Format(time.DateOnly),
		Observed: a.Observed, Visits: a.Visits, Expected: schemas.Known(a.Expected), RelativeRisk: schemas.Known(float64(a.Observed) / a.Expected),
		P: schemas.Known(a.P), LastRaised: lastDay(e.latest).Format(time.DateOnly), Peak: lastDay(peak).Format(time.DateOnly),
		WeeksBeforePeak: peak - e.raised,
	}
}
