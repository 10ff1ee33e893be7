package charts

import (
	"fmt"

	echarts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"
)

// A Trace is one line of a Band chart. Y, Low and High have one entry per month;
// Low and High may be nil as a whole, and so may any entry.
type Trace struct {
	Name string
	Y    []*float64
	Low  []*float64
	High []*float64
	Text []string // per month, for the tooltip: "23% (14 of 61)"; nil for none
	Flag []bool   // months outside the limits, marked with a diamond; nil for none
}

// Limits are a control chart's lines, one entry per month, nil where there is none.
type Limits struct {
	Centre []*float64
	Lower  []*float64
	Upper  []*float64
}

// Band shows figures over months with their intervals and, for one line, control limits.
type Band struct {
	Head
	Axis     Axis     // of the figures; Share, Number or Count
	Months   []string // labels in order: "Jun 2025"
	Traces   []Trace  // at most MaxSeries
	Limits   *Limits  // nil for none
	Levels   []Level  // figures over several months; nil for none
	Interval string   // what the band is; "" is "95% interval"

	// Unfinished says that the last month is not over: "month not over: 1 to 17 May 2026". Its dot is open.
	Unfinished string
}

// A Level is one figure over several months, drawn as a thick line.
type Level struct {
	From, To int // places in Months
	Y        float64
	Text     string // for the tooltip: "14% (131 of 908) in the half year"
}

// dashes are the five line styles, in the order of the five colours; the key shows the same.
var dashes = [MaxSeries]struct {
	shape Shape
	style any // as the drawing library wants it
}{
	{Line, "solid"}, {Dash, []int{7, 4}}, {Dots, []int{2, 3}}, {LongDash, []int{14, 5}}, {DashDot, []int{9, 3, 2, 3}},
}

// Chart builds it. No month or no known figure is ErrEmpty.
func (b Band) Chart() (Chart, error) {
	n := len(b.Months)
	if n == 0 || len(b.Traces) == 0 {
		return Chart{}, ErrEmpty
	}
	if len(b.Traces) > MaxSeries {
		return Chart{}, fmt.Errorf("chart %s: %d lines: want at most %d; show the rest in the table", b.ID, len(b.Traces), MaxSeries)
	}
	if b.Axis.Unit.logarithmic() {
		return Chart{}, fmt.Errorf("chart %s: a band over months wants a share or a number", b.ID)
	}
	var values []*float64
	collect := func(lists ...[]*float64) error {
		for _, list := range lists {
			if list != nil && len(list) != n {
				return fmt.Errorf("chart %s: %d values for %d months", b.ID, len(list), n)
			}
			if err := finite(list...); err != nil {
				return fmt.Errorf("chart %s: %w", b.ID, err)
			}
			values = append(values, list...)
		}
		return nil
	}
	for _, t := range b.Traces {
		if t.Text != nil && len(t.Text) != n || t.Flag != nil && len(t.Flag) != n {
			return Chart{}, fmt.Errorf("chart %s: %s: texts and flags want one entry per month", b.ID, t.Name)
		}
		if err := collect(t.Y, t.Low, t.High); err != nil {
			return Chart{}, err
		}
	}
	if b.Limits != nil {
		if err := collect(b.Limits.Centre, b.Limits.Lower, b.Limits.Upper); err != nil {
			return Chart{}, err
		}
	}
	for _, l := range b.Levels {
		if l.From < 0 || l.To < l.From || l.To >= n {
			return Chart{}, fmt.Errorf("chart %s: level over months %d to %d of %d", b.ID, l.From, l.To, n)
		}
		values = append(values, &l.Y)
	}
	if err := finite(values...); err != nil {
		return Chart{}, fmt.Errorf("chart %s: %w", b.ID, err)
	}
	s, err := b.Axis.Unit.fit(values)
	if err != nil {
		return Chart{}, ErrEmpty
	}

	months := make([]string, n)
	for i, m := range b.Months {
		months[i] = clip(m, 12)
	}
	c := lineChart(opts.XAxis{
		Type: "category", Data: months,
		AxisLabel: &opts.AxisLabel{HideOverlap: on}, SplitLine: &opts.SplitLine{Show: off},
	}, b.Axis, s)
	c.SetXAxis(months)

	interval := b.Interval
	if interval == "" {
		interval = "95% interval"
	}
	var keys []Key
	for i, t := range b.Traces {
		if t.Low != nil && t.High != nil {
			c.addBand("fn:band", i, intervalMarks(positions(n), t.Low, t.High))
		}
	}
	if b.Limits != nil {
		for _, line := range [][]*float64{b.Limits.Centre, b.Limits.Lower, b.Limits.Upper} {
			if line != nil {
				c.addLine("limit", limit, "middle", pointMarks(positions(n), line, nil))
			}
		}
	}
	flagged := false
	for i, t := range b.Traces {
		tips := b.tips(t, interval)
		points := pointMarks(positions(n), t.Y, tips)
		points[n-1].Open = b.Unfinished != ""
		c.addLine(t.Name, i, "", points)
		shape := dashes[i].shape
		keys = append(keys, Key{shape, Series(i), t.Name})
		var flags []mark
		for j := range t.Flag {
			if t.Flag[j] && t.Y[j] != nil {
				open := 0
				if j == n-1 && b.Unfinished != "" {
					open = 1
				}
				flags = append(flags, mark{Value: []any{j, number(t.Y[j]), i, open}, Tip: tips[j]})
			}
		}
		if len(flags) > 0 {
			flagged = true
			c.addCustom("fn:flag", i, 1, flags)
		}
	}
	if len(b.Levels) > 0 {
		var levels []mark
		for _, l := range b.Levels {
			levels = append(levels, mark{Value: []any{l.From, round4(l.Y), l.To}, Tip: tipLines(months[l.From]+" to "+months[l.To], l.Text)})
		}
		c.addCustom("fn:level", 0, 1, levels)
		keys = append(keys, Key{Thick, Ink, "half a year together"})
	}
	if len(b.Traces) == 1 && b.Traces[0].Low != nil {
		keys = append(keys, Key{Area, Series(0), interval})
	}
	if b.Limits != nil {
		keys = append(keys, Key{Dash, Quiet, "usual level and the limits chance keeps to"})
	}
	if flagged {
		keys = append(keys, Key{Diamond, Series(1), "outside the limits"})
	}
	if b.Unfinished != "" {
		keys = append(keys, Key{Ring, Series(0), Clean(b.Unfinished)})
	}
	return finish(b.Head, 300, c, frame{Top: 14, Bottom: 34}, keys, c.patch(s, b.Axis))
}

