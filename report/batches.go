package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"faultgrain/report/charts"
	"faultgrain/report/evidence"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

func (s *site) batchesPage() (any, error) {
	q := question{Told: s.tell(schemas.KindBatch), Note: "A suspected batch is a reason to look, not a recall. Set the parts aside, note the lot on each visit, and tell the supplier what you saw and how often."}
	q.Battery = slices.ContainsFunc(s.Batches, func(r schemas.Batch) bool { return r.Component == "battery" })
	q.head = head{Title: "Has something gone wrong for a group of devices", Lacks: s.lacks("batches", len(s.Batches))}
	alarms, links := splitBatches(s.Batches)
	raised := 0
	for _, r := range alarms {
		if r.P.OK && r.P.V < 0.05 {
			raised++
		}
	}
	if raised > 0 {
		q.Lead = plural(raised, "alarm") + " in the last 13 weeks: " + s.alarmed(alarms) + "."
	} else if len(s.Batches) > 0 {
		q.Lead = "No alarm in the last 13 weeks."
	}
	if s.Has("lookback") && len(s.LookBack) == 0 {
		q.Lead = strings.TrimSpace(q.Lead + " Looking back, none would have been raised in the past.")
	}
	found := evidence.Resting[schemas.Batch](s.Findings, "batches")
	spans, err := s.alarmsBlock(alarms, found)
	if err != nil {
		return nil, err
	}
	linked, err := s.linksBlock(links, found)
	if err != nil {
		return nil, err
	}
	past, err := s.lookBackBlock()
	if err != nil {
		return nil, err
	}
	q.Blocks = append(q.Blocks, spans, linked, past)
	q.Blocks = tidy(q.Blocks)
	return q, nil
}

// alarmed names what the alarms are about, the strongest first.
func (s *site) alarmed(alarms []schemas.Batch) string {
	const most = 3
	var names []string
	for _, r := range head0(alarms, most) {
		names = append(names, s.name(r.Component)+" of "+s.nodeName(r))
	}
	text := strings.Join(names, ", ")
	if len(alarms) > most {
		text += " and " + plural(len(alarms)-most, "other")
	}
	return text
}

// splitBatches parts the alarms, one row each, from the rows that name a linked attribute. A row may be both.
func splitBatches(rows []schemas.Batch) (alarms, links []schemas.Batch) {
	seen := map[[4]string]bool{}
	for _, r := range rows {
		key := [4]string{r.Component, r.Level, r.Node, r.WindowStart}
		if r.WindowStart != "" && !seen[key] {
			seen[key] = true
			alarms = append(alarms, r)
		}
		if r.Link != "" {
			links = append(links, r)
		}
	}
	slices.SortStableFunc(alarms, func(a, b schemas.Batch) int { return cmp.Compare(b.LLR.V, a.LLR.V) })
	slices.SortStableFunc(links, func(a, b schemas.Batch) int { return cmp.Compare(b.LinkLow.V, a.LinkLow.V) })
	return alarms, links
}

func (s *site) nodeName(r schemas.Batch) string {
	switch r.Level {
	case "class":
		return "all " + classPlural(r.Node)
	case "maker", "family":
		return "the " + r.Node + " " + r.Level
	}
	return r.Node
}

func (s *site) alarmsBlock(alarms []schemas.Batch, found func(schemas.Batch) (schemas.Finding, bool)) (block, error) {
	if len(alarms) == 0 {
		return block{}, nil
	}
	c := charts.Spans{To: s.AsOf}
	t := layout.Table{ID: "t-alarms", Caption: "Alarms", Columns: []layout.Column{
		{Head: "where"}, {Head: "component"}, {Head: "weeks"}, {Head: "seen of visits", Num: true}, {Head: "expected", Num: true}, {Head: "times the usual", Num: true},
		{Head: "p", Num: true, Title: "chance of so strong an alarm anywhere in the table, if nothing has changed"}, {Head: "by chance once in", Num: true}, {Head: "models"}, {Head: "grade"}}}
	for _, r := range alarms {
		f, ok := found(r)
		g := grade(f, ok)
		if g == charts.Plain {
			g = charts.Thin
			if r.P.OK && r.P.V < 0.05 {
				g = charts.Firm
			}
		}
		from, errFrom := time.Parse(time.DateOnly, r.WindowStart)
		to, errTo := time.Parse(time.DateOnly, r.WindowEnd)
		seen := fmt.Sprintf("%s, expected %s", wording.Count(r.Observed), numberWords(r.Expected))
		if errFrom == nil && errTo == nil && !to.Before(from) && len(c.Lanes) < chartRows {
			if c.To.Before(to) {
				c.To = to
			}
			c.Spans = append(c.Spans, charts.Span{Lane: len(c.Lanes), From: from, To: to, Grade: g, Text: seen, Tip: []string{"of " + plural(r.Visits, "visit")}})
			c.Lanes = append(c.Lanes, s.nodeName(r)+" · "+s.name(r.Component))
		}
		weeks := layout.Cell{Text: dayWords(r.WindowStart) + " to " + dayWords(r.WindowEnd), Sort: r.WindowStart}
		t.Rows = append(t.Rows, []layout.Cell{layout.Text(s.nodeName(r)), layout.Text(s.name(r.Component)), weeks, ofN(r.Observed, r.Visits), layout.Number(r.Expected, wording.Number),
			layout.Number(r.RelativeRisk, wording.Number), layout.Number(r.P, wording.PValue), layout.Number(r.RecurrenceDays, recurrence), layout.Text(strings.Join(evidence.List(r.Models), ", ")), graded(f, ok)})
	}
	c.From = c.To.AddDate(0, -6, 0)
	first := alarms[0]
	c.Head = headOf("batches-alarms", fmt.Sprintf("%s of %s: %s in the window, %s expected", capital(s.name(first.Component)), s.nodeName(first), wording.Count(first.Observed), numberWords(first.Expected)))
	return s.draw(c.Chart, block{Title: "Alarms"}, layout.Figure{Open: true, Table: t, CSV: s.csv("batches"),
		Caption: "Each bar is a run of weeks in which a component was seen more often than its own past year explains, after slow drift is taken out."})
}

