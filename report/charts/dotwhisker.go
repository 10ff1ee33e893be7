package charts

import (
	"fmt"
	"math"
)

// A Row is one line of a dot and whisker chart.
type Row struct {
	Label string   // what it is: a model, a component
	Est   *float64 // the figure; nil when unknown: then the interval alone is drawn, if there is one
	Low   *float64 // interval; an end that is nil is not drawn
	High  *float64 // may be +Inf, drawn as an arrow
	Ref   *float64 // what this row is held against, such as its class; nil for none
	Text  string   // beside the row: "23% (14 of 61)"
	Grade Grade
}

// DotWhisker shows an estimate and its interval in each row, best sorted by the caller.
type DotWhisker struct {
	Head
	Axis      Axis
	Rows      []Row
	Reference *float64 // one upright line for all rows, such as 1 on a ratio axis; nil for none
	RefName   string   // what Reference or the rows' Ref is: "the rest of its class"
	Interval  string   // what the whisker is; "" is "95% interval"
}

// Chart builds it. No row, or no value in any row, is ErrEmpty.
func (d DotWhisker) Chart() (Chart, error) {
	interval := d.Interval
	if interval == "" {
		interval = "95% interval"
	}
	values := []*float64{d.Reference}
	hasRef, known, grades := false, false, map[Grade]bool{}
	for i, r := range d.Rows {
		if err := r.check(); err != nil {
			return Chart{}, fmt.Errorf("chart %s: row %d: %w", d.ID, i+1, err)
		}
		values = append(values, r.Est, r.Low, r.High, r.Ref)
		hasRef = hasRef || r.Ref != nil
		if r.drawn() {
			known, grades[r.Grade] = true, true
		}
	}
	if !known {
		return Chart{}, ErrEmpty
	}
	s, err := d.Axis.Unit.fit(values)
	if err != nil {
		return Chart{}, fmt.Errorf("chart %s: %w", d.ID, err)
	}

	labels, texts := rowLabels(len(d.Rows),
		func(i int) string { return d.Rows[i].Label },
		func(i int) string { return d.Rows[i].Text })
	marks := make([]mark, 0, len(d.Rows))
	for i, r := range d.Rows {
		if !r.drawn() {
			continue
		}
		grade := int(r.Grade)
		if r.Grade == Plain && len(grades) > 1 {
			grade = -1 // drawn quietly beside the findings
		}
		tip := []string{r.Label, r.Text}
		if words := d.Axis.Unit.sayRange(r.Low, r.High); words != "" {
			tip = append(tip, interval+" "+words)
		}
		if r.Ref != nil {
			tip = append(tip, d.RefName+" "+d.Axis.Unit.say(r.Ref))
		}
		marks = append(marks, mark{
			Value: []any{s.inside(r.Est), i, s.inside(r.Low), s.inside(r.High), s.inside(r.Ref), grade},
			Tip:   tipLines(tip...),
		})
	}
	c := rowChart(d.Axis.valueAxis(s), labels, texts)
	addMarks(c, "estimates", "fn:whisker", marks, []int{0, 2, 3, 4}, 1)

	keys := gradeKeys(grades)
	keys = append(keys, Key{Whisker, Series(0), interval})
	patches := []patch{ticksAt("xAxis", s, d.Axis.Unit.tickName()), lastTicks}
	if hasRef {
		keys = append(keys, Key{OpenDiamond, Series(1), d.RefName})
	}
	if d.Reference != nil {
		patches = append(patches, upright(*d.Reference))
		if !hasRef && d.RefName != "" {
			keys = append(keys, Key{Dash, Quiet, d.RefName})
		}
	}
	return finish(d.Head, rowHeight(len(d.Rows)), c, rowFrame(labels, texts), keys, patches...)
}

// drawn tells whether there is something to draw: the figure, or an interval without one.
func (r Row) drawn() bool { return r.Est != nil || r.Low != nil && r.High != nil }

func (r Row) check() error {
	if err := finite(r.Est, r.Low, r.Ref); err != nil {
		return err
	}
	if r.High != nil && (math.IsNaN(*r.High) || math.IsInf(*r.High, -1)) {
		return fmt.Errorf("upper end %v can't be drawn: pass nil for unknown", *r.High)
	}
	if r.Low != nil && r.High != nil && *r.Low > *r.High {
		return fmt.Errorf("interval %v to %v runs backwards", *r.Low, *r.High)
	}
	return nil
}

// inside rounds a value for drawing; one beyond the axis is put a step outside it,
// where report.js draws an arrow at the edge. Log axes never get 0.
func (s scale) inside(v *float64) any {
	switch {
	case v == nil:
		return nil
	case *v > s.max:
		return round4(s.max * 1.01)
	case *v < s.min && s.min > 0:
		return round4(s.min * 0.99)
	}
	return round4(*v)
}

// gradeKeys explains the dots that occur, firmest first.
func gradeKeys(grades map[Grade]bool) []Key {
	var keys []Key
	for _, g := range []struct {
		grade Grade
		key   Key
	}{
		{Plain, Key{Dot, Series(0), "measured"}},
		{Firm, Key{Dot, Series(0), "firm"}},
		{Leaning, Key{HalfDot, Series(0), "leaning"}},
		{Thin, Key{Ring, Series(0), "thin"}},
	} {
		if grades[g.grade] {
			keys = append(keys, g.key)
		}
	}
	if len(keys) > 1 && grades[Plain] {
		keys[0].Text = "not a finding"
		keys[0].Tone = Quiet
	}
	return keys
}
