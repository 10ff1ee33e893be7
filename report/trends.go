package report

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"faultgrain/report/charts"
	"faultgrain/report/evidence"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// trendCharts bounds how many series a page draws.
const trendCharts = 6

// A series is one line of the trends: its months in order.
type series []schemas.Trend

func (v series) last() schemas.Trend { return v[len(v)-1] }

// allSeries groups the rows by class, model and component, months rising.
func allSeries(rows []schemas.Trend) []series {
	at := map[[3]string]int{}
	var list []series
	for _, r := range rows {
		key := [3]string{r.Class, r.Model, r.Component}
		i, ok := at[key]
		if !ok {
			i = len(list)
			at[key] = i
			list = append(list, nil)
		}
		list[i] = append(list[i], r)
	}
	for _, v := range list {
		slices.SortStableFunc(v, func(a, b schemas.Trend) int { return cmp.Compare(a.Month, b.Month) })
	}
	return list
}

// scope names whose visits a trend is of.
func (v series) scope() string {
	r := v[0]
	switch {
	case r.Model != schemas.Any && r.Model != "":
		return r.Model
	case r.Class != schemas.Any && r.Class != "":
		return classPlural(r.Class)
	}
	return "all devices"
}

// classPlural writes "phones" for phone.
func classPlural(class string) string {
	switch {
	case class == "audio":
		return "audio devices"
	case len(class) > 1 && (class[len(class)-1] == 'h' || class[len(class)-1] == 'x'):
		return class + "es"
	case len(class) > 0 && class[len(class)-1] == 's':
		return class
	}
	return class + "s"
}

func (s *site) trendsPage() (any, error) {
	q := question{Told: s.tell(schemas.KindTrend), Note: "A share can rise because a component fails more often, or because the others fail less. The limits are those that chance alone keeps to when nothing changes."}
	q.head = head{Title: "What is getting worse, or better", Lacks: s.lacks("trends", len(s.Trends))}
	if len(s.Trends) == 0 {
		return q, nil
	}
	list := allSeries(s.Trends)
	found := evidence.Resting[schemas.Trend](s.Findings, "trends")
	slices.SortStableFunc(list, func(a, b series) int { return s.byMovement(a, b, found) })
	var rising, falling int
	for _, v := range list {
		if v.scope() != "all devices" {
			continue
		}
		switch v.last().Direction {
		case "rising":
			rising++
		case "falling":
			falling++
		}
	}
	q.Lead = trendsLead(rising, falling)
	for i, v := range head0(list, trendCharts) {
		b, err := s.trendBlock(v, fmt.Sprintf("trend-%d", i+1))
		if err != nil {
			return nil, err
		}
		if i == 0 {
			b.Title = "Month by month"
		}
		q.Blocks = append(q.Blocks, b)
	}
	q.Blocks = append(q.Blocks, s.trendsBlock(list, found))
	q.Blocks = tidy(q.Blocks)
	return q, nil
}

// trendsLead says how many components rise and fall over all devices.
func trendsLead(rising, falling int) string {
	up, down := verb(rising, "component rises", "components rise"), verb(falling, "component falls", "components fall")
	switch {
	case rising > 0 && falling > 0:
		return fmt.Sprintf("Over all devices, %s and %s over the last 12 months.", up, down)
	case rising > 0:
		return fmt.Sprintf("Over all devices, %s over the last 12 months and none falls.", up)
	case falling > 0:
		return fmt.Sprintf("Over all devices, %s over the last 12 months and none rises.", down)
	}
	return "Over all devices, no component clearly rises or falls over the last 12 months."
}

// byMovement puts series with a finding first, then those that move, then the wider scope, then the
// more frequent.
func (s *site) byMovement(a, b series, found func(schemas.Trend) (schemas.Finding, bool)) int {
	rank := func(v series) int {
		f, ok := anyFound(v, found)
		place := 0
		if ok {
			place = map[string]int{schemas.Firm: -6, schemas.Leaning: -4, schemas.Thin: -2}[f.Grade]
		}
		if d := v.last().Direction; d == "rising" || d == "falling" {
			place--
		}
		return place
	}
	width := func(v series) int {
		switch {
		case v[0].Model != schemas.Any:
			return 2
		case v[0].Class != schemas.Any:
			return 1
		}
		return 0
	}
	total := func(v series) (n int) {
		for _, r := range v {
			n += r.Faults
		}
		return n
	}
	return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(width(a), width(b)), cmp.Compare(total(b), total(a)),
		cmp.Compare(a[0].Component, b[0].Component), cmp.Compare(a[0].Class, b[0].Class), cmp.Compare(a[0].Model, b[0].Model))
}