func numberWords(v schemas.Float) string {
	if !v.OK {
		return wording.Unknown
	}
	return wording.Number(v.V)
}

// recurrence writes how rarely chance alone would raise such an alarm.
func recurrence(days float64) string {
	switch years := days / 365; {
	case years > 1000:
		return "over 1,000 years"
	case years >= 2:
		return wording.Number(round0(years)) + " years"
	}
	return wording.Days(round0(days))
}

// linkWords names the attributes a link can have.
var linkWords = map[string]string{
	"lot": "lot of the part used", "supplier": "supplier of the part used", "grade": "grade of the part used", "made_week": "week the device was made", "serial_prefix": "start of the serial number",
	"earlier_lot": "lot of the part fitted before", "earlier_supplier": "supplier of the part fitted before", "earlier_grade": "grade of the part fitted before",
}

func (s *site) linksBlock(links []schemas.Batch, found func(schemas.Batch) (schemas.Finding, bool)) (block, error) {
	if len(links) == 0 {
		return block{}, nil
	}
	one, components := 1.0, len(valuesOf(links, func(r schemas.Batch) string { return r.Component }))
	d := charts.DotWhisker{Axis: charts.Axis{Name: "times the odds of the fault with this value", Unit: charts.Ratio}, Reference: &one, RefName: "no difference"}
	t := layout.Table{ID: "t-links", Caption: "What goes with the fault", Columns: []layout.Column{
		{Head: "component"}, {Head: "attribute"}, {Head: "value"}, {Head: "faults of visits", Num: true}, {Head: "times the odds", Num: true}, {Head: "q", Num: true, Title: "corrected for everything tested"},
		{Head: "under warranty", Num: true, Title: "devices still within the shop's own warranty"}, {Head: "on the shelf", Num: true}, {Head: "grade"}}}
	for _, r := range head0(links, tableRows) {
		f, ok := found(r)
		attribute := linkWords[r.Link]
		if attribute == "" {
			attribute = r.Link
		}
		if r.LinkLow.OK && len(d.Rows) < chartRows {
			row := charts.Row{Label: attribute + " " + r.LinkValue, Est: ptr(r.LinkOdds), Low: ptr(r.LinkLow), High: upper(r.LinkHigh), Text: wording.OfN(r.LinkCases, r.LinkVisits), Grade: grade(f, ok)}
			if components > 1 {
				row.Label = capital(s.name(r.Component)) + " · " + row.Label
			}
			d.Rows = append(d.Rows, row)
		}
		t.Rows = append(t.Rows, []layout.Cell{s.componentCell(r.Component), layout.Text(attribute), layout.Text(r.LinkValue), ofN(r.LinkCases, r.LinkVisits), ratioCell(r.LinkOdds, r.LinkLow, r.LinkHigh),
			layout.Number(r.LinkQ, wording.PValue), layout.Number(r.UnderWarranty, wording.Number), layout.Number(r.OnShelf, wording.Number), graded(f, ok)})
	}
	title := "No attribute clearly goes with a fault"
	if r := links[0]; r.LinkLow.OK && r.LinkLow.V > 1 {
		title = fmt.Sprintf("%s goes with %s %s: %s of %s", capital(s.name(r.Component)), linkShort(r.Link), r.LinkValue, wording.Count(r.LinkCases), plural(r.LinkVisits, "visit"))
	}
	d.Head = headOf("batches-links", title)
	return s.draw(d.Chart, block{Title: "What goes with it"}, layout.Figure{Open: true, Table: t,
		Caption: "Compared within each model and put together. Beside each: faults of visits with this value. A line without a dot: no visit without the value showed the fault, and only the low end is known."})
}

func linkShort(link string) string {
	return strings.ReplaceAll(strings.TrimPrefix(link, "earlier_"), "_", " ")
}
