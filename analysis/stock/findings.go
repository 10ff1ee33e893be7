package stock

import (
	"fmt"
	"math"
	"strings"

	"faultgrain/analysis/findings"
	"faultgrain/analysis/stat"
	"faultgrain/schemas"
)

// noticeable is the least chance of running out that is a finding, whatever the level aimed at.
const noticeable = 0.05

const method = "Demand until the order after this one arrives (lead time and review time): discounted gamma-Poisson, negative binomial; order up to the " +
	"critical ratio where margin and holding rate are known, else the service level. Firm: without the order the chance of running out is above 5% " +
	"(or above what the level allows, where that is more) even at the lower 95% limit of the weekly use, and 5 pieces or more were used in the last year."

// Findings lists what to order now, the surest to run out first.
func (r Result) Findings(frame findings.Frame) ([]schemas.Finding, error) {
	var list []schemas.Finding
	for i := range r.plans {
		f, err := r.plans[i].finding(r.Rows[i], frame)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", r.plans[i].item.Part, err)
		}
		if f.Grade != "" {
			list = append(list, f)
		}
	}
	return findings.Shorten(list, 5, 2), nil
}

func (p *plan) finding(row schemas.StockLine, frame findings.Frame) (schemas.Finding, error) {
	if p.order == 0 {
		return schemas.Finding{}, nil
	}
	out, low, err := p.runsOut(p.position())
	if err != nil {
		return schemas.Finding{}, err
	}
	e := findings.Evidence{Effect: out, Low: low, Threshold: max(1-p.aim, noticeable), Cases: p.used}
	f := frame.New(schemas.KindStock, e, p.item.Part)
	if f.Grade == "" {
		return f, nil
	}
	f.Subject = schemas.Subject{Component: p.item.Component, Part: p.item.Part, Supplier: p.item.Supplier, Models: p.item.Fits}
	money := ""
	if row.LineCost.OK {
		money = ", " + findings.Money(row.LineCost.V, row.Currency)
	}
	aside := ""
	if p.aside > 0 {
		aside = fmt.Sprintf(" (not counting %s of a lot that comes back)", findings.Count(p.aside))
	}
	f.Headline = fmt.Sprintf("Order %s of %s (%s)%s: %s chance to last %s, until the next order arrives; %s on hand%s and %s on order last with %s; about %s used a week%s",
		findings.Count(p.order), p.item.Part, frame.Name(p.item.Component), money, findings.Percent(1-row.StockoutChance.V), span(p.horizon),
		findings.Count(p.item.OnHand), aside, findings.Count(p.item.OnOrder), findings.Percent(1-out), findings.Number(row.WeeklyMean.V), findings.Verdict(f.Grade, 0))
	f.Action = p.action()
	f.Caution = findings.Caution([]string{p.item.Component}, "The forecast knows the past only, and no job that went elsewhere for want of the part. Look at the lots on the shelf before adding to them.")
	f.Method = method
	f.Row = schemas.RowRef{Table: "stock", Key: map[string]string{"part": p.item.Part}}
	for k, v := range map[string]schemas.Float{"order": row.Order, "line_cost": row.LineCost, "stockout_chance": row.StockoutChance,
		"stockout_chance_without": schemas.Known(out), "stockout_chance_without_low": schemas.Known(low), "weekly_mean": row.WeeklyMean,
		"used_last_year": schemas.Known(float64(p.used)), "service_level": row.ServiceLevel} {
		if v.OK {
			f.Numbers[k] = v
		}
	}
	return f, nil
}

// runsOut is the chance that the demand until the next order arrives exceeds the position, and that chance at the lower
// limit of the weekly rate.
func (p *plan) runsOut(position int) (chance, low float64, err error) {
	if chance, err = p.ahead.UpperTail(position + 1); err != nil {
		return 0, 0, err
	}
	rate, err := p.forecast.Rate(p.horizon).Posterior(0, 0, 0.95)
	if err != nil {
		return 0, 0, err
	}
	low, err = stat.PoissonUpperTail(position+1, rate.Lo*float64(p.horizon)/7)
	return chance, math.Min(low, chance), err
}

func (p *plan) action() string {
	from := ""
	if p.item.Supplier != "" {
		from = " from " + p.item.Supplier
	}
	text := fmt.Sprintf("Order %s%s now.", findings.Counted(p.order, "piece"), from)
	if len(p.with) > 0 {
		text += fmt.Sprintf(" It fails together with %s: order both.", strings.Join(p.with, " and "))
	}
	if p.aside > 0 {
		text += fmt.Sprintf(" Set lot %s aside and look at it first.", strings.Join(p.asideLot, " and "))
	}
	if p.short {
		text += " The budget does not reach for all that is needed."
	}
	if p.target.Rule == ServiceLevel {
		text += fmt.Sprintf(" Stocked for a service level of %s, since margin or holding rate is not known.", findings.Percent(p.target.Level))
	}
	return text
}

// span writes days the way people say them.
func span(days int) string {
	if days%7 == 0 {
		return findings.Counted(days/7, "week")
	}
	return findings.Counted(days, "day")
}
