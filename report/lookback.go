package report

import (
	"fmt"
	"strings"
	"time"

	"faultgrain/report/charts"
	"faultgrain/report/evidence"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// lookBackBlock shows the alarms that would have been raised in the past, where analysis was asked to look back.
func (s *site) lookBackBlock() (block, error) {
	if len(s.LookBack) == 0 {
		return block{}, nil
	}
	c := charts.Spans{To: s.AsOf}
	t := layout.Table{ID: "t-lookback", Caption: "Alarms that would have been raised", Columns: []layout.Column{
		{Head: "raised on"}, {Head: "component"}, {Head: "where"}, {Head: "last raised"}, {Head: "seen of visits", Num: true}, {Head: "expected", Num: true}, {Head: "times the usual", Num: true}, {Head: "p", Num: true},
		{Head: "weeks before the peak", Num: true, Title: "negative when the week with most faults came first"}, {Head: "models"}}}
	for _, r := range head0(s.LookBack, tableRows) {
		node := s.nodeName(schemas.Batch{Level: r.Level, Node: r.Node})
		from, errFrom := time.Parse(time.DateOnly, r.WindowStart)
		to, errTo := time.Parse(time.DateOnly, r.LastRaised)
		if errFrom == nil && errTo == nil && !to.Before(from) && len(c.Lanes) < chartRows {
			if c.From.IsZero() || from.Before(c.From) {
				c.From = from
			}
			if c.To.Before(to) {
				c.To = to
			}
			c.Spans = append(c.Spans, charts.Span{Lane: len(c.Lanes), From: from, To: to, Grade: charts.Firm, Text: fmt.Sprintf("%s, expected %s", wording.Count(r.Observed), numberWords(r.Expected)), Tip: []string{"first raised on " + dayWords(r.Raised)}})
			c.Lanes = append(c.Lanes, node+" · "+s.name(r.Component))
		}
		t.Rows = append(t.Rows, []layout.Cell{{Text: dayWords(r.Raised), Sort: r.Raised}, layout.Text(s.name(r.Component)), layout.Text(node), {Text: dayWords(r.LastRaised), Sort: r.LastRaised}, ofN(r.Observed, r.Visits), layout.Number(r.Expected, wording.Number),
			layout.Number(r.RelativeRisk, wording.Number), layout.Number(r.P, wording.PValue), layout.Count(r.WeeksBeforePeak), layout.Text(strings.Join(evidence.List(r.Models), ", "))})
	}
	c.Head = headOf("batches-lookback", fmt.Sprintf("Looking back, %s", verb(len(s.LookBack), "alarm would have been raised", "alarms would have been raised")))
	return s.draw(c.Chart, block{Title: "Looking back"}, layout.Figure{Open: true, Table: t, CSV: s.csv("lookback"),
		Caption: "Each bar runs from the first day of the window to the day the alarm would last have been raised, seeing only what the log said by then." + s.byChance()})
}

// byChance says how many alarms looking back so often brings about where nothing happened.
func (s *site) byChance() string {
	for _, q := range s.Quality {
		if q.Topic == "looked-back" {
			return fmt.Sprintf(" Who looks back over many weeks finds some that chance raised: %s %s.", wording.Count(q.Count), q.Note)
		}
	}
	return ""
}
