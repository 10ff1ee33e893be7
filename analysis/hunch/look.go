package hunch

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

// What else to look at while the device is open: components that show on at least one in ten of the visits with the
// first, twice or more, and more often than without it, chance excluded.
const (
	checkShare = 0.10
	checkBoth  = 2
	checkMost  = 3
)

// look counts what shows together with the component, over the whole log of the model.
func (a *Answer) look(ctx context.Context, log *tally.Log) error {
	type other struct {
		Component string `sql:"component"`
		Faults    int    `sql:"faults"`
		Both      int    `sql:"both"`
	}
	list, err := tally.Query[other](ctx, log, togetherSQL, named("model", a.Model), named("component", a.Component))
	if err != nil {
		return err
	}
	shows, visits, err := a.whole(ctx, log)
	if err != nil {
		return err
	}
	a.Check = []Together{}
	asked := other{Component: a.With}
	for _, o := range list {
		if o.Component == a.With {
			asked = o
		}
		t, err := together(o.Component, o.Both, o.Faults, shows, visits)
		if err != nil {
			return err
		}
		if o.Both >= checkBoth && t.Share.V >= checkShare && t.P.OK && t.P.V < 0.05 && t.OddsLow.OK && t.Share.V > t.Without.V {
			a.Check = append(a.Check, t)
		}
	}
	slices.SortFunc(a.Check, func(x, y Together) int {
		return cmp.Or(cmp.Compare(y.Low.V, x.Low.V), cmp.Compare(x.Component, y.Component))
	})
	a.Check = a.Check[:min(len(a.Check), checkMost)]
	if a.With != "" {
		t, err := together(a.With, asked.Both, asked.Faults, shows, visits)
		if err != nil {
			return err
		}
		a.Together = &t
	}
	return nil
}

// whole counts the model's visits over the whole log, and those that show the component.
func (a *Answer) whole(ctx context.Context, log *tally.Log) (shows, visits int, err error) {
	if a.Days == 0 {
		return a.Seen, a.Visits, nil
	}
	all := Answer{Model: a.Model, Class: a.Class, Component: a.Component, From: log.From.Format(time.DateOnly)}
	err = all.count(ctx, log)
	return all.Seen, all.Visits, err
}

// together compares the visits that show the first component (shows of visits) with the others.
func together(component string, both, faults, shows, visits int) (Together, error) {
	t := Together{Component: component, Both: both, Of: shows}
	if shows == 0 {
		return t, nil
	}
	w, err := stat.Wilson(both, shows, conf)
	if err != nil {
		return t, err
	}
	t.Share, t.Low, t.High = share(both, shows), schemas.Known(w.Lo), schemas.Known(w.Hi)
	if visits == shows {
		return t, nil
	}
	t.Without = share(faults-both, visits-shows)
	table := stat.Table2{A: both, B: shows - both, C: faults - both, D: visits - shows - (faults - both)}
	odds, err := stat.OddsRatioExact(table, conf)
	if errors.Is(err, stat.ErrNoInformation) {
		return t, nil
	}
	if err != nil {
		return t, fmt.Errorf("together with %s: %w", component, err)
	}
	t.Odds, t.OddsLow, t.OddsHigh = limit(odds.Value), schemas.Known(odds.Lo), limit(odds.Hi)
	p, err := stat.FisherMidP(table)
	t.P = schemas.Known(p)
	return t, err
}
