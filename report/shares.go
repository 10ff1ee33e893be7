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

// Bounds of what a page shows; the CSV has the rest.
const (
	chartRows = 24
	tableRows = 250
)

func (s *site) sharesPage() (any, error) {
	q := question{Told: s.tell(schemas.KindShare), Note: "A share is of the diagnosed visits that came through the door, not of all devices sold. A component that fails often elsewhere lowers the share of the others here."}
	q.head = head{Title: "What fails on which model", Lacks: s.lacks("shares", len(s.Shares))}
	if len(s.Shares) == 0 {
		return q, nil
	}
	q.Lead = s.sharesLead(q.Told)

	rows := strongestShares(s.Shares)
	found := evidence.Resting[schemas.Share](s.Findings, "shares")
	ratios, err := s.ratioBlock(rows, found)
	if err != nil {
		return nil, err
	}
	q.Blocks = append(q.Blocks, ratios, s.sharesBlock(rows, found))
	q.Blocks = tidy(q.Blocks)
	return q, nil
}

// sharesLead says how many models and visits there are and how many components stand out.
func (s *site) sharesLead(found []told) string {
	models, visits := 0, 0
	for _, b := range s.benches {
		if b.Visits > 0 {
			models, visits = models+1, visits+b.Visits
		}
	}
	over := fmt.Sprintf("%s diagnosed visits of %s", wording.Count(visits), plural(models, "model"))
	firm := firmModels(found)
	switch {
	case len(found) == 0:
		return "In " + over + ", no component fails on one model clearly more often than on the rest of its class."
	case firm == 0:
		return fmt.Sprintf("In %s, %s more often than in the rest of the class; none is firm yet.", over, verb(len(found), "component of a model may fail", "components of models may fail"))
	}
	return fmt.Sprintf("In %s, %s a component that firmly fails more often than in the rest of its class.", over, verb(firm, "model has", "models have"))
}

// firmModels counts the models that have a firm finding.
func firmModels(found []told) int {
	models := map[string]bool{}
	for _, t := range found {
		if t.Grade == schemas.Firm {
			models[t.Subject.Model] = true
		}
	}
	return len(models)
}

// strongestShares are the rows that can be compared with a class, those furthest above it first.
func strongestShares(all []schemas.Share) []schemas.Share {
	var rows []schemas.Share
	for _, r := range all {
		if r.Faults > 0 {
			rows = append(rows, r)
		}
	}
	slices.SortStableFunc(rows, func(a, b schemas.Share) int {
		return cmp.Or(cmp.Compare(b.RatioLow.V, a.RatioLow.V), cmp.Compare(b.Faults, a.Faults))
	})
	return rows
}

func (s *site) ratioBlock(rows []schemas.Share, found func(schemas.Share) (schemas.Finding, bool)) (block, error) {
	one := 1.0
	d := charts.DotWhisker{Axis: charts.Axis{Name: "times as often as on the rest of the class", Unit: charts.Ratio}, Reference: &one, RefName: "as often as the class"}
	for _, r := range rows {
		if !r.RatioLow.OK || !r.Ratio.OK || len(d.Rows) == chartRows {
			continue
		}
		f, ok := found(r)
		d.Rows = append(d.Rows, charts.Row{Label: r.Model + " · " + s.name(r.Component), Est: ptr(r.Ratio), Low: ptr(r.RatioLow), High: upper(r.RatioHigh),
			Text: wording.ShareOfN(r.Faults, r.Visits), Grade: grade(f, ok)})
	}
	if len(d.Rows) == 0 {
		return block{}, nil
	}
	first := rows[slices.IndexFunc(rows, func(r schemas.Share) bool { return r.Ratio.OK && r.RatioLow.OK })]
	title := "No component clearly fails more often on one model than on the rest of its class"
	if first.RatioLow.V > 1 {
		title = fmt.Sprintf("%s on the %s: %s as often as on the rest of its class", capital(s.name(first.Component)), first.Model, wording.Times(first.Ratio.V))
	}
	d.Head = headOf("shares-ratio", title)
	return s.draw(d.Chart, block{Title: "Against the rest of the class"}, layout.Figure{
		Caption: fmt.Sprintf("The %s furthest above their class, counting from the low end of their interval. Where the line crosses the dashed one, the model may be no different. Beside each: its share of diagnosed visits.", plural(len(d.Rows), "row")),
	})
}

// upper is the upper end of a ratio; empty in the tables means unbounded.
func upper(high schemas.Float) *float64 {
	if !high.OK {
		return &unbounded
	}
	return &high.V
}

func (s *site) sharesBlock(rows []schemas.Share, found func(schemas.Share) (schemas.Finding, bool)) block {
	rated := slices.ContainsFunc(rows, func(r schemas.Share) bool { return r.Rate.OK })
	t := layout.Table{ID: "t-shares", Caption: "Share of diagnosed visits, by model and component", Filter: true, Columns: []layout.Column{
		{Head: "model"}, {Head: "component"}, {Head: "share", Num: true, Title: "share of the model's diagnosed visits, with its 95% interval"},
		{Head: "faults of visits", Num: true}, {Head: "rest of class", Num: true, Title: "share in the other models of the class"},
		{Head: "times the class", Num: true, Title: "ratio of the two shares, with its 95% interval"},
		{Head: "q", Num: true, Title: "chance of so much by luck, corrected for looking at many rows"},
		{Head: "evened out", Num: true, Title: "share drawn towards the class, for models with few visits"}, {Head: "grade"}}}
	if rated {
		t.Columns = slices.Insert(t.Columns, 8, layout.Column{Head: "per 1,000 device-months", Num: true, Title: "faults per 1,000 device-months in the fleet, with its 95% interval"})
	}
	for _, r := range head0(rows, tableRows) {
		f, ok := found(r)
		line := []layout.Cell{layout.Anchor(r.Model, s.sheet(r.Model)), layout.Text(s.name(r.Component)),
			layout.Range(r.Share, r.ShareLow, r.ShareHigh, wording.Share, wording.ShareRange), ofN(r.Faults, r.Visits),
			layout.Number(r.ClassShare, wording.Share), ratioCell(r.Ratio, r.RatioLow, r.RatioHigh), layout.Number(r.Q, wording.PValue),
			layout.Number(r.Shrunk, wording.Share)}
		if rated {
			line = append(line, layout.Range(r.Rate, r.RateLow, r.RateHigh, wording.Number, plainRange))
		}
		t.Rows = append(t.Rows, append(line, graded(f, ok)))
	}
	return block{Title: "Every model and component", Table: &t, CSV: s.csv("shares"), Cut: s.cut(len(t.Rows), len(rows), "furthest above their class")}
}
