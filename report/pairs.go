package report

import (
	"cmp"
	"fmt"
	"slices"

	"faultgrain/report/charts"
	"faultgrain/report/evidence"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

const whyPositive = "A visit exists only because something failed. That alone makes components look as if they avoid each other: when one is bad, nothing else needs to be for the device to come in. " +
	"So odds below 1 are no finding, and odds above 1 are one in spite of that."

func (s *site) pairsPage() (any, error) {
	q := question{Told: s.tell(schemas.KindPair), Note: "Association is not cause: two components may fail together because one harms the other, because the same fall or the same liquid reached both, or because they are opened together."}
	q.head = head{Title: "What fails together", Lacks: s.lacks("pairs", len(s.Pairs))}
	if len(s.Pairs) == 0 {
		return q, nil
	}
	switch firm := countGrade(q.Told, schemas.Firm); {
	case firm > 0:
		q.Lead = fmt.Sprintf("%s firmly more often than chance. With one open, check the other.", verb(firm, "pair of components fails together", "pairs of components fail together"))
	case len(q.Told) > 0:
		q.Lead = "Some pairs may fail together more often than chance; none is firm yet."
	default:
		q.Lead = "No two components fail together more often than chance would have it."
	}
	found := evidence.Resting[schemas.Pair](s.Findings, "pairs")
	rows := strongestPairs(s.Pairs, found)
	matrix, err := s.matrixBlock(rows, found)
	if err != nil {
		return nil, err
	}
	ranked, err := s.oddsBlock(rows, found)
	if err != nil {
		return nil, err
	}
	q.Blocks = append(q.Blocks, ranked, matrix, s.pairsBlock(rows, found))
	q.Blocks = tidy(q.Blocks)
	return q, nil
}

// strongestPairs are the pairs seen together, each once for its scope, the best evidence first. A pair is counted
// on visits and on devices: the row that carries a finding stands, or else the one on visits.
func strongestPairs(all []schemas.Pair, found func(schemas.Pair) (schemas.Finding, bool)) []schemas.Pair {
	at := map[[3]string]int{}
	var rows []schemas.Pair
	for _, r := range all {
		if r.Both == 0 || !r.OddsLow.OK {
			continue
		}
		key := [3]string{r.Scope, r.ComponentA, r.ComponentB}
		i, ok := at[key]
		if !ok {
			at[key] = len(rows)
			rows = append(rows, r)
			continue
		}
		_, before := found(rows[i])
		if _, ok := found(r); ok && !before || !before && r.Unit == onVisits {
			rows[i] = r
		}
	}
	slices.SortStableFunc(rows, func(a, b schemas.Pair) int {
		return cmp.Or(cmp.Compare(b.OddsLow.V, a.OddsLow.V), cmp.Compare(b.Both, a.Both))
	})
	return rows
}

// onVisits is the unit of pairs counted on visits; the other is devices within 30 days.
const onVisits = "visit"

// pairName names a pair as a person does.
func (s *site) pairName(a, b string) string { return capital(s.name(a)) + " and " + s.name(b) }

func scopeName(scope string) string {
	if scope == schemas.Any {
		return "all models"
	}
	return scope
}

func (s *site) oddsBlock(rows []schemas.Pair, found func(schemas.Pair) (schemas.Finding, bool)) (block, error) {
	one := 1.0
	d := charts.DotWhisker{Axis: charts.Axis{Name: "times the odds of one when the other is bad", Unit: charts.Ratio}, Reference: &one, RefName: "no more often than chance"}
	var first schemas.Pair
	for _, r := range rows {
		f, ok := found(r)
		if !r.OddsRatio.OK || r.OddsRatio.V <= 1 || r.Both < 2 || len(d.Rows) == 16 || !ok && len(d.Rows) >= 8 {
			continue
		}
		if len(d.Rows) == 0 {
			first = r
		}
		d.Rows = append(d.Rows, charts.Row{Label: s.pairName(r.ComponentA, r.ComponentB) + " · " + scopeName(r.Scope), Est: ptr(r.OddsRatio), Low: ptr(r.OddsLow), High: upper(r.OddsHigh),
			Text: "both on " + wording.OfN(r.Both, r.N), Grade: grade(f, ok)})
	}
	title := "No pair is clearly seen together more often than chance"
	if first.OddsLow.V > 1 {
		title = fmt.Sprintf("%s on %s: %s the odds", s.pairName(first.ComponentA, first.ComponentB), scopeName(first.Scope), wording.Times(first.OddsRatio.V))
	}
	d.Head = headOf("pairs-odds", title)
	return s.draw(d.Chart, block{Title: "Strongest pairs"}, layout.Figure{
		Caption: "Pairs seen together at least twice and more often than chance has it, ranked by the low end of the interval. Beside each: on how many visits (or devices within 30 days) both were bad."})
}

// matrixBlock draws, for the components with the strongest pairs, how often another is bad with one open.
func (s *site) matrixBlock(strongest []schemas.Pair, found func(schemas.Pair) (schemas.Finding, bool)) (block, error) {
	var rows []schemas.Pair // over all models, on visits
	for _, r := range s.Pairs {
		if r.Scope == schemas.Any && r.Unit == onVisits {
			rows = append(rows, r)
		}
	}
	slices.SortStableFunc(rows, func(a, b schemas.Pair) int { return cmp.Compare(b.Both, a.Both) })
	m := charts.PairMatrix{}
	place := map[string]int{}
	take := func(r schemas.Pair) {
		for _, id := range []string{r.ComponentA, r.ComponentB} {
			if _, ok := place[id]; !ok && len(m.Names) < charts.MaxNames {
				place[id] = len(m.Names)
				m.Names = append(m.Names, s.name(id))
			}
		}
	}
	for _, r := range strongest {
		if _, ok := found(r); ok {
			take(r)
		}
	}
	for _, r := range rows {
		take(r)
	}
	t := layout.Table{ID: "t-matrix", Caption: "Pairs over all models", Columns: []layout.Column{{Head: "pair"}, {Head: "both of visits", Num: true}, {Head: "second, when the first is bad", Num: true}, {Head: "first, when the second is bad", Num: true}, {Head: "times the odds", Num: true}}}
	firm := s.firmPairs()
	top, topShare := "", 0.0
	for _, r := range rows {
		a, okA := place[r.ComponentA]
		b, okB := place[r.ComponentB]
		if !okA || !okB || !r.BGivenA.OK && !r.AGivenB.OK {
			continue
		}
		isFirm := firm[[2]string{r.ComponentA, r.ComponentB}]
		cell := func(row, column int, share schemas.Float, with int, one, other string) {
			m.Cells = append(m.Cells, charts.PairCell{Row: row, Column: column, Share: ptr(share), Text: fmt.Sprintf("%s of %s", wording.Count(r.Both), plural(with, "visit")), Firm: isFirm})
			if with >= 20 && share.V > topShare {
				top, topShare = fmt.Sprintf("With the %s bad, the %s is too on %s", s.name(one), s.name(other), wording.ShareOfN(r.Both, with)), share.V
			}
		}
		cell(a, b, r.BGivenA, r.Both+r.AOnly, r.ComponentA, r.ComponentB)
		cell(b, a, r.AGivenB, r.Both+r.BOnly, r.ComponentB, r.ComponentA)
		if r.Both > 0 {
			t.Rows = append(t.Rows, []layout.Cell{layout.Text(s.pairName(r.ComponentA, r.ComponentB)), ofN(r.Both, r.N),
				layout.Range(r.BGivenA, r.BGivenALow, r.BGivenAHigh, wording.Share, wording.ShareRange), layout.Range(r.AGivenB, r.AGivenBLow, r.AGivenBHigh, wording.Share, wording.ShareRange), ratioCell(r.OddsRatio, r.OddsLow, r.OddsHigh)})
		}
	}
	m.Head = headOf("pairs-matrix", cmp.Or(top, "No two components were seen together"))
	return s.draw(m.Chart, block{Title: "With one open, what else", Text: []string{whyPositive}}, layout.Figure{
		Caption: "Over all models. Read along a row: of 100 visits with that component bad, on how many the component below was bad too. The components of the strongest pairs come first. " +
			"0 was never seen; an empty cell was not tested, for too few visits could have shown both. A border marks a pair that is firm, over all models or on one.", Table: t})
}

// firmPairs are the pairs with a firm finding.
func (s *site) firmPairs() map[[2]string]bool {
	firm := map[[2]string]bool{}
	for _, f := range s.Findings {
		if f.Kind == schemas.KindPair && f.Grade == schemas.Firm {
			firm[[2]string{f.Subject.Component, f.Subject.ComponentB}] = true
		}
	}
	return firm
}

func (s *site) pairsBlock(rows []schemas.Pair, found func(schemas.Pair) (schemas.Finding, bool)) block {
	t := layout.Table{ID: "t-pairs", Caption: "Pairs seen together, strongest first", Filter: true, Columns: []layout.Column{
		{Head: "pair"}, {Head: "on"}, {Head: "counted on"}, {Head: "both of all", Num: true}, {Head: "expected", Num: true, Title: "with both, if they had nothing to do with each other"},
		{Head: "second, when the first is bad", Num: true}, {Head: "first, when the second is bad", Num: true}, {Head: "times the odds", Num: true}, {Head: "q", Num: true, Title: "chance of so much by luck, corrected for looking at many pairs"},
		{Head: "models agree", Num: true, Title: "p of the hypothesis that the odds are the same on all models; small means they differ"}, {Head: "grade"}}}
	for _, r := range head0(rows, tableRows) {
		f, ok := found(r)
		on := layout.Text("all models")
		if r.Scope != schemas.Any {
			on = layout.Anchor(r.Scope, s.sheet(r.Scope))
		}
		unit := "visits"
		if r.Unit != onVisits {
			unit = "devices, 30 days"
		}
		t.Rows = append(t.Rows, []layout.Cell{layout.Text(s.pairName(r.ComponentA, r.ComponentB)), on, layout.Text(unit), ofN(r.Both, r.N), layout.Number(r.Expected, wording.Number),
			layout.Range(r.BGivenA, r.BGivenALow, r.BGivenAHigh, wording.Share, wording.ShareRange), layout.Range(r.AGivenB, r.AGivenBLow, r.AGivenBHigh, wording.Share, wording.ShareRange),
			ratioCell(r.OddsRatio, r.OddsLow, r.OddsHigh), layout.Number(r.Q, wording.PValue), layout.Number(r.HomogeneityP, wording.PValue), graded(f, ok)})
	}
	return block{Title: "Every pair", Table: &t, CSV: s.csv("pairs"), Cut: s.cut(len(t.Rows), len(rows), "with the strongest evidence")}
}
