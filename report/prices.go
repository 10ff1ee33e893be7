package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"faultgrain/report/charts"
	"faultgrain/report/evidence"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

func (s *site) pricesPage() (any, error) {
	q := question{Told: s.tell(schemas.KindPrice), Note: "Costs are what the log says was paid for a part; the margin is what stays of the charge after parts, bench time at the shop's rate and the returns to be expected. Amounts in different currencies are never put together."}
	q.head = head{Title: "What parts cost and what jobs leave", Lacks: s.lacks("prices", len(s.Prices))}
	if len(s.Prices) == 0 {
		return q, nil
	}
	found := evidence.Resting[schemas.Price](s.Findings, "prices")
	q.Lead = s.pricesLead()
	for _, currency := range valuesOf(s.Prices, func(r schemas.Price) string { return r.Currency }) {
		rows := slices.DeleteFunc(slices.Clone(s.Prices), func(r schemas.Price) bool { return r.Currency != currency })
		costs, err := s.costsBlock(rows, currency, found)
		if err != nil {
			return nil, err
		}
		q.Blocks = append(q.Blocks, costs)
	}
	q.Blocks = append(q.Blocks, s.marginsBlock(), s.pricesBlock(found))
	q.Blocks = tidy(q.Blocks)
	return q, nil
}

// pricesLead counts what stands out in money.
func (s *site) pricesLead() string {
	dear, jumped, below := 0, 0, 0
	for _, r := range s.Prices {
		if r.Z.OK && r.Z.V > 3.5 {
			dear++
		}
		if r.JumpOn != "" {
			jumped++
		}
		if r.BelowTarget.OK {
			below += int(r.BelowTarget.V)
		}
	}
	lead := fmt.Sprintf("%s class; %s lastingly in price.", verb(dear, "part costs far above the usual in its", "parts cost far above the usual in their"), verb(jumped, "has jumped", "have jumped"))
	if below > 0 {
		lead += fmt.Sprintf(" %s below the target margin.", verb(below, "job was", "jobs were"))
	}
	return lead
}

// costRows bounds the parts a chart of costs shows.
const costRows = 16

func (s *site) costsBlock(all []schemas.Price, currency string, found func(schemas.Price) (schemas.Finding, bool)) (block, error) {
	rows := slices.DeleteFunc(slices.Clone(all), func(r schemas.Price) bool {
		return !r.CostLatest.OK || !(r.CostLatest.V > 0) || !r.CostUsual.OK || !(r.CostUsual.V > 0)
	})
	if len(rows) == 0 {
		return block{}, nil
	}
	slices.SortStableFunc(rows, func(a, b schemas.Price) int {
		return cmp.Or(cmp.Compare(b.CostLatest.V/b.CostUsual.V, a.CostLatest.V/a.CostUsual.V), cmp.Compare(b.Lines, a.Lines))
	})
	unit := currency
	if unit == "" {
		unit = "currency not told"
	}
	one := 1.0
	d := charts.DotWhisker{Axis: charts.Axis{Name: "latest cost, times the usual cost in the class", Unit: charts.Ratio}, Reference: &one, RefName: "as usual in the class", Interval: "middle half of what was paid"}
	for _, r := range head0(rows, costRows) {
		f, ok := found(r)
		times := func(v schemas.Float) *float64 {
			if !v.OK || v.V <= 0 {
				return nil
			}
			return new(v.V / r.CostUsual.V)
		}
		d.Rows = append(d.Rows, charts.Row{Label: r.Model + " · " + s.name(r.Component), Est: times(r.CostLatest), Low: times(r.CostQ1), High: times(r.CostQ3),
			Text: moneyWords(r.CostLatest, currency), Grade: grade(f, ok)})
	}
	first := rows[0]
	title := fmt.Sprintf("%s of the %s costs %s, %s the usual %s", capital(s.name(first.Component)), first.Model, moneyWords(first.CostLatest, currency), wording.Times(first.CostLatest.V/first.CostUsual.V), moneyWords(first.CostUsual, currency))
	if first.CostLatest.V <= first.CostUsual.V {
		title = "No part costs more than is usual in its class"
	}
	d.Head = headOf("prices-cost-"+slug(unit), title)
	return s.draw(d.Chart, block{Title: "Against the usual cost, " + unit}, layout.Figure{
		Caption: fmt.Sprintf("The %s furthest above what the component usually costs on the other models of the class. The dot is the latest cost, written beside it, the line the middle half of all that was paid: a dot off its line is a cost that has moved.", plural(len(d.Rows), "part"))})
}

