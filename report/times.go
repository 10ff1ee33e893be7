package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"faultgrain/report/charts"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

func (s *site) timesPage() (any, error) {
	q := question{Told: s.tell(schemas.KindTime), Note: "Bench minutes are hands-on time of jobs with that fault alone. Turnaround is elapsed time from opened to ready; jobs still open are counted as not yet ready, because leaving them out makes the shop look faster than it is."}
	q.head = head{Title: "How long it takes", Lacks: s.lacks("times", len(s.Times))}
	if len(s.Times) == 0 {
		return q, nil
	}
	var over, pairs, each []schemas.Time // over all models; pairs; per model
	for _, r := range s.Times {
		switch {
		case r.ComponentB != "":
			pairs = append(pairs, r)
		case r.Model == schemas.Any:
			over = append(over, r)
		default:
			each = append(each, r)
		}
	}
	slices.SortStableFunc(over, func(a, b schemas.Time) int { return cmp.Compare(b.Median.V, a.Median.V) })
	slices.SortStableFunc(each, func(a, b schemas.Time) int { return cmp.Compare(b.Jobs, a.Jobs) })
	slices.SortStableFunc(pairs, func(a, b schemas.Time) int { return cmp.Compare(b.SavesLow.V, a.SavesLow.V) })
	q.Lead = s.timesLead(over)
	for _, part := range []func() (block, error){
		func() (block, error) { return s.minutesBlock(over) },
		func() (block, error) { return s.savesBlock(pairs) },
		func() (block, error) { return s.turnaroundBlock(over) },
		func() (block, error) { return s.timesBlock(each), nil },
	} {
		b, err := part()
		if err != nil {
			return nil, err
		}
		q.Blocks = append(q.Blocks, b)
	}
	q.Blocks = tidy(q.Blocks)
	return q, nil
}

func (s *site) timesLead(over []schemas.Time) string {
	jobs := 0
	for _, r := range over {
		jobs += r.Jobs
	}
	timed := slices.DeleteFunc(slices.Clone(over), func(r schemas.Time) bool { return !r.Median.OK || r.Jobs < 5 })
	if len(timed) < 2 {
		return ""
	}
	longest, shortest := timed[0], timed[len(timed)-1]
	return fmt.Sprintf("From %s with bench minutes: %s takes longest (half are done within %s), %s shortest (%s).",
		plural(jobs, "job"), article(s.name(longest.Component)), wording.Minutes(longest.Median.V), article(s.name(shortest.Component)), wording.Minutes(shortest.Median.V))
}

func article(noun string) string { return "the " + noun }

func (s *site) minutesBlock(over []schemas.Time) (block, error) {
	c := charts.Quantiles{Axis: charts.Axis{Name: "bench minutes", Unit: charts.Minutes}}
	t := layout.Table{ID: "t-minutes", Caption: "Bench minutes by component, jobs with that fault alone", Columns: []layout.Column{
		{Head: "component"}, {Head: "jobs", Num: true}, {Head: "median", Num: true}, {Head: "nine of ten within", Num: true}, {Head: "mean", Num: true, Title: "mean of a lognormal, with its 95% interval"},
		{Head: "spread", Num: true, Title: "geometric standard deviation: two thirds lie within this factor of the median"}}}
	for _, r := range over {
		if !r.Median.OK && !r.MTTR.OK {
			continue
		}
		if len(c.Rows) < chartRows {
			c.Rows = append(c.Rows, charts.Spread{Label: capital(s.name(r.Component)), Median: ptr(r.Median), P90: ptr(r.P90), Mean: ptr(r.MTTR), MeanLow: ptr(r.MTTRLow), MeanHigh: ptr(r.MTTRHigh),
				Text: fmt.Sprintf("%s (%s)", minutesWords(r.Median), plural(r.Jobs, "job"))})
		}
		t.Rows = append(t.Rows, []layout.Cell{s.componentCell(r.Component), layout.Count(r.Jobs), layout.Number(r.Median, wording.Minutes), layout.Number(r.P90, wording.Minutes),
			layout.Range(r.MTTR, r.MTTRLow, r.MTTRHigh, wording.Minutes, wording.MinutesRange), layout.Number(r.GSD, wording.Number)})
	}
	title := "Bench minutes by component"
	if len(c.Rows) > 0 {
		title = fmt.Sprintf("%s takes longest at the bench: half the jobs within %s", c.Rows[0].Label, minutesWords(knownPtr(c.Rows[0].Median)))
	}
	c.Head = headOf("times-minutes", title)
	return s.draw(c.Chart, block{Title: "At the bench"}, layout.Figure{Caption: "Over all models. The scale grows by doubling.", Table: t, CSV: s.csv("times")})
}

func minutesWords(v schemas.Float) string {
	if !v.OK {
		return wording.Unknown
	}
	return wording.Minutes(v.V)
}

func knownPtr(v *float64) schemas.Float {
	if v == nil {
		return schemas.Float{}
	}
	return schemas.Known(*v)
}

// The chart of pairs done in one opening shows so many, each done often enough for its line to say something.
const (
	savesRows = 12
	savesJobs = 5
)

