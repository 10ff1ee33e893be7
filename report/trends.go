package report

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"faultgrain/report/charts"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// trendCharts bounds how many series a page draws, leastCharts how many it draws when few or none stand out.
const (
	trendCharts = 6
	leastCharts = 3
)

// A series is one line of the trends: its months in order.
type series struct {
	months  []schemas.Trend
	finding schemas.Finding // that rests on it
	found   bool
	place   int // of the finding, the strongest first; beyond them all when there is none
	faults  int
}

func (v series) last() schemas.Trend { return v.months[len(v.months)-1] }

// allSeries groups the rows by class, model and component, months rising.
func (s *site) allSeries() []series {
	at := map[[3]string]int{}
	var list []series
	for _, r := range s.Trends {
		key := [3]string{r.Class, r.Model, r.Component}
		i, ok := at[key]
		if !ok {
			i = len(list)
			at[key] = i
			list = append(list, series{place: len(s.Findings)})
		}
		list[i].months = append(list[i].months, r)
		list[i].faults += r.Faults
	}
	for place, f := range s.Findings {
		if f.Row.Table != "trends" {
			continue
		}
		i, ok := at[[3]string{f.Row.Key["class"], f.Row.Key["model"], f.Row.Key["component"]}]
		if ok && !list[i].found {
			list[i].finding, list[i].found, list[i].place = f, true, place
		}
	}
	for _, v := range list {
		slices.SortStableFunc(v.months, func(a, b schemas.Trend) int { return cmp.Compare(a.Month, b.Month) })
	}
	slices.SortStableFunc(list, byMovement)
	return list
}

// byMovement puts series with a finding first, then those that move, then the wider scope, then the more frequent.
func byMovement(a, b series) int {
	still := func(v series) int {
		if v.moves() {
			return 0
		}
		return 1
	}
	width := func(v series) int {
		switch {
		case v.months[0].Model != schemas.Any:
			return 2
		case v.months[0].Class != schemas.Any:
			return 1
		}
		return 0
	}
	x, y := a.months[0], b.months[0]
	return cmp.Or(cmp.Compare(a.place, b.place), cmp.Compare(still(a), still(b)), cmp.Compare(width(a), width(b)), cmp.Compare(b.faults, a.faults),
		cmp.Compare(x.Component, y.Component), cmp.Compare(x.Class, y.Class), cmp.Compare(x.Model, y.Model))
}

func (v series) moves() bool {
	return v.last().Direction == "rising" || v.last().Direction == "falling"
}

// course writes which way a series goes, "may be" where that is not firm.
func (v series) course(year []half) string {
	switch {
	case v.moves():
		return v.last().Direction
	case v.found && len(year) == 2 && year[1].share() > year[0].share():
		return "may be rising"
	case v.found && len(year) == 2:
		return "may be falling"
	}
	return v.last().Direction
}

// A half is one half of the last 12 complete months, which trend findings set beside each other.
type half struct{ from, to, faults, visits int } // from and to are places in the series' months

func (h half) share() float64 { return float64(h.faults) / float64(max(h.visits, 1)) }

// halves parts the last 12 complete months; nil when there are fewer or a half saw no visit.
func (s *site) halves(v series) []half {
	const span = 12
	n := len(v.months)
	if s.running(v.last().Month) {
		n--
	}
	if n < span {
		return nil
	}
	year := []half{{from: n - span, to: n - span/2 - 1}, {from: n - span/2, to: n - 1}}
	for i := range year {
		h := &year[i]
		for _, r := range v.months[h.from : h.to+1] {
			h.faults, h.visits = h.faults+r.Faults, h.visits+r.Visits
		}
		if h.visits == 0 {
			return nil
		}
	}
	return year
}

// running tells whether the log ends in the middle of the month.
func (s *site) running(month string) bool {
	return !s.AsOf.IsZero() && s.AsOf.Format("2006-01") == month && schemas.Running(s.AsOf)
}

// monthWords writes 2026-05 as "May 2026", and a month that is not over as "1 to 17 May 2026".
func (s *site) monthWords(month string) string {
	if !s.running(month) {
		return wording.Month(month)
	}
	if s.AsOf.Day() == 1 {
		return wording.Date(s.AsOf)
	}
	return "1 to " + wording.Date(s.AsOf)
}

