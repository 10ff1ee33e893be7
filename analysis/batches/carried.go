package batches

import (
	"context"
	_ "embed"
	"maps"
	"slices"
	"time"

	"faultgrain/analysis/tally"
)

//go:embed link_device.sql
var linkDeviceSQL string

//go:embed link_device_faults.sql
var linkDeviceFaultsSQL string

//go:embed link_earlier.sql
var linkEarlierSQL string

//go:embed link_fitted.sql
var linkFittedSQL string

// carried counts which visits carry which value of an attribute, up to a day, inside a window and before it.
type carried struct {
	device  []carriedCount // all visits; Component empty
	faults  []carriedCount // those that show the component
	earlier []carriedCount
	fitted  []carriedCount
}

type carriedCount struct {
	Component, Attribute, Value, Model string
	Inside, Shows                      bool
	Visits                             int
}

//go:embed asked.sql
var askedSQL string

// loadCarried looks back over baseline and windows, for the suspects with this window.
func loadCarried(ctx context.Context, log *tally.Log, last time.Time, window int, list []suspect) (c carried, err error) {
	asked := tally.Lent{Create: askedSQL, Table: "asked"}
	seen := map[[2]string]bool{}
	for _, s := range list {
		for _, m := range s.models {
			if k := [2]string{s.component, m}; s.window == window && !seen[k] {
				seen[k] = true
				asked.Rows = append(asked.Rows, []any{s.component, m})
			}
		}
	}
	near := Baseline + MaxWindow
	if window > 0 {
		near = 2 * MaxWindow // what was made since then was hardly in before
	}
	args := append(period(last, Baseline+MaxWindow), named("window", window))
	recent := append(period(last, near), named("window", window))
	type device struct {
		Attribute string `sql:"attribute"`
		Value     string `sql:"value"`
		Model     string `sql:"model"`
		Inside    bool   `sql:"inside"`
		Visits    int    `sql:"visits"`
	}
	type part struct {
		Component string `sql:"component"`
		Attribute string `sql:"attribute"`
		Value     string `sql:"value"`
		Model     string `sql:"model"`
		Inside    bool   `sql:"inside"`
		Visits    int    `sql:"visits"`
	}
	type before struct {
		Component string `sql:"component"`
		Attribute string `sql:"attribute"`
		Value     string `sql:"value"`
		Model     string `sql:"model"`
		Inside    bool   `sql:"inside"`
		Shows     bool   `sql:"shows"`
		Visits    int    `sql:"visits"`
	}
	devices, err := tally.Query[device](ctx, log, linkDeviceSQL, recent...)
	if err != nil {
		return c, err
	}
	for _, r := range devices {
		c.device = append(c.device, carriedCount{Attribute: r.Attribute, Value: r.Value, Model: r.Model, Inside: r.Inside, Visits: r.Visits})
	}
	for _, q := range []struct {
		told bool
		text string
		args []any
		into *[]carriedCount
	}{{len(devices) > 0, linkDeviceFaultsSQL, recent, &c.faults}, {true, linkFittedSQL, args, &c.fitted}} {
		if !q.told {
			continue // no log says where its devices come from
		}
		rows, err := tally.QueryWith[part](ctx, log, asked, q.text, q.args...)
		if err != nil {
			return c, err
		}
		for _, r := range rows {
			*q.into = append(*q.into, carriedCount{r.Component, r.Attribute, r.Value, r.Model, r.Inside, true, r.Visits})
		}
	}
	rows, err := tally.QueryWith[before](ctx, log, asked, linkEarlierSQL, args...)
	if err != nil {
		return c, err
	}
	for _, r := range rows {
		c.earlier = append(c.earlier, carriedCount(r))
	}
	return c, nil
}

// contrasts lays out what can be asked about a component of some models; see Contrast.
func (c *carried) contrasts(component string, models []string, windowed bool) []Contrast {
	b := builder{models: models, piles: map[string]map[string][]pair{}}
	for _, r := range c.device {
		b.add(r, 0, r.Visits)
	}
	for _, r := range c.faults {
		switch {
		case r.Component != component:
		case windowed && !r.Inside: // shows it, but not in this alarm
			b.add(r, 0, -r.Visits)
		default:
			b.add(r, r.Visits, -r.Visits)
		}
	}
	for _, r := range c.earlier {
		switch {
		case r.Component != component || r.Shows && r.Inside != windowed: // back before the window: no longer fitted
		case r.Shows:
			b.add(r, r.Visits, 0)
		default:
			b.add(r, 0, r.Visits)
		}
	}
	for _, r := range c.fitted {
		switch {
		case !windowed || r.Component != component:
		case r.Inside:
			b.add(r, r.Visits, 0)
		default:
			b.add(r, 0, r.Visits)
		}
	}
	return b.done()
}

// A builder piles counts up by attribute, value and model.
type builder struct {
	models []string // sorted
	piles  map[string]map[string][]pair
}

type pair struct{ cases, others int }

func (b *builder) add(r carriedCount, cases, others int) {
	m, ok := slices.BinarySearch(b.models, r.Model)
	if !ok {
		return
	}
	pile := b.piles[r.Attribute]
	if pile == nil {
		pile = map[string][]pair{}
		b.piles[r.Attribute] = pile
	}
	if pile[r.Value] == nil {
		pile[r.Value] = make([]pair, len(b.models))
	}
	pile[r.Value][m].cases += cases
	pile[r.Value][m].others += others
}

func (b *builder) done() []Contrast {
	var list []Contrast
	for _, attribute := range attributes {
		pile := b.piles[attribute]
		if len(pile) < 2 {
			continue // nothing to compare with
		}
		c := Contrast{Attribute: attribute, Values: slices.Sorted(maps.Keys(pile))}
		for m := range b.models {
			s := Stratum{make([]int, len(c.Values)), make([]int, len(c.Values))}
			for i, v := range c.Values {
				s.Cases[i], s.Others[i] = pile[v][m].cases, pile[v][m].others
			}
			c.Strata = append(c.Strata, s)
		}
		list = append(list, c)
	}
	return list
}
