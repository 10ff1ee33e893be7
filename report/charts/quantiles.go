package charts

import "fmt"

// A Spread is one row of a Quantiles chart. Every figure may be nil; Median or
// Mean must be known for the row to be drawn.
type Spread struct {
	Label    string
	P10      *float64
	Q1       *float64
	Median   *float64
	Q3       *float64
	P90      *float64
	Mean     *float64
	MeanLow  *float64 // interval of the mean
	MeanHigh *float64
	Text     string // beside the row: "45 min (31 jobs)"
}

// Quantiles shows how times spread: the median, the middle half, where nine of ten
// are done, and the mean with its interval.
type Quantiles struct {
	Head
	Axis Axis // usually {Name: "bench minutes", Unit: Minutes}
	Rows []Spread
}

// Chart builds it. No drawable row is ErrEmpty.
func (q Quantiles) Chart() (Chart, error) {
	var values []*float64
	var has struct{ box, low, high, mean, interval bool }
	drawn := func(r Spread) bool { return r.Median != nil || r.Mean != nil }
	for i, r := range q.Rows {
		figures := []*float64{r.P10, r.Q1, r.Median, r.Q3, r.P90}
		if err := finite(append(figures, r.Mean, r.MeanLow, r.MeanHigh)...); err != nil {
			return Chart{}, fmt.Errorf("chart %s: row %d: %w", q.ID, i+1, err)
		}
		if !rising(figures) {
			return Chart{}, fmt.Errorf("chart %s: row %d: the quantiles do not rise", q.ID, i+1)
		}
		if !drawn(r) {
			continue
		}
		values = append(values, figures...)
		values = append(values, r.Mean, r.MeanLow, r.MeanHigh)
		has.box = has.box || r.Q1 != nil && r.Q3 != nil
		has.low, has.high = has.low || r.P10 != nil, has.high || r.P90 != nil
		has.mean, has.interval = has.mean || r.Mean != nil, has.interval || r.MeanLow != nil
	}
	s, err := q.Axis.Unit.fit(values)
	if err != nil {
		return Chart{}, ErrEmpty
	}
	labels, texts := rowLabels(len(q.Rows),
		func(i int) string { return q.Rows[i].Label }, func(i int) string { return q.Rows[i].Text })

	var marks []mark
	unit := q.Axis.Unit
	for i, r := range q.Rows {
		if !drawn(r) {
			continue
		}
		tip := []string{r.Label, r.Text, "half are done within " + unit.say(r.Median)}
		if r.Median == nil {
			tip = tip[:2]
		}
		if r.Q1 != nil && r.Q3 != nil {
			tip = append(tip, "the middle half "+unit.sayRange(r.Q1, r.Q3))
		}
		if r.P90 != nil {
			tip = append(tip, "nine of ten within "+unit.say(r.P90))
		}
		if r.Mean != nil {
			line := "mean " + unit.say(r.Mean)
			if words := unit.sayRange(r.MeanLow, r.MeanHigh); words != "" {
				line += ", 95% interval " + words
			}
			tip = append(tip, line)
		}
		marks = append(marks, mark{
			Value: []any{s.inside(r.Median), i, s.inside(r.P10), s.inside(r.Q1), s.inside(r.Q3), s.inside(r.P90),
				s.inside(r.Mean), s.inside(r.MeanLow), s.inside(r.MeanHigh)},
			Tip: tipLines(tip...),
		})
	}
	c := rowChart(q.Axis.valueAxis(s), labels, texts)
	addMarks(c, "times", "fn:quantiles", marks, []int{0, 2, 3, 4, 5, 6, 7, 8}, 1)

	keys := []Key{{Tick, Series(0), "median"}}
	if has.box {
		keys = append(keys, Key{Box, Series(0), "the middle half"})
	}
	switch {
	case has.low && has.high:
		keys = append(keys, Key{Line, Series(0), "from the fastest tenth to the slowest"})
	case has.high:
		keys = append(keys, Key{Line, Series(0), "up to where nine of ten are done"})
	}
	if has.mean {
		key := Key{OpenDiamond, Series(1), "mean"}
		if has.interval {
			key.Text = "mean and its 95% interval"
		}
		keys = append(keys, key)
	}
	return finish(q.Head, topPx+bottomPx+len(q.Rows)*34, c, rowFrame(labels, texts), keys,
		ticksAt("xAxis", s, unit.tickName()), lastTicks)
}

// rising reports whether the known values never fall.
func rising(values []*float64) bool {
	var last *float64
	for _, v := range values {
		if v == nil {
			continue
		}
		if last != nil && *v < *last {
			return false
		}
		last = v
	}
	return true
}
