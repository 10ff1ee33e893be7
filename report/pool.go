package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"faultgrain/report/charts"
	"faultgrain/report/evidence"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// poolCharts bounds how many forests the page draws.
const poolCharts = 5

func (s *site) poolPage() (any, error) {
	q := question{Note: "Shops count what came through their doors, each in its own way. Counts too small to be told are taken at their least and at their most, so that an interval holds whatever they were. A pooled figure is no shop's own: the table shows each beside it."}
	q.head = head{Title: "With other shops"}
	rows := slices.DeleteFunc(slices.Clone(s.Pool), func(r schemas.Pooled) bool { return r.Shops < 2 })
	shops := map[string]bool{}
	for _, r := range s.PoolShops {
		shops[r.Shop] = true
	}
	slices.SortStableFunc(rows, func(a, b schemas.Pooled) int {
		return cmp.Or(cmp.Compare(low(b), low(a)), cmp.Compare(b.Faults, a.Faults))
	})
	above := 0
	for _, r := range rows {
		if low(r) > 1 && r.Q.OK && r.Q.V < 0.05 {
			above++
		}
	}
	q.Lead = fmt.Sprintf("%s together: %s more often than in the rest of the class.", plural(len(shops), "shop"), verb(above, "component of a model fails", "components of models fail"))
	if above == 0 {
		q.Lead = plural(len(shops), "shop") + " together: no component of a model clearly fails more often than in the rest of the class."
	}
	for _, r := range rows {
		if v, _, _ := pooled(r); !v.OK || len(q.Blocks) == poolCharts {
			continue // with so much withheld, a chart says nothing
		}
		b, err := s.forestBlock(r, fmt.Sprintf("pool-%d", len(q.Blocks)+1))
		if err != nil {
			return nil, err
		}
		if len(q.Blocks) == 0 {
			b.Title = "Shop by shop"
		}
		q.Blocks = append(q.Blocks, b)
	}
	q.Blocks = append(q.Blocks, s.poolBlock(rows), s.poolPairsBlock(), s.poolAlarmsBlock())
	q.Blocks = tidy(q.Blocks)
	return q, nil
}

// pooled is the odds ratio that stands for a row: by random effects where the shops differ.
func pooled(r schemas.Pooled) (v, lo, hi schemas.Float) {
	if r.Method == "random-effects" && r.Random.OK {
		return r.Random, r.RandLow, r.RandHigh
	}
	return r.Odds, r.OddsLow, r.OddsHigh
}

func low(r schemas.Pooled) float64 {
	_, v, _ := pooled(r)
	return v.V
}

func (s *site) forestBlock(r schemas.Pooled, id string) (block, error) {
	one := 1.0
	v, lo, hi := pooled(r)
	f := charts.Forest{Axis: charts.Axis{Name: "times the odds of the rest of the class", Unit: charts.Ratio}, Null: &one, NullName: "no difference",
		Pooled: charts.Study{Label: "together", Est: ptr(v), Low: ptr(lo), High: upper(hi), Text: wording.OfN(r.Faults, r.Visits)}, SpreadLow: ptr(r.NextLow), SpreadHi: ptr(r.NextHigh)}
	t := layout.Table{Caption: capital(s.name(r.Component)) + " of the " + r.Model + ", shop by shop", Columns: []layout.Column{
		{Head: "shop"}, {Head: "faults of visits", Num: true}, {Head: "share", Num: true}, {Head: "towards the pool", Num: true, Title: "the shop's share drawn towards what all shops see"}, {Head: "times the odds", Num: true}}}
	sum := 0.0
	for _, p := range s.PoolShops {
		if p.Model != r.Model || p.Component != r.Component {
			continue
		}
		if w := weight(p); p.Odds.OK && w > 0 {
			sum += w
			f.Studies = append(f.Studies, charts.Study{Label: p.Shop, Est: ptr(p.Odds), Low: ptr(p.OddsLow), High: upper(p.OddsHigh), Weight: w, Text: toldOf(p)})
		}
		t.Rows = append(t.Rows, []layout.Cell{layout.Text(p.Shop), {Text: toldOf(p), Sort: fmt.Sprint(p.Faults)}, layout.Range(p.Share, p.ShareLow, p.ShareHigh, wording.Share, wording.ShareRange),
			layout.Range(p.Shrunk, p.ShrunkLow, p.ShrunkHigh, wording.Share, wording.ShareRange), ratioCell(p.Odds, p.OddsLow, p.OddsHigh)})
	}
	for i := range f.Studies {
		f.Studies[i].Weight /= sum
	}
	f.Head = headOf(id, fmt.Sprintf("%s of the %s: %s the odds of its class, over %s", capital(s.name(r.Component)), r.Model, wording.Times(v.V), plural(r.Shops, "shop")))
	caption := "The shops agree well enough to be put together as one."
	if r.Method == "random-effects" {
		caption = "The shops differ; the diamond allows for that, and a further shop would lie where the dashed line runs."
	}
	return s.draw(f.Chart, block{}, layout.Figure{Caption: caption, Table: t})
}

// toldOf writes a shop's faults; a count that was withheld says what it can be at most.
func toldOf(p schemas.PooledShop) string {
	if p.Most > p.Faults {
		return fmt.Sprintf("%s to %s of %s", wording.Count(p.Faults), wording.Count(p.Most), wording.Count(p.Visits))
	}
	return wording.OfN(p.Faults, p.Visits)
}

