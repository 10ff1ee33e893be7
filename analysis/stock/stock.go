// Package stock says how many of each part to order now, and whether the rule would have worked.
//
// In: a tally.Log, the shop's stock.csv, margins from the price table and the pairs that fail together firmly. Out:
// rows of tables/stock.csv and tables/backtest.csv, the order lists and findings.
//
// The demand for a part is what part lines of its number say or, where the log has none, the visits with its component
// on the models it fits. A discounted gamma-Poisson forecast gives the demand until the order after this one arrives
// (lead time and review time); on hand and on order are brought up to the least level whose chance of lasting reaches
// the critical ratio, or the service level asked.
//
// It refuses to guess a margin or a holding rate that nobody told: then it is the service level, and the rule says so.
// It can't see jobs that went elsewhere because the part was missing, nor what the future brings that the past did not.
package stock

import (
	"context"
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strings"

	"faultgrain/analysis/stat"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

//go:embed parts.sql
var partsSQL string

// A Pair fails together firmly, on a model or, with schemas.Any, on all of them.
type Pair struct{ Model, A, B string }

// A Lot of a component that is suspected firmly.
type Lot struct{ Component, Lot string }

// Options of Compute.
type Options struct {
	Service float64         // chance of not running out that is asked, 0 to 1
	Holding *float64        // share of a part's cost that a year on the shelf costs; nil: not told
	Review  int             // days between orders, where stock.csv does not say
	Budget  *float64        // money for the whole order, in Currency; nil: no limit
	Prices  []schemas.Price // rows of tables/prices.csv
	Pairs   []Pair
	Suspect []Lot // pieces of these lots don't count as on the shelf

	Currency string // of the shop
}

// assumedHolding is the share of a part's cost that a year on the shelf costs in the backtest of a shop that did not
// say: common practice, no source.
const assumedHolding = 0.25

// Result is all that stock knows.
type Result struct {
	Rows     []schemas.StockLine // in the order of stock.csv
	Backtest []schemas.Backtest
	Orders   []schemas.OrderLine // by supplier and part; only what to order now
	Notes    []schemas.QualityRow

	plans []plan // beside Rows
}

// A plan is what is known of one part.
type plan struct {
	item     Item
	demand   demand
	forecast *Forecast
	horizon  int // days that what is ordered now has to last
	ahead    stat.NegativeBinomial
	target   Target
	aim      float64 // chance of lasting that the level aims at now
	margin   schemas.Float
	used     int // pieces in the last 365 days
	level    int
	order    int
	aside    int      // pieces on the shelf that are of a suspected lot
	asideLot []string // those lots
	with     []string // parts that fail together with this one
	short    bool     // the budget did not reach for all that is needed
}

func (p *plan) lot() lotSize { return lotSize{p.item.Pack, p.item.MinOrder} }

// position is what can be counted on: on the shelf, but for suspected lots, and on order.
func (p *plan) position() int { return p.item.OnHand - p.aside + p.item.OnOrder }

// review is the item's days between orders.
func (o Options) review(i Item) int {
	if i.ReviewDays > 0 {
		return i.ReviewDays
	}
	return max(o.Review, 1)
}

// KnownTo gathers what stock.csv is read against.
func KnownTo(ctx context.Context, log *tally.Log, lexicon *schemas.Lexicon, currency string) (Known, error) {
	k := Known{Names: map[string]string{}, Parts: map[string]string{}, Currency: currency}
	for _, id := range lexicon.IDs() {
		if c := lexicon.Components[id]; !c.Cause && !c.Vague && !c.Off {
			k.Components = append(k.Components, id)
			k.Names[plain(lexicon.Name(id))] = id
		}
	}
	parts, err := tally.Query[struct {
		PartNo    string `sql:"part_no"`
		Component string `sql:"component"`
	}](ctx, log, partsSQL)
	if err != nil {
		return Known{}, err
	}
	for _, p := range parts {
		k.Parts[p.PartNo] = p.Component
	}
	k.Models, err = tally.Query[string](ctx, log, "SELECT model FROM model ORDER BY model")
	return k, err
}

// Compute forecasts every part of the shelf, decides what to order, and replays the last 12 months.
func Compute(ctx context.Context, log *tally.Log, shelf *Shelf, opt Options) (Result, error) {
	past, err := loadPast(ctx, log, shelf.Items)
	if err != nil {
		return Result{}, err
	}
	demands, doubled := past.demands(shelf.Items)
	res := Result{Notes: slices.Clone(shelf.Notes)}
	note := func(topic, subject string, list []string, text string) {
		if len(list) > 0 {
			res.Notes = append(res.Notes, schemas.QualityRow{Topic: topic, Subject: subject, Count: len(list), Note: text + ": " + some(list)})
		}
	}
	note("doubled", "stock", doubled, "parts of a model and component that an earlier line of stock.csv has already; without their part numbers in the log, all use counts for that line")
	for i, item := range shelf.Items {
		if err := ctx.Err(); err != nil {
			return Result{}, err
		}
		p, err := planFor(past, item, demands[i], opt)
		if err != nil {
			return Result{}, fmt.Errorf("%s: %w", item.Part, err)
		}
		res.plans = append(res.plans, p)
	}
	together(res.plans, opt.Pairs)
	for i := range res.plans {
		p := &res.plans[i]
		p.aim = p.target.under(p.forecast.falling())
		if p.level, err = p.ahead.Quantile(p.aim); err != nil {
			return Result{}, fmt.Errorf("%s: %w", p.item.Part, err)
		}
		p.order = p.lot().order(p.level, p.position())
	}
	if opt.Budget != nil {
		left, err := spend(res.plans, *opt.Budget, opt.Currency)
		if err != nil {
			return Result{}, err
		}
		note("left-out", "budget", left, "parts that the budget does not reach for, in part or at all")
	}
	for i := range res.plans {
		r, err := res.plans[i].row(opt)
		if err != nil {
			return Result{}, err
		}
		res.Rows = append(res.Rows, r)
	}
	res.Orders = orderLines(res.Rows)
	var unpriced, unvalued, aside []string
	for _, p := range res.plans {
		if p.aside > 0 {
			aside = append(aside, fmt.Sprintf("%d of %s (lot %s)", p.aside, p.item.Part, strings.Join(p.asideLot, ", ")))
		}
		if !p.item.UnitCost.OK && p.order > 0 {
			unpriced = append(unpriced, p.item.Part)
		}
		if !p.margin.OK {
			unvalued = append(unvalued, p.item.Part)
		}
	}
	note("unknown", "stock unit_cost", unpriced, "parts to order whose cost is not known; they are in no sum")
	note("left-out", "suspected lots", aside, "pieces on the shelf of a lot that comes back; the order does not count on them")
	note("unknown", "stock margin", unvalued, "parts whose jobs leave no known margin: stocked for the service level, and in no sum of the backtest")
	res.Backtest, err = backtest(ctx, past, res.plans, opt)
	return res, err
}

func planFor(past *past, item Item, d demand, opt Options) (plan, error) {
	p := plan{item: item, demand: d, used: d.recent(365)}
	p.item.ReviewDays = opt.review(item)
	p.horizon = item.LeadDays + p.item.ReviewDays
	for _, l := range opt.Suspect {
		if n := item.lots[l.Lot]; n > 0 && l.Component == item.Component && !slices.Contains(p.asideLot, l.Lot) {
			p.aside += n
			p.asideLot = append(p.asideLot, l.Lot)
		}
	}
	prior, err := past.prior(item, d, 0)
	if err != nil {
		return p, err
	}
	if p.forecast, err = newForecast(prior); err != nil {
		return p, err
	}
	for _, pieces := range (Course{Demand: d.days}).weekly() {
		if err := p.forecast.Observe(pieces); err != nil {
			return p, err
		}
	}
	p.ahead = p.forecast.Over(p.horizon)
	cost, margin := worth(item, opt.Prices)
	if !p.item.UnitCost.OK {
		p.item.UnitCost = cost
	}
	p.margin = item.Margin
	if !p.margin.OK {
		p.margin = margin
	}
	p.target = Target{opt.Service, ServiceLevel}
	if p.margin.OK && p.item.UnitCost.OK {
		p.target = target(p.margin.V, p.item.UnitCost.V, opt.Holding, p.item.ReviewDays, opt.Service)
	}
	return p, nil
}

// worth is what the price table says of a part: the latest cost and the median margin of its jobs over the models it
// fits, weighed by their part lines, in the part's own currency. A margin that is not positive is none.
func worth(item Item, prices []schemas.Price) (cost, margin schemas.Float) {
	var costs, margins, costLines, marginLines float64
	for _, r := range prices {
		if r.Component != item.Component || r.Currency != item.Currency || len(item.Fits) > 0 && !slices.Contains(item.Fits, r.Model) {
			continue
		}
		n := float64(max(r.Lines, 1))
		if r.CostLatest.OK {
			costs, costLines = costs+n*r.CostLatest.V, costLines+n
		}
		if r.MarginMedian.OK {
			margins, marginLines = margins+n*r.MarginMedian.V, marginLines+n
		}
	}
	if costLines > 0 {
		cost = schemas.Known(costs / costLines)
	}
	if marginLines > 0 && margins > 0 {
		margin = schemas.Known(margins / marginLines)
	}
	return cost, margin
}

// together finds the parts that fail together on a model. Each of them is kept for the square root of its level, so
// that both last with the chance asked even if their demands had nothing to do with each other.
func together(plans []plan, pairs []Pair) {
	fits := func(p *plan, model string) bool {
		return model == schemas.Any || p.demand.every || slices.Contains(p.item.Fits, model)
	}
	share := func(a, b *plan) bool {
		return a.demand.every || b.demand.every || slices.ContainsFunc(a.item.Fits, func(m string) bool { return slices.Contains(b.item.Fits, m) })
	}
	for i := range plans {
		a := &plans[i]
		for j := range plans {
			b := &plans[j]
			for _, t := range pairs {
				if i != j && (a.item.Component == t.A && b.item.Component == t.B || a.item.Component == t.B && b.item.Component == t.A) &&
					fits(a, t.Model) && fits(b, t.Model) && share(a, b) && !slices.Contains(a.with, b.item.Part) {
					a.with = append(a.with, b.item.Part)
				}
			}
		}
		if len(a.with) > 0 {
			a.target.Level = max(a.target.Level, min(math.Sqrt(a.target.Level), MostLevel))
		}
	}
}

func (p *plan) row(opt Options) (schemas.StockLine, error) {
	known := func(n int) schemas.Float { return schemas.Known(float64(n)) }
	r := schemas.StockLine{
		Part: p.item.Part, Component: p.item.Component, Fits: strings.Join(p.item.Fits, ";"), Supplier: p.item.Supplier, Basis: p.demand.basis,
		WeeklyMean: schemas.Known(p.ahead.Mean * 7 / float64(p.horizon)), LeadDays: known(p.item.LeadDays), ReviewDays: known(p.item.ReviewDays),
		OrderUpTo: known(p.level), OnHand: known(p.item.OnHand), OnOrder: known(p.item.OnOrder), Order: known(p.order),
		UnitCost: p.item.UnitCost, Currency: p.item.Currency, WithPart: strings.Join(p.with, ";"), ServiceLevel: schemas.Known(p.aim), Rule: p.target.Rule,
	}
	if p.item.UnitCost.OK {
		r.LineCost = schemas.Known(float64(p.order) * p.item.UnitCost.V)
	}
	rate, err := p.forecast.Rate(p.horizon).Posterior(0, 0, 0.95)
	if err != nil {
		return r, fmt.Errorf("%s: %w", p.item.Part, err)
	}
	r.WeeklyLow, r.WeeklyHigh = schemas.Known(rate.Lo), schemas.Known(rate.Hi)
	out, err := p.ahead.UpperTail(p.position() + p.order + 1)
	if err != nil {
		return r, fmt.Errorf("%s: %w", p.item.Part, err)
	}
	r.StockoutChance = schemas.Known(out)
	return r, nil
}
