package charts

import (
	"errors"
	"math"

	"faultgrain/report/wording"

	"github.com/go-echarts/go-echarts/v2/opts"
)

// A Unit says what an axis measures; it sets the scale, the ticks and the words.
type Unit int

// The units an axis can have.
const (
	Share   Unit = iota // 0 to 1, shown as per cent
	Number              // any amount; the axis name says of what
	Count               // whole things: ticks at whole numbers
	Minutes             // bench minutes on a log scale
	Ratio               // times as often, on a log scale around 1
	Days                // whole days from 0
)

// An Axis is the value axis of a chart.
type Axis struct {
	Name string // with the unit in words: "share of visits", "bench minutes"
	Unit Unit
}

func (u Unit) logarithmic() bool { return u == Minutes || u == Ratio }

// tickName is the function in report.js that writes this unit's ticks.
func (u Unit) tickName() string {
	return [...]string{"fn:share", "fn:number", "fn:number", "fn:minutes", "fn:ratio", "fn:number"}[u]
}

// say writes one value of the unit in words.
func (u Unit) say(v *float64) string {
	if v == nil {
		return wording.Unknown
	}
	switch u {
	case Share:
		return wording.Share(*v)
	case Minutes:
		return wording.Minutes(*v)
	case Ratio:
		return wording.Times(*v)
	case Days:
		return wording.Days(*v)
	}
	return wording.Number(*v)
}

// sayRange writes an interval in words, "" when neither end is known.
func (u Unit) sayRange(low, high *float64) string {
	switch {
	case low == nil && high == nil:
		return ""
	case low == nil:
		return "up to " + u.say(high)
	case high == nil:
		return u.say(low) + " or more"
	}
	switch u {
	case Share:
		return wording.ShareRange(*low, *high)
	case Minutes:
		return wording.MinutesRange(*low, *high)
	case Ratio:
		return wording.TimesRange(*low, *high)
	}
	return wording.NumberRange(*low, *high)
}

// A scale is an axis fitted to its values: where it starts and ends, and its ticks.
type scale struct {
	min, max float64
	ticks    []float64
}

var minuteTicks = []float64{1, 2, 5, 10, 15, 30, 60, 120, 240, 480, 1440, 2880, 5760, 11520}

// widestRatio bounds a ratio axis: beyond 64 times in either direction an interval
// says "much", and a longer axis would squeeze every other row.
const widestRatio = 64

var errNothingKnown = errors.New("no value is known")

// fit chooses the scale that holds the given values. A log scale has no place for 0;
// what lies outside is drawn as an arrow at the edge.
func (u Unit) fit(values []*float64) (scale, error) {
	low, high, known := math.Inf(1), math.Inf(-1), false
	for _, v := range values {
		if v == nil || math.IsInf(*v, 0) {
			continue
		}
		known = true
		if !u.logarithmic() || *v > 0 {
			low, high = min(low, *v), max(high, *v)
		}
	}
	if !known {
		return scale{}, errNothingKnown
	}
	if low > high {
		low, high = 1, 1
	}
	switch u {
	case Minutes:
		return fitMinutes(low, high), nil
	case Ratio:
		return fitRatio(low, high), nil
	}
	steps := niceSteps{multiples: []float64{1, 2, 2.5, 5}, least: 1e-4}
	switch u {
	case Share:
		steps.top = 1
	case Count, Days:
		steps.multiples, steps.least = []float64{1, 2, 5}, 1
	}
	return steps.fit(min(low, 0), high), nil
}

// niceSteps are the rules of a linear axis.
type niceSteps struct {
	multiples []float64 // of a power of ten, rising from 1
	least     float64   // no step is smaller
	top       float64   // the axis does not go past it, unless it is 0
}