// anyFound is the finding that rests on some month of the series.
func anyFound(v series, found func(schemas.Trend) (schemas.Finding, bool)) (schemas.Finding, bool) {
	for i := len(v) - 1; i >= 0; i-- {
		if f, ok := found(v[i]); ok {
			return f, true
		}
	}
	return schemas.Finding{}, false
}

func (s *site) trendBlock(v series, id string) (block, error) {
	last, name := v.last(), capital(s.name(v[0].Component))
	words := map[string]string{"rising": "rising over the last 12 months", "falling": "falling over the last 12 months"}[last.Direction]
	if words == "" {
		words = "steady"
	}
	b := charts.Band{Head: headOf(id, fmt.Sprintf("%s of %s: %s, %s of visits in %s", name, v.scope(), words, shareWords(last.Share), wording.Month(last.Month))),
		Axis: charts.Axis{Name: "share of diagnosed visits", Unit: charts.Share}}
	trace := charts.Trace{Name: name}
	limits := charts.Limits{}
	t := layout.Table{Caption: name + " of " + v.scope() + ", by month", Columns: []layout.Column{
		{Head: "month"}, {Head: "share", Num: true}, {Head: "faults of visits", Num: true}, {Head: "limits", Num: true}, {Head: "outside"}}}
	for _, r := range v {
		outside := r.Share.OK && (r.UpperLimit.OK && r.Share.V > r.UpperLimit.V || r.LowerLimit.OK && r.Share.V < r.LowerLimit.V)
		b.Months = append(b.Months, monthWords(r.Month))
		trace.Y, trace.Low, trace.High = append(trace.Y, ptr(r.Share)), append(trace.Low, ptr(r.Low)), append(trace.High, ptr(r.High))
		trace.Text, trace.Flag = append(trace.Text, wording.ShareOfN(r.Faults, r.Visits)), append(trace.Flag, outside)
		limits.Centre, limits.Lower, limits.Upper = append(limits.Centre, ptr(r.Centre)), append(limits.Lower, ptr(r.LowerLimit)), append(limits.Upper, ptr(r.UpperLimit))
		mark := ""
		if outside {
			mark = "outside"
		}
		month := layout.Text(wording.Month(r.Month))
		month.Sort = r.Month
		limitsCell := layout.Number(r.LowerLimit, wording.Share)
		if r.LowerLimit.OK && r.UpperLimit.OK {
			limitsCell.Text = wording.ShareRange(r.LowerLimit.V, r.UpperLimit.V)
		}
		t.Rows = append(t.Rows, []layout.Cell{month, layout.Range(r.Share, r.Low, r.High, wording.Share, wording.ShareRange), ofN(r.Faults, r.Visits), limitsCell, layout.Text(mark)})
	}
	b.Traces = []charts.Trace{trace}
	if slices.ContainsFunc(limits.Centre, func(c *float64) bool { return c != nil }) {
		b.Limits = &limits
	}
	return s.draw(b.Chart, block{}, layout.Figure{Table: t})
}

func shareWords(v schemas.Float) string {
	if !v.OK {
		return wording.Unknown
	}
	return wording.Share(v.V)
}

// monthWords writes 2026-05 as "May 2026", short enough for an axis.
func monthWords(key string) string {
	t, err := time.Parse("2006-01", key)
	if err != nil {
		return key
	}
	return t.Format("Jan 2006")
}

func (s *site) trendsBlock(list []series, found func(schemas.Trend) (schemas.Finding, bool)) block {
	t := layout.Table{ID: "t-trends", Caption: "The last month of every series", Filter: true, Columns: []layout.Column{
		{Head: "component"}, {Head: "of"}, {Head: "share last month", Num: true}, {Head: "faults of visits", Num: true}, {Head: "usual", Num: true, Title: "centre line of the control chart"},
		{Head: "12 months"}, {Head: "p of the slope", Num: true}, {Head: "q", Num: true, Title: "corrected for looking at many series"}, {Head: "grade"}}}
	for _, v := range head0(list, tableRows) {
		r := v.last()
		f, ok := anyFound(v, found)
		of := layout.Text(v.scope())
		if href := s.sheet(r.Model); href != "" {
			of = layout.Anchor(r.Model, href)
		}
		t.Rows = append(t.Rows, []layout.Cell{s.componentCell(r.Component), of, layout.Range(r.Share, r.Low, r.High, wording.Share, wording.ShareRange), ofN(r.Faults, r.Visits),
			layout.Number(r.Centre, wording.Share), layout.Text(r.Direction), layout.Number(r.SlopeP, wording.PValue), layout.Number(r.Q, wording.PValue), graded(f, ok)})
	}
	return block{Title: "Every series", Table: &t, CSV: s.csv("trends"), Cut: s.cut(len(t.Rows), len(list), "that move most")}
}