// scope names whose visits a trend is of.
func (v series) scope() string {
	r := v.months[0]
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
	list := s.series()
	var rising, falling, stand int
	for _, v := range list {
		if v.found {
			stand++
		}
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
	for i, v := range head0(list, min(max(stand, leastCharts), trendCharts)) {
		b, err := s.trendBlock(v, fmt.Sprintf("trend-%d", i+1))
		if err != nil {
			return nil, err
		}
		if i == 0 {
			b.Title = "Month by month"
			b.Text = []string{"Thick lines: the share in each half of the last 12 complete months, which is what the findings compare. Dots: each month, which few visits make restless."}
		}
		q.Blocks = append(q.Blocks, b)
	}
	q.Blocks = append(q.Blocks, s.trendsBlock(list))
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

func (s *site) trendBlock(v series, id string) (block, error) {
	last, name := v.last(), capital(s.name(v.months[0].Component))
	year := s.halves(v)
	course := v.course(year)
	title := fmt.Sprintf("%s of %s: %s", name, v.scope(), course)
	switch {
	case len(year) == 2 && course == "steady":
		title += fmt.Sprintf(", %s of visits within 12 months", wording.Share(half{faults: year[0].faults + year[1].faults, visits: year[0].visits + year[1].visits}.share()))
	case len(year) == 2:
		title += fmt.Sprintf(", from %s to %s of visits within the year", wording.Share(year[0].share()), wording.Share(year[1].share()))
	default:
		title += fmt.Sprintf(", %s of visits in %s", shareWords(last.Share), s.monthWords(last.Month))
	}
	b := charts.Band{Head: headOf(id, title), Axis: charts.Axis{Name: "share of diagnosed visits", Unit: charts.Share}}
	if s.running(last.Month) {
		b.Unfinished = "month not over: " + s.monthWords(last.Month)
	}
	for _, h := range year {
		b.Levels = append(b.Levels, charts.Level{From: h.from, To: h.to, Y: h.share(), Text: wording.ShareOfN(h.faults, h.visits) + " in the half year"})
	}
	trace := charts.Trace{Name: name}
	limits := charts.Limits{}
	t := layout.Table{Brief: true, Caption: name + " of " + v.scope() + ", by month", Columns: []layout.Column{
		{Head: "month"}, {Head: "share", Num: true}, {Head: "faults of visits", Num: true}, {Head: "limits", Num: true}, {Head: "outside"}}}
	for _, r := range v.months {
		outside := r.Share.OK && (r.UpperLimit.OK && r.Share.V > r.UpperLimit.V || r.LowerLimit.OK && r.Share.V < r.LowerLimit.V)
		b.Months = append(b.Months, monthShort(r.Month))
		trace.Y, trace.Low, trace.High = append(trace.Y, ptr(r.Share)), append(trace.Low, ptr(r.Low)), append(trace.High, ptr(r.High))
		trace.Text, trace.Flag = append(trace.Text, wording.ShareOfN(r.Faults, r.Visits)), append(trace.Flag, outside)
		limits.Centre, limits.Lower, limits.Upper = append(limits.Centre, ptr(r.Centre)), append(limits.Lower, ptr(r.LowerLimit)), append(limits.Upper, ptr(r.UpperLimit))
		mark := ""
		if outside {
			mark = "outside"
		}
		month := layout.Text(s.monthWords(r.Month))
		month.Sort = r.Month
		limitsCell := layout.Number(r.LowerLimit, wording.Share)
		if r.LowerLimit.OK && r.UpperLimit.OK {
			limitsCell.Text = wording.ShareRange(r.LowerLimit.V, r.UpperLimit.V)
		}
		t.Rows = append(t.Rows, []layout.Cell{month, layout.Range(r.Share, r.Low, r.High, wording.Share, wording.ShareRange), ofN(r.Faults, r.Visits), limitsCell, layout.Text(mark)})
	}
	slices.Reverse(t.Rows) // the latest month first
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

// monthShort writes 2026-05 as "May 2026", short enough for an axis.
func monthShort(key string) string {
	t, err := time.Parse("2006-01", key)
	if err != nil {
		return key
	}
	return t.Format("Jan 2006")
}

func (s *site) trendsBlock(list []series) block {
	month := ""
	for _, r := range s.Trends {
		month = max(month, r.Month)
	}
	month = s.monthWords(month)
	t := layout.Table{ID: "t-trends", Caption: "Every series, with " + month, Filter: true, Columns: []layout.Column{
		{Head: "component"}, {Head: "of"}, {Head: "last 12 months", Title: "which way the share goes over the last 12 complete months"}, {Head: "first half", Num: true, Title: "share in the first half of the last 12 complete months"}, {Head: "second half", Num: true, Title: "share in the second half of the last 12 complete months"},
		{Head: month, Num: true}, {Head: "usual", Num: true, Title: "centre line of the control chart"},
		{Head: "q", Num: true, Title: "chance of such a slope by luck, corrected for looking at many series"}, {Head: "grade"}}}
	for _, v := range head0(list, tableRows) {
		r, year := v.last(), s.halves(v)
		of := layout.Text(v.scope())
		if href := s.sheet(r.Model); href != "" {
			of = layout.Anchor(r.Model, href)
		}
		line := []layout.Cell{s.componentCell(r.Component), of, layout.Text(v.course(year))}
		for i := range 2 {
			cell := layout.Text(wording.Unknown)
			if len(year) == 2 {
				cell = layout.Number(schemas.Known(year[i].share()), wording.Share)
				cell.Note = wording.OfN(year[i].faults, year[i].visits)
			}
			line = append(line, cell)
		}
		now := layout.Number(r.Share, wording.Share)
		if r.Visits > 0 {
			now.Note = wording.OfN(r.Faults, r.Visits)
		}
		t.Rows = append(t.Rows, append(line, now, layout.Number(r.Centre, wording.Share), layout.Number(r.Q, wording.PValue), graded(v.finding, v.found)))
	}
	return block{Title: "Every series", Table: &t, CSV: s.csv("trends"), Cut: s.cut(len(t.Rows), len(list), "that move most")}
}
