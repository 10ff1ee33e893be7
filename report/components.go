package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"faultgrain/report/charts"
	"faultgrain/report/evidence"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// Bounds of the page: models listed under a component, and bars of the chart.
const (
	componentModels = 6
	componentBars   = 16
)

// A common is how often a component was bad, over all models.
type common struct {
	component string
	faults    int
	rows      []schemas.Share // by model, those furthest above their class first
}

// common lists the components, the most frequent first, and counts the diagnosed visits.
func (s *site) common() (list []common, visits int) {
	rows, faults := map[string][]schemas.Share{}, map[string]int{}
	for _, b := range s.benches {
		visits += b.Visits
		for _, r := range b.Shares {
			rows[r.Component] = append(rows[r.Component], r)
			faults[r.Component] += r.Faults
		}
	}
	for _, c := range sortedCounts(faults) {
		slices.SortStableFunc(rows[c], func(a, b schemas.Share) int {
			return cmp.Or(cmp.Compare(b.RatioLow.V, a.RatioLow.V), cmp.Compare(b.Faults, a.Faults))
		})
		list = append(list, common{c, faults[c], rows[c]})
	}
	return list, visits
}

func (s *site) componentsPage() (any, error) {
	q := question{Compact: true}
	q.head = head{Title: "Components", Lacks: s.lacks("shares", len(s.Shares))}
	list, visits := s.common()
	if len(list) == 0 {
		return q, nil
	}
	q.Lead = componentsLead(list, visits, s.name)
	var err error
	if q.Opening, err = s.commonBlock(list, visits); err != nil {
		return nil, err
	}
	about := s.componentWords()
	found := evidence.Resting[schemas.Share](s.Findings, "shares")
	for _, c := range list {
		t := layout.Table{Plain: true, Caption: "Models with the most " + s.name(c.component) + " faults for their class", Columns: []layout.Column{
			{Head: "model"}, {Head: "share", Num: true}, {Head: "times the class", Num: true}, {Head: "grade"}}}
		graded := slices.ContainsFunc(head0(c.rows, componentModels), func(r schemas.Share) bool { _, ok := found(r); return ok })
		if !graded {
			t.Columns = t.Columns[:3]
		}
		for _, r := range head0(c.rows, componentModels) {
			share := layout.Number(r.Share, wording.Share)
			share.Note = wording.OfN(r.Faults, r.Visits)
			line := []layout.Cell{layout.Anchor(r.Model, s.sheet(r.Model)), share, ratioCell(r.Ratio, r.RatioLow, r.RatioHigh)}
			if graded {
				line = append(line, gradedShare(found, r))
			}
			t.Rows = append(t.Rows, line)
		}
		text := fmt.Sprintf("On %s of diagnosed visits (%s).", wording.Share(float64(c.faults)/float64(max(visits, 1))), wording.OfN(c.faults, visits))
		if words := about[c.component]; len(words) > 0 {
			text += " " + strings.Join(words, " ")
		}
		q.Blocks = append(q.Blocks, block{ID: componentID(c.component), Title: capital(s.name(c.component)), Text: []string{text}, Table: &t, Cut: s.cut(len(t.Rows), len(c.rows), "furthest above their class")})
	}
	q.Blocks = tidy(q.Blocks)
	return q, nil
}

func gradedShare(found func(schemas.Share) (schemas.Finding, bool), r schemas.Share) layout.Cell {
	f, ok := found(r)
	return graded(f, ok)
}

// componentsLead says how few components make up half of what is bad.
func componentsLead(list []common, visits int, name func(string) string) string {
	all, half, names := 0, 0, []string{}
	for _, c := range list {
		all += c.faults
	}
	for _, c := range list {
		if 2*half >= all {
			break
		}
		half += c.faults
		names = append(names, name(c.component))
	}
	if len(names) > 4 {
		return fmt.Sprintf("%s of %s components make up half of all faults on %s.", wording.Count(len(names)), wording.Count(len(list)), plural(visits, "diagnosed visit"))
	}
	return fmt.Sprintf("%s: %s of all faults on %s.", capital(strings.Join(names, ", ")), wording.Share(float64(half)/float64(all)), plural(visits, "diagnosed visit"))
}

// commonBlock draws how often each component was bad, with what the other pages know beside it.
func (s *site) commonBlock(list []common, visits int) (block, error) {
	bars := charts.Bars{Axis: charts.Axis{Name: "diagnosed visits with the component", Unit: charts.Count},
		Head: headOf("components-common", fmt.Sprintf("%s is the most common fault: %s diagnosed visits", capital(s.name(list[0].component)), wording.ShareOfN(list[0].faults, visits)))}
	minutes, course := map[string]schemas.Float{}, map[string]string{}
	for _, r := range s.Times {
		if r.Model == schemas.Any && r.ComponentB == "" {
			minutes[r.Component] = r.Median
		}
	}
	for _, r := range evidence.LastMonths(s.Trends) {
		if r.Model == schemas.Any && r.Class == schemas.Any {
			course[r.Component] = r.Direction
		}
	}
	t := layout.Table{ID: "t-common", Caption: "Components over all models", Columns: []layout.Column{{Head: "component"}, {Head: "visits with it", Num: true}, {Head: "share of diagnosed visits", Num: true}, {Head: "half are done within", Num: true}, {Head: "last 12 months"}}}
	for i, c := range list {
		v := float64(c.faults)
		if i < componentBars {
			bars.Rows = append(bars.Rows, charts.Bar{Label: capital(s.name(c.component)), Value: &v, Text: wording.ShareOfN(c.faults, visits)})
		}
		t.Rows = append(t.Rows, []layout.Cell{layout.Anchor(capital(s.name(c.component)), "#"+componentID(c.component)), layout.Count(c.faults), layout.Number(schemas.Known(v/float64(max(visits, 1))), wording.Share),
			layout.Number(minutes[c.component], wording.Minutes), layout.Text(course[c.component])})
	}
	return s.draw(bars.Chart, block{Title: "How often"}, layout.Figure{
		Caption: fmt.Sprintf("Of %s diagnosed visits; a visit can show several.", wording.Count(visits)), Table: t, Open: true, Summary: "All components"})
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