func (s *site) savesBlock(pairs []schemas.Time) (block, error) {
	zero := 0.0
	d := charts.DotWhisker{Axis: charts.Axis{Name: "bench minutes saved when both are done in one opening", Unit: charts.Number}, Reference: &zero, RefName: "nothing saved"}
	t := layout.Table{ID: "t-saves", Caption: "Pairs done in one opening", Columns: []layout.Column{
		{Head: "pair"}, {Head: "on"}, {Head: "jobs", Num: true}, {Head: "mean", Num: true}, {Head: "saved", Num: true, Title: "against doing the two apart, with its 95% interval"}}}
	for _, r := range pairs {
		if !r.TogetherSaves.OK {
			continue
		}
		if len(d.Rows) < savesRows && r.Jobs >= savesJobs {
			d.Rows = append(d.Rows, charts.Row{Label: s.pairName(r.Component, r.ComponentB) + " · " + scopeName(r.Model), Est: ptr(r.TogetherSaves), Low: ptr(r.SavesLow), High: ptr(r.SavesHigh),
				Text: fmt.Sprintf("%s min (%s)", wording.Number(round0(r.TogetherSaves.V)), plural(r.Jobs, "job"))})
		}
		if len(t.Rows) < tableRows {
			t.Rows = append(t.Rows, []layout.Cell{layout.Text(s.pairName(r.Component, r.ComponentB)), layout.Text(scopeName(r.Model)), layout.Count(r.Jobs), layout.Number(r.MTTR, wording.Minutes),
				layout.Range(r.TogetherSaves, r.SavesLow, r.SavesHigh, signedMinutes, func(a, b float64) string { return signedMinutes(a) + " to " + signedMinutes(b) })})
		}
	}
	title := "No pair clearly saves time in one opening"
	if len(d.Rows) > 0 && d.Rows[0].Low != nil && *d.Rows[0].Low > 0 {
		label, _, _ := strings.Cut(d.Rows[0].Label, " · ")
		title = fmt.Sprintf("%s: both in one opening saves %s", label, wording.Minutes(*d.Rows[0].Est))
	}
	d.Head = headOf("times-saves", title)
	return s.draw(d.Chart, block{Title: "Together or apart"}, layout.Figure{Caption: "Pairs done together five times or more. Where the line crosses the dashed one, doing both at once may save nothing.", Table: t})
}

// signedMinutes writes minutes that may be lost as well as saved.
func signedMinutes(v float64) string { return wording.Number(round0(v)) + " min" }

func (s *site) turnaroundBlock(over []schemas.Time) (block, error) {
	d := charts.DotWhisker{Axis: charts.Axis{Name: "days from opened to ready, half of the jobs", Unit: charts.Number}}
	t := layout.Table{ID: "t-turnaround", Caption: "Turnaround by component", Columns: []layout.Column{{Head: "component"}, {Head: "finished", Num: true}, {Head: "still open", Num: true}, {Head: "half are ready within", Num: true}}}
	rows := slices.Clone(over)
	slices.SortStableFunc(rows, func(a, b schemas.Time) int { return cmp.Compare(b.TurnaroundMedianHours.V, a.TurnaroundMedianHours.V) })
	days := func(h schemas.Float) *float64 {
		if !h.OK {
			return nil
		}
		v := h.V / 24
		return &v
	}
	for _, r := range rows {
		if !r.TurnaroundMedianHours.OK {
			continue
		}
		if len(d.Rows) < chartRows {
			d.Rows = append(d.Rows, charts.Row{Label: capital(s.name(r.Component)), Est: days(r.TurnaroundMedianHours), Low: days(r.TurnaroundLow), High: days(r.TurnaroundHigh),
				Text: fmt.Sprintf("%s (%s)", wording.Hours(r.TurnaroundMedianHours.V), plural(r.TurnaroundJobs+r.TurnaroundOpen, "job"))})
		}
		t.Rows = append(t.Rows, []layout.Cell{s.componentCell(r.Component), layout.Count(r.TurnaroundJobs), layout.Count(r.TurnaroundOpen),
			layout.Range(r.TurnaroundMedianHours, r.TurnaroundLow, r.TurnaroundHigh, wording.Hours, func(a, b float64) string { return wording.Hours(a) + " to " + wording.Hours(b) })})
	}
	title := "Turnaround by component"
	if len(d.Rows) > 0 {
		first, last := d.Rows[len(d.Rows)-1], d.Rows[0]
		title = fmt.Sprintf("Half of the jobs are ready within %s (%s) to %s (%s)", wording.Hours(*first.Est*24), first.Label, wording.Hours(*last.Est*24), last.Label)
	}
	d.Head = headOf("times-turnaround", title)
	return s.draw(d.Chart, block{Title: "From opened to ready"}, layout.Figure{Caption: "Elapsed time, nights and closing days included; jobs still open count as not yet ready.", Table: t})
}

func (s *site) timesBlock(each []schemas.Time) block {
	t := layout.Table{ID: "t-times", Caption: "Bench minutes and turnaround by model", Filter: true, Columns: []layout.Column{
		{Head: "model"}, {Head: "component"}, {Head: "jobs", Num: true}, {Head: "median", Num: true}, {Head: "nine of ten within", Num: true}, {Head: "mean", Num: true}, {Head: "half are ready within", Num: true}}}
	rows := slices.DeleteFunc(slices.Clone(each), func(r schemas.Time) bool { return !r.Median.OK && !r.TurnaroundMedianHours.OK })
	for _, r := range head0(rows, tableRows) {
		t.Rows = append(t.Rows, []layout.Cell{layout.Anchor(r.Model, s.sheet(r.Model)), layout.Text(s.name(r.Component)), layout.Count(r.Jobs), layout.Number(r.Median, wording.Minutes), layout.Number(r.P90, wording.Minutes),
			layout.Range(r.MTTR, r.MTTRLow, r.MTTRHigh, wording.Minutes, wording.MinutesRange), layout.Number(r.TurnaroundMedianHours, wording.Hours)})
	}
	if len(t.Rows) == 0 {
		return block{}
	}
	return block{Title: "Every model", Table: &t, CSV: s.csv("times"), Cut: s.cut(len(t.Rows), len(rows), "with the most jobs")}
}
