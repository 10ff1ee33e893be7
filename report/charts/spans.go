package charts

import (
	"fmt"
	"time"

	"github.com/go-echarts/go-echarts/v2/opts"
)

// A Span is one alarm on the calendar.
type Span struct {
	Lane  int       // position in Lanes
	From  time.Time // first day
	To    time.Time // last day, not before From
	Grade Grade     // Firm, Leaning or Thin
	Text  string    // drawn beside the bar when there is room: "11 of 14, expected 3"
	Tip   []string  // further tooltip lines
}

// Spans shows when something was unusual, a lane per subject.
type Spans struct {
	Head
	Lanes []string
	Spans []Span
	From  time.Time // the calendar shown
	To    time.Time
}

// Chart builds it. No span is ErrEmpty. Days are calendar days; the zone is dropped.
func (p Spans) Chart() (Chart, error) {
	if len(p.Spans) == 0 || len(p.Lanes) == 0 {
		return Chart{}, ErrEmpty
	}
	from, to := day(p.From), day(p.To)+1
	if to-from < 1 {
		return Chart{}, fmt.Errorf("chart %s: calendar runs from %s to %s", p.ID, p.From.Format(time.DateOnly), p.To.Format(time.DateOnly))
	}
	labels, texts := rowLabels(len(p.Lanes), func(i int) string { return p.Lanes[i] }, func(int) string { return "" })
	var marks []mark
	grades := map[Grade]bool{}
	for i, sp := range p.Spans {
		if sp.Lane < 0 || sp.Lane >= len(p.Lanes) {
			return Chart{}, fmt.Errorf("chart %s: span %d: lane %d of %d", p.ID, i+1, sp.Lane, len(p.Lanes))
		}
		a, b := day(sp.From), day(sp.To)+1
		if b <= a {
			return Chart{}, fmt.Errorf("chart %s: span %d ends before it starts", p.ID, i+1)
		}
		a, b = max(a, from), min(b, to)
		if b <= a {
			continue // outside the calendar shown
		}
		grades[sp.Grade] = true
		when := sp.From.Format("2 January 2006") + " to " + sp.To.Format("2 January 2006")
		marks = append(marks, mark{
			Value: []any{a, sp.Lane, b, int(sp.Grade)},
			Text:  clip(sp.Text, 40),
			Tip:   tipLines(append([]string{p.Lanes[sp.Lane], sp.Text, when}, sp.Tip...)...),
		})
	}
	if len(marks) == 0 {
		return Chart{}, ErrEmpty
	}
	c := rowChart(opts.XAxis{
		Type: "value", Min: from, Max: to,
		SplitLine: &opts.SplitLine{Show: on}, AxisLine: &opts.AxisLine{Show: off}, AxisTick: &opts.AxisTick{Show: off},
		AxisLabel: &opts.AxisLabel{HideOverlap: on},
	}, labels, texts)
	addMarks(c, "alarms", "fn:span", marks, []int{0, 2}, 1)

	var keys []Key
	for _, g := range []struct {
		grade Grade
		key   Key
	}{
		{Firm, Key{Square, Series(1), "firm"}},
		{Leaning, Key{Box, Series(1), "leaning"}},
		{Thin, Key{DashBox, Quiet, "thin"}},
	} {
		if grades[g.grade] {
			keys = append(keys, g.key)
		}
	}
	f := frame{Labels: min(columnPx(labels)+14, 250), Rows: len(labels), Top: topPx, Bottom: 42}
	s := scale{ticks: monthStarts(from, to)}
	return finish(p.Head, f.Top+f.Bottom+len(labels)*36, c, f, keys, ticksAt("xAxis", s, "fn:day"), lastTicks)
}

// day counts calendar days from 1970-01-01.
func day(t time.Time) int {
	y, m, d := t.Date()
	return int(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// monthStarts are the first days of months in a span of days, thinned to at most
// about a dozen.
func monthStarts(from, to int) []float64 {
	t := time.Unix(int64(from)*86400, 0).UTC()
	var all []float64
	for m := time.Date(t.Year(), t.Month(), 1, 0, 0, 0, 0, time.UTC); day(m) <= to; m = m.AddDate(0, 1, 0) {
		if d := day(m); d >= from {
			all = append(all, float64(d))
		}
	}
	every := (len(all) + 12) / 13
	var ticks []float64
	for i := 0; i < len(all); i += max(every, 1) {
		ticks = append(ticks, all[i])
	}
	return ticks
}
