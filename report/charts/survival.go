package charts

import (
	"fmt"

	"faultgrain/report/wording"

	"github.com/go-echarts/go-echarts/v2/opts"
)

// A Curve is one group of a Survival chart: the share of repairs that have come
// back by each day. Days rise; Share, Low and High have one entry per day. A start
// at day 0 with share 0 is added when it is missing.
type Curve struct {
	Name  string
	Days  []float64
	Share []*float64
	Low   []*float64 // nil for no band
	High  []*float64
	At    []Reading // what the table shows at chosen days, drawn with its interval
}

// A Reading is a curve's value at a chosen day.
type Reading struct {
	Day    float64
	Est    *float64
	Low    *float64
	High   *float64
	AtRisk int // repairs still watched on that day; the table shows it too
}

// Survival shows what has come back by which day, one stepped line per group.
// With one or two groups the intervals are bands; with more, bands would hide each
// other and the intervals stand at the readings only.
type Survival struct {
	Head
	XName   string // "" is "days since the repair"
	YName   string // "" is "share that came back"
	Horizon float64
	Ticks   []float64 // of the days; nil is where the first curve is read
	Curves  []Curve   // at most MaxSeries
}

// Chart builds it. No curve is ErrEmpty.
func (v Survival) Chart() (Chart, error) {
	if len(v.Curves) == 0 {
		return Chart{}, ErrEmpty
	}
	if len(v.Curves) > MaxSeries {
		return Chart{}, fmt.Errorf("chart %s: %d curves: want at most %d; show the rest in the table", v.ID, len(v.Curves), MaxSeries)
	}
	if !(v.Horizon > 0) {
		return Chart{}, fmt.Errorf("chart %s: horizon %v: want days above 0", v.ID, v.Horizon)
	}
	bands := len(v.Curves) <= 2
	curves := make([]Curve, len(v.Curves))
	var values []*float64
	ticks := []float64{0}
	for i, c := range v.Curves {
		c, err := c.prepared(v.Horizon)
		if err != nil {
			return Chart{}, fmt.Errorf("chart %s: %s: %w", v.ID, c.Name, err)
		}
		curves[i] = c
		values = append(values, c.Share...)
		if bands {
			values = append(append(values, c.Low...), c.High...)
		}
		for _, r := range c.At {
			if err := finite(r.Est, r.Low, r.High); err != nil {
				return Chart{}, fmt.Errorf("chart %s: %s: %w", v.ID, c.Name, err)
			}
			values = append(values, r.Est, r.Low, r.High)
			if i == 0 {
				ticks = append(ticks, r.Day)
			}
		}
	}
	y := Axis{Name: v.YName, Unit: Share}
	if y.Name == "" {
		y.Name = "share that came back"
	}
	s, err := y.Unit.fit(values)
	if err != nil {
		return Chart{}, ErrEmpty
	}
	xName := v.XName
	if xName == "" {
		xName = "days since the repair"
	}
	c := lineChart(opts.XAxis{
		Type: "value", Name: Clean(xName), NameLocation: "middle", NameGap: 30, Min: 0, Max: v.Horizon,
		SplitLine: &opts.SplitLine{Show: off}, AxisLabel: &opts.AxisLabel{HideOverlap: on},
	}, y, s)

	var keys []Key
	for i, curve := range curves {
		if bands && curve.Low != nil && curve.High != nil {
			c.addBand("fn:stepband", i, intervalMarks(curve.Days, curve.Low, curve.High))
		}
	}
	for i, curve := range curves {
		c.addLine(curve.Name, i, "end", pointMarks(curve.Days, curve.Share, nil))
		keys = append(keys, Key{dashes[i].shape, Series(i), curve.Name})
	}
	readings := false
	for i, curve := range curves {
		var marks []mark
		for _, r := range curve.At {
			if r.Est == nil || r.Day > v.Horizon {
				continue
			}
			tip := []string{curve.Name, wording.Share(*r.Est) + " back by day " + wording.Number(r.Day)}
			if words := Share.sayRange(r.Low, r.High); words != "" {
				tip = append(tip, "95% interval "+words)
			}
			tip = append(tip, wording.Count(r.AtRisk)+" still watched")
			m := mark{Value: []any{round4(r.Day), number(r.Est), number(r.Low), number(r.High), i, i, len(curves)}, Tip: tipLines(tip...)}
			if bands { // the band has the interval, and the dot stands on its line
				m.Value = []any{round4(r.Day), number(r.Est), nil, nil, i, 0, 1}
			}
			marks = append(marks, m)
		}
		if len(marks) > 0 {
			readings = true
			c.addCustom("fn:upright", i, []int{1, 2, 3}, marks)
		}
	}
	switch {
	case bands && curves[0].Low != nil:
		keys = append(keys, Key{Area, Series(0), "95% interval"})
	case readings:
		keys = append(keys, Key{Whisker, Ink, "95% interval"})
	}
	xScale := scale{ticks: ticks}
	if v.Ticks != nil {
		xScale.ticks = v.Ticks
	}
	if len(xScale.ticks) < 2 {
		xScale, _ = Days.fit([]*float64{&v.Horizon})
	}
	return finish(v.Head, 340, c, frame{Top: 14, Bottom: 54}, keys,
		c.patch(s, y), ticksAt("xAxis", xScale, Days.tickName()))
}

// prepared checks a curve, cuts it at the horizon, and starts it at day 0.
func (c Curve) prepared(horizon float64) (Curve, error) {
	n := len(c.Days)
	if len(c.Share) != n || c.Low != nil && len(c.Low) != n || c.High != nil && len(c.High) != n {
		return c, fmt.Errorf("want one share, and one interval or none, for each of %d days", n)
	}
	if err := finite(append(append(append([]*float64{}, c.Share...), c.Low...), c.High...)...); err != nil {
		return c, err
	}
	out := Curve{Name: c.Name, At: c.At}
	add := func(day float64, share, low, high *float64) {
		out.Days, out.Share = append(out.Days, day), append(out.Share, share)
		if c.Low != nil && c.High != nil {
			out.Low, out.High = append(out.Low, low), append(out.High, high)
		}
	}
	if n == 0 || c.Days[0] > 0 {
		add(0, new(0.0), new(0.0), new(0.0))
	}
	for i, day := range c.Days {
		if !(day >= 0) || i > 0 && day < c.Days[i-1] {
			return c, fmt.Errorf("day %v: want days from 0 that do not fall", day)
		}
		if day > horizon {
			last := len(out.Days) - 1
			var low, high *float64
			if out.Low != nil {
				low, high = out.Low[last], out.High[last]
			}
			add(horizon, out.Share[last], low, high)
			break
		}
		var low, high *float64
		if c.Low != nil && c.High != nil {
			low, high = c.Low[i], c.High[i]
		}
		add(day, c.Share[i], low, high)
	}
	return out, nil
}
