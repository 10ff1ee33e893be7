package stock

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"faultgrain/schemas"
)

const (
	replayWeeks = 52 // of the past that are replayed
	learnWeeks  = 26 // known before that at least, where the log is long enough
	leastReplay = 13
)

// backtest replays the last 12 months, or as much of them as leaves half a year to learn from: every rule sees at each
// review what was known then. One row per currency and rule, this forecast first. Money is of the parts whose margin
// and cost are known; the holding rate is the shop's, or the assumed one.
func backtest(ctx context.Context, past *past, plans []plan, opt Options) ([]schemas.Backtest, error) {
	span := past.span / 7
	weeks := min(replayWeeks, span-learnWeeks)
	if weeks < leastReplay {
		return nil, nil
	}
	holding := assumedHolding
	if opt.Holding != nil {
		holding = *opt.Holding
	}
	sums := map[string][]total{}
	for i := range plans {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		p := &plans[i]
		known := len(p.demand.days) / 7
		from := max(known-weeks, 0)
		if known == from {
			continue
		}
		prior, err := past.prior(p.item, p.demand, (known-from)*7) // from what was known when the replay begins
		if err != nil {
			return nil, err
		}
		c := Course{Demand: p.demand.days, Lead: p.item.LeadDays, Review: p.item.ReviewDays, Pack: p.item.Pack, Least: p.item.MinOrder}
		records, err := c.Compare(from, prior, p.target)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", p.item.Part, err)
		}
		if sums[p.item.Currency] == nil {
			sums[p.item.Currency] = make([]total, len(records))
		}
		for k, r := range records {
			sums[p.item.Currency][k].add(r, p)
		}
	}
	currencies := make([]string, 0, len(sums))
	for c := range sums {
		currencies = append(currencies, c)
	}
	// The shop's own currency first, which is what the report leads with.
	slices.SortFunc(currencies, func(a, b string) int {
		own := func(c string) int {
			if c == opt.Currency {
				return 0
			}
			return 1
		}
		return cmp.Or(cmp.Compare(own(a), own(b)), cmp.Compare(a, b))
	})
	var rows []schemas.Backtest
	for _, c := range currencies {
		for _, t := range sums[c] {
			rows = append(rows, t.row(c, holding))
		}
	}
	return rows, nil
}

// A total adds the records of one rule up.
type total struct {
	policy                          string
	parts, demand, short, stockouts int
	valued                          int // parts with a margin and a cost
	lost, held, tied                float64
}

func (t *total) add(r Record, p *plan) {
	t.policy = r.Policy
	t.parts++
	t.demand += r.Demand
	t.short += r.Short
	t.stockouts += r.Stockouts
	if p.margin.OK && p.item.UnitCost.OK {
		t.valued++
		money := float64(r.PieceDays) * p.item.UnitCost.V
		t.lost += float64(r.Short) * p.margin.V
		t.tied += money / float64(r.Days)
		t.held += money / 365
	}
}

func (t *total) row(currency string, holding float64) schemas.Backtest {
	row := schemas.Backtest{Policy: t.policy, Parts: t.parts, Demand: schemas.Known(float64(t.demand)), Short: schemas.Known(float64(t.short)),
		Stockouts: t.stockouts, Currency: currency}
	if t.valued > 0 {
		row.LostMargin, row.Tied, row.Cost = schemas.Known(t.lost), schemas.Known(t.tied), schemas.Known(t.lost+holding*t.held)
	}
	return row
}