// fit starts at a step at or below low and ends at one at or above high, with
// about five steps.
func (n niceSteps) fit(low, high float64) scale {
	if high-low < n.least {
		high = low + max(n.top/10, n.least)
	}
	step := n.step((high - low) / 4.5)
	first := math.Floor(low/step+1e-9) * step
	var s scale
	for i := 0; ; i++ {
		tick := round4(first + float64(i)*step)
		s.ticks = append(s.ticks, tick)
		if tick >= high-1e-9 || n.top > 0 && tick >= n.top {
			break
		}
	}
	s.min, s.max = s.ticks[0], s.ticks[len(s.ticks)-1]
	return s
}

// step returns the smallest allowed step not below v.
func (n niceSteps) step(v float64) float64 {
	v = max(v, n.least)
	p := math.Pow(10, math.Floor(math.Log10(v)+1e-9))
	for _, m := range n.multiples {
		if m*p >= v*(1-1e-9) {
			return round4(m * p)
		}
	}
	return round4(10 * p)
}

func fitMinutes(low, high float64) scale {
	low, high = min(max(low, 1), 10000), min(max(high, 1), 10000)
	s := scale{min: round4(max(low/1.15, 1)), max: round4(high * 1.15)}
	if s.max < s.min*4 {
		mid := math.Sqrt(s.min * s.max)
		s.min, s.max = round4(max(mid/2.2, 1)), round4(max(mid/2.2, 1)*4.84)
	}
	for _, t := range minuteTicks {
		if t >= s.min && t <= s.max {
			s.ticks = append(s.ticks, t)
		}
	}
	return s
}

// fitRatio always shows 1, and at least from a half to double.
func fitRatio(low, high float64) scale {
	low = min(max(low, 1.0/widestRatio), 1/1.6)
	high = max(min(high, widestRatio), 1.6)
	s := scale{min: round4(low / 1.12), max: round4(high * 1.12)}
	every := 1
	if math.Log2(s.max/s.min) > 7 {
		every = 2
	}
	for e := -6; e <= 6; e += 1 {
		if t := math.Pow(2, float64(e)); e%every == 0 && t >= s.min && t <= s.max {
			s.ticks = append(s.ticks, round4(t))
		}
	}
	return s
}

// valueAxis is a horizontal axis for the unit.
func (a Axis) valueAxis(s scale) opts.XAxis {
	kind := "value"
	if a.Unit.logarithmic() {
		kind = "log"
	}
	return opts.XAxis{
		Type: kind, Name: Clean(a.Name), NameLocation: "middle", NameGap: 30,
		Min: s.min, Max: s.max,
		SplitLine: &opts.SplitLine{Show: on},
		AxisLine:  &opts.AxisLine{Show: off},
		AxisTick:  &opts.AxisTick{Show: off},
		AxisLabel: &opts.AxisLabel{HideOverlap: on, ShowMinLabel: on, ShowMaxLabel: on},
	}
}

// ticksAt patches the ticks of an axis; go-echarts has no field for them. The
// formatter is set here too, as a plain name.
func ticksAt(axis string, s scale, formatter string) patch {
	return func(option map[string]any) {
		a := axisAt(option, axis, 0)
		if a["axisLabel"] == nil {
			a["axisLabel"] = map[string]any{}
		}
		label := a["axisLabel"].(map[string]any)
		label["customValues"], label["formatter"] = s.ticks, formatter
		a["axisTick"] = map[string]any{"show": false, "customValues": s.ticks}
	}
}

// rowAxes are the two vertical axes of a chart with rows: labels on the left, the
// figures in words on the right. Row 0 is on top.
func rowAxes(labels, texts []string) []opts.YAxis {
	axis := func(position string, data []string) opts.YAxis {
		return opts.YAxis{
			Type: "category", Position: position, Inverse: on, Data: data,
			AxisLine:  &opts.AxisLine{Show: off},
			SplitLine: &opts.SplitLine{Show: off},
			AxisLabel: &opts.AxisLabel{Interval: "0", Overflow: "truncate"},
		}
	}
	return []opts.YAxis{axis("left", labels), axis("right", texts)}
}
