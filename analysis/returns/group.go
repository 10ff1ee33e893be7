package returns

import (
	"cmp"
	"slices"

	"faultgrain/analysis/stat"
	"faultgrain/schemas"
)

// An attribute is one of grade, supplier and lot for one component: all its values, told apart by model.
type attribute struct {
	component, by string
	groups        []group         // by value; the unknown ones have the first, if there are any
	models        []stat.RiskSets // by number of the model: the repairs of all known values
	repairs       int             // of known values
}

// A group is the repairs with one value, by model and days.
type group struct {
	value string
	lives []life
}

type life struct {
	model, days, back, repairs int32
}

// attributes puts what was fitted in order: component, then grade, supplier and lot.
func attributes(list []fitted) []*attribute {
	type of struct{ component, by string }
	type value struct {
		of
		value string
	}
	models, at, place := map[string]int32{}, map[of]*attribute{}, map[value]int{}
	var out []*attribute
	for _, f := range list {
		m, ok := models[f.Model]
		if !ok {
			m = int32(len(models))
			models[f.Model] = m
		}
		o := of{f.Component, f.Attribute}
		a := at[o]
		if a == nil {
			a = &attribute{component: o.component, by: o.by}
			at[o], out = a, append(out, a)
		}
		v := value{o, f.Value}
		i, ok := place[v]
		if !ok {
			i = len(a.groups)
			place[v], a.groups = i, append(a.groups, group{value: f.Value})
		}
		a.groups[i].lives = append(a.groups[i].lives, life{m, int32(f.Days), int32(f.Back), int32(f.Repairs)})
	}
	order := map[string]int{ByGrade: 0, BySupplier: 1, ByLot: 2}
	slices.SortFunc(out, func(a, b *attribute) int {
		return cmp.Or(cmp.Compare(a.component, b.component), cmp.Compare(order[a.by], order[b.by]))
	})
	for _, a := range out {
		slices.SortFunc(a.groups, func(x, y group) int { return cmp.Compare(x.value, y.value) })
		for _, g := range a.groups {
			slices.SortFunc(g.lives, func(x, y life) int {
				return cmp.Or(cmp.Compare(x.model, y.model), cmp.Compare(x.days, y.days), cmp.Compare(x.back, y.back))
			})
		}
	}
	return out
}

// unknown values are compared with nothing.
func (a *attribute) unknown(value string) bool {
	return value == "" || a.by == ByGrade && value == schemas.GradeUnknown
}

// describe makes the rows and curves of all known values.
func (a *attribute) describe(warranty int) (rows []schemas.Return, curves []schemas.ReturnPoint, err error) {
	if err := a.count(); err != nil {
		return nil, nil, err
	}
	for _, g := range a.groups {
		if a.unknown(g.value) {
			continue
		}
		row, points, err := describe(a, g, warranty)
		if err != nil {
			return nil, nil, err
		}
		rows, curves = append(rows, row), append(curves, points...)
	}
	return rows, curves, nil
}

// count fills the risk sets of the models.
func (a *attribute) count() error {
	var days [][]stat.Lifetime // by model and day
	for _, g := range a.groups {
		if a.unknown(g.value) {
			continue
		}
		for _, l := range g.lives {
			for int(l.model) >= len(days) {
				days = append(days, nil)
			}
			if days[l.model] == nil {
				days[l.model] = make([]stat.Lifetime, horizon+1)
			}
			d := &days[l.model][l.days]
			d.Time, d.Events, d.Censored = float64(l.days), d.Events+int(l.back*l.repairs), d.Censored+int((1-l.back)*l.repairs)
			a.repairs += int(l.repairs)
		}
	}
	a.models = make([]stat.RiskSets, len(days))
	for m, of := range days {
		if of == nil {
			continue
		}
		var err error
		if a.models[m], err = stat.NewRiskSets(of); err != nil {
			return err
		}
	}
	return nil
}

// backWithin is the share of all repairs back by a day, or by the end of follow-up where that is sooner.
func (a *attribute) backWithin(days int) (float64, error) {
	var all []stat.Lifetime
	for _, g := range a.groups {
		all = append(all, g.lifetimes()...)
	}
	curve, err := stat.KaplanMeier(all, conf, stat.LogLog)
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

func (l life) lifetime() stat.Lifetime {
	return stat.Lifetime{Time: float64(l.days), Events: int(l.back * l.repairs), Censored: int((1 - l.back) * l.repairs)}
}

func (g group) lifetimes() []stat.Lifetime {
	out := make([]stat.Lifetime, len(g.lives))
	for i, l := range g.lives {
		out[i] = l.lifetime()
	}
	return out
}

// strata are the group's repairs within each of its models.
func (g group) strata(models []stat.RiskSets) []stat.Member {
	lifetimes := g.lifetimes()
	var out []stat.Member
	for i := 0; i < len(g.lives); {
		j := i
		for ; j < len(g.lives) && g.lives[j].model == g.lives[i].model; j++ {
		}
		out = append(out, stat.Member{All: &models[g.lives[i].model], Own: lifetimes[i:j]})
		i = j
	}
	return out
}