// weight is how much a shop says: the inverse of the variance its interval implies, for drawing only.
func weight(p schemas.PooledShop) float64 {
	if !(p.OddsLow.V > 0) || !(p.OddsHigh.V > p.OddsLow.V) {
		return 0
	}
	width := math.Log(p.OddsHigh.V / p.OddsLow.V)
	return 1 / (width * width)
}

func (s *site) poolBlock(rows []schemas.Pooled) block {
	t := layout.Table{ID: "t-pool", Caption: "All shops together", Filter: true, Columns: []layout.Column{
		{Head: "model"}, {Head: "component"}, {Head: "shops", Num: true}, {Head: "faults of visits", Num: true}, {Head: "share", Num: true}, {Head: "times the odds", Num: true}, {Head: "q", Num: true},
		{Head: "between shops", Num: true, Title: "I squared: share of the variation that lies between shops"}, {Head: "in a further shop", Num: true, Title: "95% prediction interval of the odds ratio"}, {Head: "put together by"}}}
	for _, r := range head0(rows, tableRows) {
		v, lo, hi := pooled(r)
		next := layout.Cell{Text: wording.Unknown}
		if r.NextLow.OK && r.NextHigh.OK {
			next = layout.Cell{Text: plainRange(r.NextLow.V, r.NextHigh.V), Sort: r.NextLow.String()}
		}
		t.Rows = append(t.Rows, []layout.Cell{layout.Anchor(r.Model, s.sheet(r.Model)), layout.Text(s.name(r.Component)), layout.Count(r.Shops), ofN(r.Faults, r.Visits), layout.Range(r.Share, r.ShareLow, r.ShareHigh, wording.Share, wording.ShareRange),
			ratioCell(v, lo, hi), layout.Number(r.Q, wording.PValue), layout.Number(r.I2, wording.Share), next, layout.Text(strings.ReplaceAll(r.Method, "-", " "))})
	}
	return block{Title: "Every model and component", Table: &t, CSV: s.csv("pool"), Cut: s.cut(len(t.Rows), len(rows), "furthest above their class")}
}

func (s *site) poolPairsBlock() block {
	rows := slices.DeleteFunc(slices.Clone(s.PoolPairs), func(r schemas.PooledPair) bool { return r.Both == 0 || !r.OddsLow.OK })
	if len(rows) == 0 {
		return block{}
	}
	slices.SortStableFunc(rows, func(a, b schemas.PooledPair) int {
		return cmp.Or(cmp.Compare(b.OddsLow.V, a.OddsLow.V), cmp.Compare(b.Both, a.Both))
	})
	t := layout.Table{ID: "t-pool-pairs", Caption: "Pairs over all shops", Filter: true, Columns: []layout.Column{
		{Head: "pair"}, {Head: "model"}, {Head: "shops", Num: true}, {Head: "both of visits", Num: true}, {Head: "times the odds", Num: true}, {Head: "shops agree", Num: true, Title: "p of the hypothesis that the odds are the same in all shops; small means they differ"}}}
	for _, r := range head0(rows, tableRows) {
		t.Rows = append(t.Rows, []layout.Cell{layout.Text(s.pairName(r.ComponentA, r.ComponentB)), layout.Anchor(r.Model, s.sheet(r.Model)), layout.Count(r.Shops), ofN(r.Both, r.Both+r.AOnly+r.BOnly+r.Neither), ratioCell(r.Odds, r.OddsLow, r.OddsHigh), layout.Number(r.HomogP, wording.PValue)})
	}
	return block{Title: "What fails together, over all shops", Text: []string{whyPositive}, Table: &t, CSV: s.csv("pool_pairs"), Cut: s.cut(len(t.Rows), len(rows), "with the strongest evidence")}
}

func (s *site) poolAlarmsBlock() block {
	if len(s.PoolBatches) == 0 {
		return block{}
	}
	t := layout.Table{ID: "t-pool-alarms", Caption: "Alarms over all shops", Columns: []layout.Column{
		{Head: "component"}, {Head: "where"}, {Head: "weeks"}, {Head: "shops", Num: true}, {Head: "seen of visits", Num: true}, {Head: "expected", Num: true}, {Head: "times the usual", Num: true}, {Head: "p", Num: true}, {Head: "models"}}}
	for _, r := range head0(s.PoolBatches, tableRows) {
		node := s.nodeName(schemas.Batch{Level: r.Level, Node: r.Node})
		t.Rows = append(t.Rows, []layout.Cell{s.componentCell(r.Component), layout.Text(node), {Text: dayWords(r.WindowStart) + " to " + dayWords(r.WindowEnd), Sort: r.WindowStart}, layout.Count(r.Shops), ofN(r.Observed, r.Visits),
			layout.Number(r.Expected, wording.Number), layout.Number(r.RelativeRisk, wording.Number), layout.Number(r.P, wording.PValue), layout.Text(strings.Join(evidence.List(r.Models), ", "))})
	}
	return block{Title: "Alarms over all shops", Text: []string{"A suspected batch is a reason to look, not a recall."}, Table: &t, CSV: s.csv("pool_batches")}
}
