package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"faultgrain/report/evidence"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// componentModels bounds the models listed under a component.
const componentModels = 8

func (s *site) componentsPage() (any, error) {
	q := question{}
	q.head = head{Title: "Components", Lead: "For each component: how often, on which models, what goes with it and how long it takes.", Lacks: s.lacks("shares", len(s.Shares))}
	visits := 0
	rows := map[string][]schemas.Share{}
	faults := map[string]int{}
	for _, b := range s.benches {
		visits += b.Visits
		for _, r := range b.Shares {
			rows[r.Component] = append(rows[r.Component], r)
			faults[r.Component] += r.Faults
		}
	}
	about := s.componentWords()
	found := evidence.Resting[schemas.Share](s.Findings, "shares")
	for _, c := range sortedCounts(faults) {
		list := rows[c]
		slices.SortStableFunc(list, func(a, b schemas.Share) int {
			return cmp.Or(cmp.Compare(b.RatioLow.V, a.RatioLow.V), cmp.Compare(b.Faults, a.Faults))
		})
		t := layout.Table{Caption: "Models with the most " + s.name(c) + " faults for their class", Columns: []layout.Column{
			{Head: "model"}, {Head: "share", Num: true}, {Head: "faults of visits", Num: true}, {Head: "times the class", Num: true}, {Head: "grade"}}}
		for _, r := range head0(list, componentModels) {
			f, ok := found(r)
			t.Rows = append(t.Rows, []layout.Cell{layout.Anchor(r.Model, s.sheet(r.Model)), layout.Range(r.Share, r.ShareLow, r.ShareHigh, wording.Share, wording.ShareRange), ofN(r.Faults, r.Visits), ratioCell(r.Ratio, r.RatioLow, r.RatioHigh), graded(f, ok)})
		}
		text := fmt.Sprintf("On %s of diagnosed visits (%s).", wording.Share(float64(faults[c])/float64(max(visits, 1))), wording.OfN(faults[c], visits))
		if words := about[c]; len(words) > 0 {
			text += " " + strings.Join(words, " ")
		}
		q.Blocks = append(q.Blocks, block{ID: componentID(c), Title: capital(s.name(c)), Text: []string{text}, Table: &t, Cut: s.cut(len(t.Rows), len(list), "furthest above their class")})
	}
	q.Blocks = tidy(q.Blocks)
	return q, nil
}

// componentWords says of each component what the other pages know: its time, its course, its company.
func (s *site) componentWords() map[string][]string {
	words := map[string][]string{}
	for _, r := range s.Times {
		if r.Model == schemas.Any && r.ComponentB == "" && r.Median.OK {
			words[r.Component] = append(words[r.Component], fmt.Sprintf("Half of %s take up to %s at the bench.", plural(r.Jobs, "job"), wording.Minutes(r.Median.V)))
		}
	}
	for _, r := range evidence.LastMonths(s.Trends) {
		if r.Model == schemas.Any && r.Class == schemas.Any && (r.Direction == "rising" || r.Direction == "falling") {
			words[r.Component] = append(words[r.Component], capital(r.Direction)+" over the last 12 months.")
		}
	}
	company := map[string][]string{}
	for _, f := range s.Findings {
		if f.Kind != schemas.KindPair || f.Grade == schemas.Thin {
			continue
		}
		a, b := f.Subject.Component, f.Subject.ComponentB
		for _, pair := range [][2]string{{a, b}, {b, a}} {
			line := s.name(pair[1])
			if f.Subject.Model != "" {
				line += " on the " + f.Subject.Model
			}
			if len(company[pair[0]]) < 3 {
				company[pair[0]] = append(company[pair[0]], line+" ("+f.Grade+")")
			}
		}
	}
	for c, list := range company {
		words[c] = append(words[c], "Fails together with "+strings.Join(list, ", ")+".")
	}
	return words
}
