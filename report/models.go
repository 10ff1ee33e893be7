package report

import (
	"fmt"

	"faultgrain/report/layout"
	"faultgrain/report/wording"
)

// mostSheets bounds the bench sheets of a folder; faultgrain sheet MODEL has the others.
const mostSheets = 500

func (s *site) modelsPage() (any, error) {
	q := question{}
	q.head = head{Title: "Bench sheets", Lead: "One sheet for each model: what fails on it, what fails with it, how long it takes, and what to check while it is open."}
	if len(s.benches) == 0 {
		q.Lacks.Nothing = "No model has a visit with a fault. The columns model, or maker and class, say what device it was."
		return q, nil
	}
	t := layout.Table{ID: "t-models", Caption: "Models", Filter: len(s.benches) > 8, Columns: []layout.Column{
		{Head: "model"}, {Head: "class"}, {Head: "visits", Num: true, Title: "diagnosed visits"}, {Head: "findings", Num: true}, {Head: "most common fault"}}}
	for _, b := range head0(s.benches, mostSheets) {
		common := layout.Text("")
		if len(b.Shares) > 0 {
			r := b.Shares[0]
			common = layout.Text(s.name(r.Component))
			common.Note = wording.ShareOfN(r.Faults, r.Visits)
		}
		t.Rows = append(t.Rows, []layout.Cell{layout.Anchor(b.Model, s.sheet(b.Model)), layout.Text(b.Class), layout.Count(b.Visits), layout.Count(len(b.Findings)), common})
	}
	cut := ""
	if len(s.benches) > mostSheets {
		cut = fmt.Sprintf("The %s models with the most visits have a sheet here; faultgrain sheet MODEL prints any of the %s.", wording.Count(mostSheets), wording.Count(len(s.benches)))
	}
	q.Blocks = []block{{Table: &t, Cut: cut}}
	q.Blocks = tidy(q.Blocks)
	return q, nil
}
