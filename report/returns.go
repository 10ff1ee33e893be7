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

// returnCharts bounds how many groups of curves the page draws; readingDays are where they are read.
const returnCharts = 3

var readingDays = []float64{30, 90, 180}

// leastDrawn is how many repairs a value must have to be drawn, unless a finding rests on it.
const leastDrawn = 20

// A group is the values of one attribute for one component: the grades of displays.
type group struct {
	component, by string
	rows          []schemas.Return
	place         int // of its strongest finding; beyond all of them when it has none
}

func (s *site) returnsPage() (any, error) {
	q := question{Told: s.tell(schemas.KindReturn), Note: "A return is the same device back for the same component; another component is none. Devices without a serial can't be followed and are left out. A device that never came back counts as not back up to the last day of the log."}
	q.head = head{Title: "Which part comes back", Lacks: s.lacks("returns", len(s.Returns))}
	if len(s.Returns) == 0 {
		return q, nil
	}
	switch firm := countGrade(q.Told, schemas.Firm); {
	case firm > 0:
		q.Lead = fmt.Sprintf("%s back firmly more often than the others.", verb(firm, "grade, supplier or lot comes", "grades, suppliers or lots come"))
	case len(q.Told) > 0:
		q.Lead = "Some parts may come back more often than others; none is firm yet."
	default:
		q.Lead = "No grade, supplier or lot comes back clearly more often than the others."
	}
	found := evidence.Resting[schemas.Return](s.Findings, "returns")
	groups := s.returnGroups(found)
	for i, g := range head0(groups, returnCharts) {
		b, err := s.curvesBlock(g, fmt.Sprintf("returns-%d", i+1), found)
		if err != nil {
			return nil, err
		}
		if i == 0 {
			b.Title = "Day by day"
		}
		q.Blocks = append(q.Blocks, b)
	}
	ratios, err := s.returnRatios(found)
	if err != nil {
		return nil, err
	}
	q.Blocks = append(q.Blocks, ratios, s.returnsBlock(groups, found))
	q.Blocks = tidy(q.Blocks)
	return q, nil
}

// returnGroups are the groups with a curve worth drawing: those with a finding first, then the largest.
func (s *site) returnGroups(found func(schemas.Return) (schemas.Finding, bool)) []group {
	at := map[[2]string]int{}
	var list []group
	for _, r := range s.Returns {
		key := [2]string{r.Component, r.By}
		i, ok := at[key]
		if !ok {
			i = len(list)
			at[key] = i
			list = append(list, group{component: r.Component, by: r.By, place: len(s.Findings)})
		}
		list[i].rows = append(list[i].rows, r)
		if f, ok := found(r); ok {
			list[i].place = min(list[i].place, slices.IndexFunc(s.Findings, func(o schemas.Finding) bool { return o.ID == f.ID }))
		}
	}
	repairs := func(g group) (n int) {
		for _, r := range g.rows {
			n += r.Repairs
		}
		return n
	}
	for _, g := range list {
		slices.SortStableFunc(g.rows, func(a, b schemas.Return) int {
			_, fa := found(a)
			_, fb := found(b)
			first := func(ok bool) int {
				if ok {
					return 0
				}
				return 1
			}
			return cmp.Or(cmp.Compare(first(fa), first(fb)), cmp.Compare(b.Repairs, a.Repairs))
		})
	}
	slices.SortStableFunc(list, func(a, b group) int {
		return cmp.Or(cmp.Compare(a.place, b.place), cmp.Compare(byOrder(a.by), byOrder(b.by)), cmp.Compare(repairs(b), repairs(a)), cmp.Compare(a.component, b.component))
	})
	return list
}

// byOrder prefers grades to suppliers to lots where nothing else decides.
func byOrder(by string) int { return slices.Index([]string{"lot", "supplier", "grade"}, by) * -1 }