// tips are the tooltips of one line, a list of lines per month.
func (b Band) tips(t Trace, interval string) [][]string {
	tips := make([][]string, len(b.Months))
	for j, month := range b.Months {
		lines := []string{t.Name + ", " + month}
		if t.Text != nil {
			lines = append(lines, t.Text[j])
		} else {
			lines = append(lines, b.Axis.Unit.say(t.Y[j]))
		}
		if t.Low != nil && t.High != nil {
			if words := b.Axis.Unit.sayRange(t.Low[j], t.High[j]); words != "" {
				lines = append(lines, interval+" "+words)
			}
		}
		if l := b.Limits; l != nil && l.Lower != nil && l.Upper != nil {
			if words := b.Axis.Unit.sayRange(l.Lower[j], l.Upper[j]); words != "" {
				lines = append(lines, "limits "+words)
			}
		}
		if t.Flag != nil && t.Flag[j] {
			lines = append(lines, "outside the limits")
		}
		if j == len(b.Months)-1 {
			lines = append(lines, b.Unfinished)
		}
		tips[j] = tipLines(lines...)
	}
	return tips
}

// limit stands for a control limit where a line's place in the palette is asked.
const limit = -1

// lines is a line chart with its custom layers, drawn in the order they are added.
type lines struct {
	*echarts.Line
	styles []int // of each series: its place in the palette, or limit
}

func lineChart(x opts.XAxis, y Axis, s scale) *lines {
	c := echarts.NewLine()
	x.AxisTick = &opts.AxisTick{Show: off}
	c.SetGlobalOptions(echarts.WithXAxisOpts(x))
	c.YAxisList = []opts.YAxis{{
		Type: "value", Name: Clean(y.Name), NameLocation: "end", Min: s.min, Max: s.max,
		AxisLine: &opts.AxisLine{Show: off}, SplitLine: &opts.SplitLine{Show: on}, AxisLabel: &opts.AxisLabel{},
	}}
	return &lines{Line: c}
}

// addLine adds a line in the style of place i, or a silent control limit.
func (c *lines) addLine(name string, i int, step string, marks []mark) {
	c.AddSeries(Clean(name), nil, echarts.WithSeriesOpts(func(s *echarts.SingleSeries) {
		s.Data = marks
		s.ShowSymbol, s.Symbol, s.SymbolSize = on, "circle", 7
		if step != "" {
			s.Step, s.ShowSymbol = step, off
		}
	}))
	c.styles = append(c.styles, i)
}

// addCustom adds a layer drawn by the named function of report.js; y are the
// positions in a mark's Value that belong to the vertical axis.
func (c *lines) addCustom(renderItem string, i int, y any, marks []mark) {
	over := echarts.NewCustom()
	over.AddSeries("", nil, echarts.WithSeriesOpts(func(s *echarts.SingleSeries) {
		s.RenderItem = types.FuncStr(renderItem)
		s.Encode = &opts.Encode{X: 0, Y: y}
		s.Data = marks
	}))
	c.Overlap(over)
	c.styles = append(c.styles, i)
}

// addBand adds an interval under the lines, in the colour of place i.
func (c *lines) addBand(renderItem string, i int, marks []mark) {
	c.addCustom(renderItem, i, []int{1, 2}, marks)
}

// patch sets line styles, layers and ticks.
func (c *lines) patch(s scale, y Axis) patch {
	return func(option map[string]any) {
		ticksAt("yAxis", s, y.Unit.tickName())(option)
		for i, place := range c.styles {
			series := seriesAt(option, i)
			series["z"] = 2 + i
			if place == limit {
				series["tone"], series["silent"] = Quiet, true
				series["lineStyle"] = map[string]any{"width": 1.25, "type": []int{5, 4}}
				continue
			}
			series["tone"] = Series(place)
			if series["type"] == "line" {
				series["lineStyle"] = map[string]any{"width": 2, "type": dashes[place].style}
			}
		}
	}
}

func positions(n int) []float64 {
	xs := make([]float64, n)
	for i := range xs {
		xs[i] = float64(i)
	}
	return xs
}

func pointMarks(xs []float64, ys []*float64, tips [][]string) []mark {
	marks := make([]mark, len(xs))
	for i, x := range xs {
		marks[i] = mark{Value: []any{round4(x), number(ys[i])}}
		if tips != nil {
			marks[i].Tip = tips[i]
		}
	}
	return marks
}

func intervalMarks(xs []float64, low, high []*float64) []mark {
	marks := make([]mark, len(xs))
	for i, x := range xs {
		marks[i] = mark{Value: []any{round4(x), number(low[i]), number(high[i])}}
	}
	return marks
}
