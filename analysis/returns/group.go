package returns

import (
	"context"

	"faultgrain/analysis/stat"
	"faultgrain/schemas"
)

// An attribute is one of grade, supplier and lot for one component: all its values, told apart by model.
type attribute struct {
	component, by string
	groups        []group                  // by value; the unknown ones have the first, if there are any
	models        map[int32]*stat.RiskSets // by number of the model: the repairs of all known values, where there are two or more
	repairs       int                      // of known values

	rows   []schemas.Return
	curves []schemas.ReturnPoint
	back   float64 // of the grade: share of all repairs back within the warranty days
}

// A group is the repairs with one value, by model and days.
type group struct {
	value string
	lives []life
}

type life struct {
	model, days, back, repairs int32
}

// unknown values are compared with nothing.
func (a *attribute) unknown(value string) bool {
	return value == "" || a.by == ByGrade && value == schemas.GradeUnknown
}

// describe makes the rows and curves of all known values and, of the grade, the share of all repairs that come back.
func (a *attribute) describe(ctx context.Context, warranty int) (err error) {
	if a.by == ByGrade {
		if a.back, err = a.backWithin(warranty); err != nil {
			return err
		}
	}
	if err := a.count(); err != nil {
		return err
	}
	for _, g := range a.groups {
		if a.unknown(g.value) {
			continue
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		row, points, err := describe(a, g, warranty)
		if err != nil {
			return err
		}
		a.rows, a.curves = append(a.rows, row), append(a.curves, points...)
	}
	return nil
}

// count fills the risk sets of the models.
func (a *attribute) count() error {
	byModel := map[int32][]group{}
	for _, g := range a.groups {
		if a.unknown(g.value) {
			continue
		}
		for _, own := range g.byModel() {
			byModel[own.lives[0].model] = append(byModel[own.lives[0].model], own)
		}
	}
	a.models = map[int32]*stat.RiskSets{}
	for m, groups := range byModel {
		for _, g := range groups {
			for _, l := range g.lives {
				a.repairs += int(l.repairs)
			}
		}
		if len(groups) < 2 {
			continue // a model with one value only says nothing about the others
		}
		sets, err := stat.NewRiskSets(byDay(groups...))
		if err != nil {
			return err
		}
		a.models[m] = &sets
	}
	return nil
}

// byDay adds repairs up by the days they were followed.
func byDay(groups ...group) []stat.Lifetime {
	days := make([]stat.Lifetime, horizon+1)
	for _, g := range groups {
		for _, l := range g.lives {
			days[l.days].Events += int(l.back * l.repairs)
			days[l.days].Censored += int((1 - l.back) * l.repairs)
		}
	}
	for d := range days {
		days[d].Time = float64(d)
	}
	return days
}

// byModel is the group, model by model.
func (g group) byModel() []group {
	var out []group
	for i := 0; i < len(g.lives); {
		j := i
		for ; j < len(g.lives) && g.lives[j].model == g.lives[i].model; j++ {
		}
		out = append(out, group{g.value, g.lives[i:j]})
		i = j
	}
	return out
}

// backWithin is the share of all repairs back by a day, or by the end of follow-up where that is sooner.
func (a *attribute) backWithin(days int) (float64, error) {
	curve, err := stat.KaplanMeier(byDay(a.groups...), conf, stat.LogLog)
	if err != nil {
		return 0, err
	}
	e, err := curve.At(min(float64(days), curve.Last))
	return 1 - e.Value, err
}

// count is how many repairs the group has, and how many of them were back within some days.
func (g group) count(within int) (repairs, back int) {
	for _, l := range g.lives {
		repairs += int(l.repairs)
		if l.back == 1 && int(l.days) <= within {
			back += int(l.repairs)
		}
	}
	return repairs, back
}

// strata are the group's repairs within each of its models that other values have, too.
func (g group) strata(models map[int32]*stat.RiskSets) []stat.Member {
	own := make([]stat.Lifetime, len(g.lives))
	for i, l := range g.lives {
		own[i] = stat.Lifetime{Time: float64(l.days), Events: int(l.back * l.repairs), Censored: int((1 - l.back) * l.repairs)}
	}
	var out []stat.Member
	for _, of := range g.byModel() {
		n := len(of.lives)
		if all := models[of.lives[0].model]; all != nil {
			out = append(out, stat.Member{All: all, Own: own[:n]})
		}
		own = own[n:]
	}
	return out
}