func (s *site) curvesBlock(g group, id string, found func(schemas.Return) (schemas.Finding, bool)) (block, error) {
	v := charts.Survival{Horizon: 180, Ticks: []float64{0, 30, 60, 90, 120, 150, 180}}
	t := layout.Table{Caption: fmt.Sprintf("Returns of %s by %s", s.name(g.component), g.by), Columns: []layout.Column{
		{Head: g.by}, {Head: "repairs", Num: true}, {Head: "came back", Num: true, Title: "within the warranty days"},
		{Head: "by day 30", Num: true}, {Head: "by day 90", Num: true}, {Head: "by day 180", Num: true}, {Head: "watched on day 30, 90, 180", Title: "repairs still followed up on those days"}, {Head: "times the others", Num: true}}}
	drawn := 0
	for _, r := range g.rows {
		points := s.curvePoints(r)
		_, told := found(r)
		if len(points) > 0 && len(v.Curves) < charts.MaxSeries && (told || r.Repairs >= leastDrawn || len(g.rows) <= charts.MaxSeries) {
			v.Curves, drawn = append(v.Curves, curveOf(r, points)), len(t.Rows)+1
		}
		t.Rows = append(t.Rows, append(append([]layout.Cell{layout.Text(r.Value)}, returnCells(r)...), watchedCell(points), ratioCell(r.Ratio, r.RatioLow, r.RatioHigh)))
	}
	title := fmt.Sprintf("%s by %s: nothing stands out", capital(s.name(g.component)), g.by)
	if r := g.rows[0]; r.RatioLow.OK && r.RatioLow.V > 1 && r.Ratio.OK {
		title = fmt.Sprintf("%s, %s: comes back %s as often as the others", capital(s.name(g.component)), r.Value, wording.Times(r.Ratio.V))
	}
	v.Head = headOf(id, title)
	left := ""
	if len(g.rows) > len(v.Curves) && len(v.Curves) > 0 {
		left = fmt.Sprintf(" Drawn: %d of %s, those with a finding or %d repairs.", len(v.Curves), wording.Count(len(g.rows)), leastDrawn)
	}
	t.Rows = head0(t.Rows, max(drawn, charts.MaxSeries))
	return s.draw(v.Chart, block{}, layout.Figure{Table: t, Open: true, Caption: "Share of repairs whose device came back for the same component, by day since it was ready." + left})
}

func (s *site) curvePoints(r schemas.Return) []evidence.CurvePoint {
	return s.curves[[3]string{r.Component, r.By, r.Value}]
}

// curveOf is a group's curve with its readings.
func curveOf(r schemas.Return, points []evidence.CurvePoint) charts.Curve {
	c := charts.Curve{Name: r.Value}
	for _, p := range points {
		c.Days, c.Share = append(c.Days, p.Day.V), append(c.Share, ptr(p.Back))
		c.Low, c.High = append(c.Low, ptr(p.Low)), append(c.High, ptr(p.High))
	}
	for _, day := range readingDays {
		est, low, high := backAt(r, day)
		n, ok := atRisk(points, day)
		if ok {
			c.At = append(c.At, charts.Reading{Day: day, Est: ptr(est), Low: ptr(low), High: ptr(high), AtRisk: n})
		}
	}
	return c
}

func backAt(r schemas.Return, day float64) (est, low, high schemas.Float) {
	switch day {
	case 30:
		return r.Back30, r.Back30Low, r.Back30High
	case 90:
		return r.Back90, r.Back90Low, r.Back90High
	}
	return r.Back180, r.Back180Low, r.Back180Hi
}

// atRisk is how many repairs are still watched on a day: those at the next step from it on, or at the last one.
func atRisk(points []evidence.CurvePoint, day float64) (int, bool) {
	for _, p := range points {
		if p.Day.V >= day && p.AtRisk.OK {
			return int(p.AtRisk.V), true
		}
	}
	return 0, false
}

// watchedCell says how many repairs are still followed up on the reading days.
func watchedCell(points []evidence.CurvePoint) layout.Cell {
	var words []string
	for _, day := range readingDays {
		n, ok := atRisk(points, day)
		switch last := len(points) - 1; {
		case ok:
			words = append(words, wording.Count(n))
		case last >= 0 && points[last].AtRisk.OK: // fewer with every day
			words = append(words, "under "+wording.Count(int(points[last].AtRisk.V)+1))
		}
	}
	return layout.Text(cmp.Or(strings.Join(words, ", "), wording.Unknown))
}

