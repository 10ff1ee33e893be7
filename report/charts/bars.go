package charts

import "fmt"

// A Bar is one row of Bars.
type Bar struct {
	Label string
	Value *float64 // not below 0; nil when unknown
	Text  string   // beside the row: "3 stockouts"
	Ours  bool     // the row the finding is about: drawn full, the others outlined
}

// Bars compares a few totals, such as stock policies over the same months.
type Bars struct {
	Head
	Axis Axis // Share, Number or Count: a bar starts at 0
	Rows []Bar
}

// Chart builds it. No known value is ErrEmpty.
func (b Bars) Chart() (Chart, error) {
	if b.Axis.Unit.logarithmic() {
		return Chart{}, fmt.Errorf("chart %s: bars start at 0 and can't stand on a log axis", b.ID)
	}
	values := make([]*float64, len(b.Rows))
	for i, r := range b.Rows {
		if err := finite(r.Value); err != nil {
			return Chart{}, fmt.Errorf("chart %s: row %d: %w", b.ID, i+1, err)
		}
		if r.Value != nil && *r.Value < 0 {
			return Chart{}, fmt.Errorf("chart %s: row %d: %v is below 0", b.ID, i+1, *r.Value)
		}
		values[i] = r.Value
	}
	s, err := b.Axis.Unit.fit(values)
	if err != nil {
		return Chart{}, ErrEmpty
	}
	labels, texts := rowLabels(len(b.Rows),
		func(i int) string { return b.Rows[i].Label }, func(i int) string { return b.Rows[i].Text })
	var marks []mark
	for i, r := range b.Rows {
		if r.Value == nil {
			continue
		}
		ours := 0
		if r.Ours {
			ours = 1
		}
		marks = append(marks, mark{Value: []any{number(r.Value), i, ours}, Tip: tipLines(r.Label, r.Text)})
	}
	c := rowChart(b.Axis.valueAxis(s), labels, texts)
	addMarks(c, "totals", "fn:bar", marks, 0, 1)
	return finish(b.Head, rowHeight(len(b.Rows)), c, rowFrame(labels, texts), nil,
		ticksAt("xAxis", s, b.Axis.Unit.tickName()), lastTicks)
}