func moneyWords(v schemas.Float, currency string) string {
	if !v.OK {
		return wording.Unknown
	}
	return wording.Money(v.V, currency)
}

func (s *site) marginsBlock() block {
	rows := slices.DeleteFunc(slices.Clone(s.Prices), func(r schemas.Price) bool { return !r.ChargeMedian.OK && !r.MarginMedian.OK && !r.PriceFloor.OK })
	slices.SortStableFunc(rows, func(a, b schemas.Price) int {
		return cmp.Or(cmp.Compare(b.BelowTarget.V, a.BelowTarget.V), cmp.Compare(b.Lines, a.Lines))
	})
	if len(rows) == 0 {
		return block{}
	}
	t := layout.Table{ID: "t-margins", Caption: "Charges and margins of jobs with that fault alone", Filter: true, Columns: []layout.Column{
		{Head: "model"}, {Head: "component"}, {Head: "usual charge", Num: true}, {Head: "minutes", Num: true}, {Head: "margin", Num: true, Title: "median, after parts, bench time and expected returns"},
		{Head: "price floor", Num: true, Title: "charge that reaches the shop's target margin"}, {Head: "jobs below target", Num: true}}}
	for _, r := range head0(rows, tableRows) {
		t.Rows = append(t.Rows, []layout.Cell{layout.Anchor(r.Model, s.sheet(r.Model)), layout.Text(s.name(r.Component)), moneyCell(r.ChargeMedian, r.Currency), layout.Number(r.MinutesMedian, wording.Minutes),
			moneyCell(r.MarginMedian, r.Currency), moneyCell(r.PriceFloor, r.Currency), layout.Number(r.BelowTarget, wording.Number)})
	}
	return block{Title: "What jobs leave", Table: &t, CSV: s.csv("prices"), Cut: s.cut(len(t.Rows), len(rows), "with the most jobs below target")}
}

func (s *site) pricesBlock(found func(schemas.Price) (schemas.Finding, bool)) block {
	rows := slices.Clone(s.Prices)
	slices.SortStableFunc(rows, func(a, b schemas.Price) int {
		return cmp.Or(cmp.Compare(math.Abs(b.Z.V), math.Abs(a.Z.V)), cmp.Compare(b.Lines, a.Lines))
	})
	t := layout.Table{ID: "t-prices", Caption: "Cost of parts by model and component", Filter: true, Columns: []layout.Column{
		{Head: "model"}, {Head: "component"}, {Head: "lines", Num: true}, {Head: "latest", Num: true}, {Head: "median", Num: true}, {Head: "usual in class", Num: true},
		{Head: "z", Num: true, Title: "robust distance of its cost from the class; above 3.5 is far"}, {Head: "before the jump", Num: true}, {Head: "jumped on"}, {Head: "grade"}}}
	for _, r := range head0(rows, tableRows) {
		f, ok := found(r)
		median := moneyCell(r.CostMedian, r.Currency)
		if r.CostMedian.OK && r.CostQ1.OK && r.CostQ3.OK {
			median.Note = wording.Money(r.CostQ1.V, r.Currency) + " to " + wording.Money(r.CostQ3.V, r.Currency)
		}
		jump := layout.Cell{Text: dayWords(r.JumpOn), Sort: r.JumpOn}
		t.Rows = append(t.Rows, []layout.Cell{layout.Anchor(r.Model, s.sheet(r.Model)), layout.Text(s.name(r.Component)), layout.Count(r.Lines), moneyCell(r.CostLatest, r.Currency), median,
			moneyCell(r.CostUsual, r.Currency), layout.Number(r.Z, wording.Number), moneyCell(r.CostBefore, r.Currency), jump, graded(f, ok)})
	}
	return block{Title: "Every part", Table: &t, CSV: s.csv("prices"), Cut: s.cut(len(t.Rows), len(rows), "furthest from the usual cost")}
}