// returnCells are a row's counts and shares.
func returnCells(r schemas.Return) []layout.Cell {
	cells := []layout.Cell{layout.Count(r.Repairs), layout.Count(r.Returns)}
	for _, day := range readingDays {
		est, low, high := backAt(r, day)
		cells = append(cells, layout.Range(est, low, high, wording.Share, wording.ShareRange))
	}
	return cells
}

// returnRows is how many ratios are drawn; those with a finding are drawn beyond it, too.
const returnRows = 14

func (s *site) returnRatios(found func(schemas.Return) (schemas.Finding, bool)) (block, error) {
	one := 1.0
	d := charts.DotWhisker{Axis: charts.Axis{Name: "times as often back as the others of its kind", Unit: charts.Ratio}, Reference: &one, RefName: "as often as the others"}
	rows := slices.DeleteFunc(slices.Clone(s.Returns), func(r schemas.Return) bool { return !r.Ratio.OK || !r.RatioLow.OK || r.Returns == 0 })
	slices.SortStableFunc(rows, func(a, b schemas.Return) int {
		return cmp.Or(cmp.Compare(b.RatioLow.V, a.RatioLow.V), cmp.Compare(b.Repairs, a.Repairs))
	})
	for i, r := range rows {
		f, ok := found(r)
		if !ok && i >= returnRows || len(d.Rows) == chartRows {
			continue
		}
		d.Rows = append(d.Rows, charts.Row{Label: capital(s.name(r.Component)) + " · " + r.By + " " + r.Value, Est: ptr(r.Ratio), Low: ptr(r.RatioLow), High: upper(r.RatioHigh),
			Text: wording.OfN(r.Returns, r.Repairs) + " back", Grade: grade(f, ok)})
	}
	title := "None clearly comes back more often than the others of its kind"
	if len(rows) > 0 && rows[0].RatioLow.V > 1 {
		above := 0
		for _, r := range rows {
			if r.RatioLow.V > 1 {
				above++
			}
		}
		title = fmt.Sprintf("%s, %s %s, comes back most: %s as often as the others", capital(s.name(rows[0].Component)), rows[0].By, rows[0].Value, wording.Times(rows[0].Ratio.V))
		if above > 1 {
			title += fmt.Sprintf("; %s above them", verb(above-1, "other is", "others are"))
		}
	}
	d.Head = headOf("returns-ratio", title)
	return s.draw(d.Chart, block{Title: "Against the others"}, layout.Figure{Caption: "Ranked by the low end of the interval; models with different parts are compared within themselves."})
}

func (s *site) returnsBlock(groups []group, found func(schemas.Return) (schemas.Finding, bool)) block {
	t := layout.Table{ID: "t-returns", Caption: "Returns by grade, supplier and lot", Filter: true, Columns: []layout.Column{
		{Head: "component"}, {Head: "by"}, {Head: "value"}, {Head: "repairs", Num: true}, {Head: "came back", Num: true}, {Head: "by day 30", Num: true}, {Head: "by day 90", Num: true}, {Head: "by day 180", Num: true},
		{Head: "times the others", Num: true}, {Head: "q", Num: true}, {Head: "grade"}}}
	all := 0
	for _, g := range groups {
		for _, r := range g.rows {
			if all++; len(t.Rows) == tableRows {
				continue
			}
			f, ok := found(r)
			line := append([]layout.Cell{s.componentCell(r.Component), layout.Text(r.By), layout.Text(r.Value)}, returnCells(r)...)
			t.Rows = append(t.Rows, append(line, ratioCell(r.Ratio, r.RatioLow, r.RatioHigh), layout.Number(r.Q, wording.PValue), graded(f, ok)))
		}
	}
	return block{Title: "Every grade, supplier and lot", Table: &t, CSV: s.csv("returns"), Cut: s.cut(len(t.Rows), all, "that matter most")}
}
