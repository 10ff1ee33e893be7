package batches

import (
	"cmp"
	"context"
	_ "embed"
	"fmt"
	"slices"
	"strings"

	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

//go:embed affected.sql
var affectedSQL string

//go:embed covered_part.sql
var coveredPartSQL string

//go:embed covered_device.sql
var coveredDeviceSQL string

// A suspect is a component of some models for which it is asked what goes with it: those of an alarm, or those of a
// class with a firm share.
type suspect struct {
	component   string
	models      []string // sorted
	window      int      // weeks; 0 without an alarm
	level, node string
}

// suspects are the alarms, in their order, and the components with a firm share on a model without an alarm about it.
func suspects(g *Grid, alarms []Alarm, shares []schemas.Share) []suspect {
	var list []suspect
	type subject struct{ component, of string }
	alarmed := map[subject]bool{}
	for _, a := range alarms {
		s := suspect{component: g.Components[a.Component], window: a.Window, level: a.Level, node: a.Node,
			models: g.named(a.Models, func(int) bool { return true })}
		for _, m := range s.models {
			alarmed[subject{s.component, m}] = true
		}
		list = append(list, s)
	}
	firm := map[subject][]string{}
	for _, r := range shares {
		if firmShare(r) && !alarmed[subject{r.Component, r.Model}] {
			k := subject{r.Component, r.Class}
			firm[k] = append(firm[k], r.Model)
		}
	}
	from := len(list)
	for k, models := range firm {
		slices.Sort(models)
		s := suspect{component: k.component, models: models, level: levelClass, node: k.of}
		if len(models) == 1 {
			s.level, s.node = levelModel, models[0]
		}
		list = append(list, s)
	}
	slices.SortFunc(list[from:], func(a, b suspect) int {
		return cmp.Or(cmp.Compare(a.component, b.component), cmp.Compare(a.node, b.node))
	})
	return list
}

// firmShare is the rule of the findings of shares: a share of at least 1% that is firmly more than 1.5 times that of
// the class.
func firmShare(r schemas.Share) bool {
	return r.Q.OK && r.Q.V < 0.05 && r.RatioLow.OK && r.RatioLow.V > 1.5 && r.Share.V >= 0.01
}

// addLinks tests what goes with each suspect, the alarms first in their order. It returns the alarms, each as many
// times as it has links and at least once, then the links of firm shares.
func addLinks(ctx context.Context, log *tally.Log, g *Grid, alarms []Alarm, list []suspect, opt Options) ([]schemas.Batch, error) {
	counts := map[int]carried{} // by window
	var all []Link
	ends := make([]int, len(list))
	for i, s := range list {
		c, ok := counts[s.window]
		if !ok {
			var err error
			if c, err = loadCarried(ctx, log, log.AsOf, s.window, list); err != nil {
				return nil, err
			}
			counts[s.window] = c
		}
		found, err := test(ctx, c.contrasts(s.component, s.models, s.window > 0), opt.Seed)
		if err != nil {
			return nil, fmt.Errorf("what goes with %s of %s: %w", s.component, s.node, err)
		}
		all = append(all, found...)
		ends[i] = len(all)
	}
	if err := correct(all); err != nil {
		return nil, err
	}
	var rows []schemas.Batch
	from := 0
	for i, s := range list {
		row := schemas.Batch{Component: s.component, Node: s.node, Level: s.level, Models: strings.Join(s.models, ";")}
		links := linked(all[from:ends[i]])
		from = ends[i]
		if s.window > 0 {
			weeks, err := onset(ctx, log, g, alarms[i], links)
			if err != nil {
				return nil, fmt.Errorf("since when %s of %s: %w", s.component, s.node, err)
			}
			if row, err = alarmRow(ctx, log, g, alarms[i].During(weeks), opt); err != nil {
				return nil, fmt.Errorf("alarm about %s of %s: %w", s.component, s.node, err)
			}
		}
		if len(links) == 0 && s.window > 0 {
			rows = append(rows, row)
		}
		for _, l := range links {
			r, err := linkRow(ctx, log, row, s, l, opt)
			if err != nil {
				return nil, err
			}
			rows = append(rows, r)
		}
	}
	return rows, nil
}

func linkRow(ctx context.Context, log *tally.Log, r schemas.Batch, s suspect, l Link, opt Options) (schemas.Batch, error) {
	r.Link, r.LinkValue, r.LinkCases, r.LinkVisits = l.Attribute, l.Value, l.Cases, l.Visits
	r.LinkOdds, r.LinkLow, r.LinkHigh, r.LinkQ = limit(l.Odds.Value), schemas.Known(l.Odds.Lo), limit(l.Odds.Hi), schemas.Known(l.Q)
	covered, err := coveredByLink(ctx, log, s, l, opt.Warranty)
	if err != nil {
		return r, err
	}
	r.UnderWarranty = schemas.Known(float64(covered))
	if strings.TrimPrefix(l.Attribute, earlier) == Lot && opt.OnShelf != nil {
		if pieces, ok := opt.OnShelf(l.Value); ok {
			r.OnShelf = schemas.Known(pieces)
		}
	}
	return r, nil
}

func limit(l stat.Limit) schemas.Float {
	if !l.Bounded {
		return schemas.Float{}
	}
	return schemas.Known(l.Value)
}

// coveredByLink counts the devices that carry the value and are still under the shop's own warranty.
func coveredByLink(ctx context.Context, log *tally.Log, s suspect, l Link, warranty int) (int, error) {
	args := append(period(log.AsOf, 0)[:1], named("component", s.component), named("warranty", warranty))
	if l.Attribute == MadeWeek || l.Attribute == SerialPrefix {
		low, high := l.span()
		return coveredBy(ctx, log, s, coveredDeviceSQL, append(args, named("attribute", l.Attribute), named("low", low), named("high", high))...)
	}
	return coveredBy(ctx, log, s, coveredPartSQL, append(args, named("attribute", strings.TrimPrefix(l.Attribute, earlier)), named("value", l.Value))...)
}

func coveredBy(ctx context.Context, log *tally.Log, s suspect, text string, args ...any) (int, error) {
	type count struct {
		Model   string `sql:"model"`
		Covered int    `sql:"covered"`
	}
	list, err := tally.Query[count](ctx, log, text, args...)
	if err != nil {
		return 0, err
	}
	sum := 0
	for _, r := range list {
		if _, ok := slices.BinarySearch(s.models, r.Model); ok {
			sum += r.Covered
		}
	}
	return sum, nil
}
