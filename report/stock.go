package report

import (
	"cmp"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"faultgrain/report/charts"
	"faultgrain/report/evidence"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

func (s *site) stockPage() (any, error) {
	q := question{Told: s.tell(schemas.KindStock), Note: "The order covers what is likely to be asked for until the order after this one arrives. It knows the past only: a campaign, a recall or a new big customer is yours to add."}
	q.head = head{Title: "What to order", Lacks: s.lacks("stock", len(s.Stock))}
	if len(s.Stock) == 0 {
		return q, nil
	}
	orders := s.orders()
	q.Lead = orderLead(orders)
	tests, err := s.backtestBlock()
	if err != nil {
		return nil, err
	}
	if !s.single { // there it stands with the month
		q.Blocks = append(q.Blocks, s.ordersBlock(orders, tableRows))
	}
	q.Blocks = append(q.Blocks, tests, s.stockBlock())
	q.Blocks = tidy(q.Blocks)
	return q, nil
}

// orders are the parts to order now, dearest line first.
func (s *site) orders() []schemas.StockLine {
	rows := slices.DeleteFunc(slices.Clone(s.Stock), func(r schemas.StockLine) bool { return !(r.Order.V > 0) })
	slices.SortStableFunc(rows, func(a, b schemas.StockLine) int {
		return cmp.Or(cmp.Compare(b.LineCost.V, a.LineCost.V), cmp.Compare(a.Part, b.Part))
	})
	return rows
}

// orderLead says how many parts to order and for how much.
func orderLead(orders []schemas.StockLine) string {
	if len(orders) == 0 {
		return "Nothing to order now."
	}
	lead := "Order " + plural(len(orders), "part")
	if sum := orderSums(orders); sum != "" {
		lead += " for " + sum
	}
	return lead + "."
}

// orderSums adds the lines up, each currency for itself.
func orderSums(orders []schemas.StockLine) string {
	sums, unknown := map[string]float64{}, 0
	for _, r := range orders {
		if r.LineCost.OK {
			sums[r.Currency] += r.LineCost.V
		} else {
			unknown++
		}
	}
	var parts []string
	for _, c := range valuesOf(orders, func(r schemas.StockLine) string { return r.Currency }) {
		if v, ok := sums[c]; ok {
			parts = append(parts, wording.MoneyRound(v, c))
		}
	}
	text := strings.Join(parts, " and ")
	if unknown > 0 && text != "" {
		text += fmt.Sprintf(", %s of unknown cost not counted", wording.Count(unknown))
	}
	return text
}

// ordersBlock is the order list, at most so many lines long.
func (s *site) ordersBlock(orders []schemas.StockLine, most int) block {
	if len(orders) == 0 {
		return block{}
	}
	t := layout.Table{ID: "t-order", Caption: "Parts to order now, the dearest line first", Columns: []layout.Column{
		{Head: "part"}, {Head: "order", Num: true}, {Head: "supplier"}, {Head: "on hand", Num: true}, {Head: "on order", Num: true}, {Head: "a week", Num: true, Title: "forecast, pieces a week"},
		{Head: "cost", Num: true}, {Head: "order with", Title: "fails together with this one"}}}
	for _, r := range head0(orders, most) {
		part := layout.Text(r.Part)
		part.Note = s.name(r.Component)
		t.Rows = append(t.Rows, []layout.Cell{part, layout.Number(r.Order, wording.Number), layout.Text(r.Supplier), layout.Number(r.OnHand, wording.Number), layout.Number(r.OnOrder, wording.Number),
			layout.Number(r.WeeklyMean, wording.Number), moneyCell(r.LineCost, r.Currency), layout.Text(r.WithPart)})
	}
	b := block{ID: "order", Title: "Order list", Table: &t, Files: s.orderFiles(), Cut: s.cut(len(t.Rows), len(orders), "that cost most"), CSV: s.orderFile()}
	if b.CSV == "" {
		b.CSV = s.csv("stock")
	}
	return b
}

// orderFile is the order list as a file to send to a supplier, where analysis wrote one.
func (s *site) orderFile() string {
	if href := s.csv("order"); href != "" {
		return href
	}
	return s.beside("order.csv")
}

// orderFiles are the order lists by supplier, to be sent as they are.
func (s *site) orderFiles() []layout.Link {
	if s.single {
		return nil
	}
	entries, err := os.ReadDir(filepath.Join(s.out, "tables", "orders"))
	if err != nil {
		return nil // analysis wrote none
	}
	var list []layout.Link
	for _, e := range head0(entries, 40) {
		list = append(list, layout.Link{Text: e.Name(), Href: s.root + "tables/orders/" + url.PathEscape(e.Name())})
	}
	return list
}

func (s *site) backtestBlock() (block, error) {
	if len(s.Backtest) == 0 {
		return block{}, nil
	}
	currency := s.Backtest[0].Currency
	t := layout.Table{ID: "t-backtest", Caption: "Ordering rules over the last 12 months", Plain: true, Columns: []layout.Column{
		{Head: "rule"}, {Head: "parts", Num: true}, {Head: "asked for", Num: true}, {Head: "not on the shelf", Num: true}, {Head: "part-weeks without", Num: true}, {Head: "margin lost", Num: true}, {Head: "tied up", Num: true, Title: "money on the shelf, on average"}, {Head: "cost", Num: true, Title: "margin lost and holding cost over the year"}}}
	bars := charts.Bars{Axis: charts.Axis{Name: "margin lost and holding cost over 12 months, " + cmp.Or(currency, "money"), Unit: charts.Number}}
	byCost := slices.ContainsFunc(s.Backtest, func(r schemas.Backtest) bool { return r.Cost.OK })
	if !byCost {
		bars.Axis = charts.Axis{Name: "part-weeks that ran out in 12 months", Unit: charts.Count}
	}
	for i, r := range s.Backtest {
		bar := charts.Bar{Label: r.Policy, Ours: i == 0, Value: ptr(r.Cost), Text: fmt.Sprintf("%s, ran out %s", moneyRoundWords(r.Cost, r.Currency), times(r.Stockouts))}
		if !byCost {
			v := float64(r.Stockouts)
			bar.Value, bar.Text = &v, times(r.Stockouts)
		}
		bars.Rows = append(bars.Rows, bar)
		t.Rows = append(t.Rows, []layout.Cell{layout.Text(r.Policy), layout.Count(r.Parts), layout.Number(r.Demand, wording.Number), layout.Number(r.Short, wording.Number), layout.Count(r.Stockouts),
			moneyCell(r.LostMargin, r.Currency), moneyCell(r.Tied, r.Currency), moneyCell(r.Cost, r.Currency)})
	}
	title := fmt.Sprintf("Over the last 12 months, %s would have run out %s", s.Backtest[0].Policy, times(s.Backtest[0].Stockouts))
	if rest := s.Backtest[1:]; len(rest) > 0 {
		best := slices.MinFunc(rest, func(a, b schemas.Backtest) int { return cmp.Compare(a.Stockouts, b.Stockouts) })
		title += fmt.Sprintf("; the best other rule, %s, %s", best.Policy, times(best.Stockouts))
	}
	bars.Head = headOf("stock-backtest", title)
	return s.draw(bars.Chart, block{Title: "Would it have worked"}, layout.Figure{Caption: "Each rule replayed on the shop's own last 12 months, seeing at each step only what was known then.", Table: t, CSV: s.csv("backtest"), Open: true})
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return wording.Count(n) + " times"
}

func moneyRoundWords(v schemas.Float, currency string) string {
	if !v.OK {
		return wording.Unknown
	}
	return wording.MoneyRound(v.V, currency)
}

func (s *site) stockBlock() block {
	found := evidence.Resting[schemas.StockLine](s.Findings, "stock")
	t := layout.Table{ID: "t-stock", Caption: "Every part in stock.csv", Filter: true, Columns: []layout.Column{
		{Head: "part"}, {Head: "fits"}, {Head: "a week", Num: true}, {Head: "up to", Num: true, Title: "what on hand and on order should come to"}, {Head: "on hand", Num: true}, {Head: "on order", Num: true}, {Head: "order", Num: true},
		{Head: "may run out", Num: true, Title: "chance of running out before the order after this one arrives"}, {Head: "lead days", Num: true}, {Head: "unit cost", Num: true}, {Head: "rule"}, {Head: "grade"}}}
	for _, r := range head0(s.Stock, tableRows) {
		f, ok := found(r)
		part := layout.Text(r.Part)
		part.Note = s.name(r.Component)
		rule := r.Rule
		if r.ServiceLevel.OK {
			rule = strings.TrimSpace(strings.ReplaceAll(rule, "-", " ") + " " + wording.Share(r.ServiceLevel.V))
		}
		t.Rows = append(t.Rows, []layout.Cell{part, layout.Text(strings.Join(evidence.List(r.Fits), ", ")), layout.Number(r.WeeklyMean, wording.Number), layout.Number(r.OrderUpTo, wording.Number), layout.Number(r.OnHand, wording.Number),
			layout.Number(r.OnOrder, wording.Number), layout.Number(r.Order, wording.Number), layout.Number(r.StockoutChance, wording.Share), layout.Number(r.LeadDays, wording.Number), moneyCell(r.UnitCost, r.Currency), layout.Text(rule), graded(f, ok)})
	}
	return block{Title: "Every part", Table: &t, CSV: s.csv("stock"), Cut: s.cut(len(t.Rows), len(s.Stock), "first in the file")}
}
