package charts

import (
	"fmt"
	"math"
)

// A Study is one shop in a Forest.
type Study struct {
	Label  string
	Est    *float64
	Low    *float64
	High   *float64
	Weight float64 // its part in the pooled result, in (0, 1]; sets the square's size
	Text   string  // beside the row: "1.8 times (14 of 61)"
}

// Forest shows the same figure from several shops and what they say together.
type Forest struct {
	Head
	Axis      Axis
	Studies   []Study
	Pooled    Study    // its Weight is not used
	SpreadLow *float64 // where a further shop would be expected, drawn through the diamond; nil for none
	SpreadHi  *float64
	Null      *float64 // the value of no difference, such as 1 on a ratio axis; nil for none
	NullName  string   // what that line is: "no difference"
}

// Chart builds it. Without a pooled result and without studies it is ErrEmpty.
func (f Forest) Chart() (Chart, error) {
	all := append(append([]Study{}, f.Studies...), f.Pooled)
	values, known := []*float64{f.Null, f.SpreadLow, f.SpreadHi}, false
	for i, st := range all {
		row := Row{Est: st.Est, Low: st.Low, High: st.High}
		if err := row.check(); err != nil {
			return Chart{}, fmt.Errorf("chart %s: row %d: %w", f.ID, i+1, err)
		}
		if i < len(f.Studies) && st.Est != nil && !(st.Weight > 0 && st.Weight <= 1) {
			return Chart{}, fmt.Errorf("chart %s: row %d: weight %v: want a value above 0 and at most 1", f.ID, i+1, st.Weight)
		}
		values = append(values, st.Est, st.Low, st.High)
		known = known || st.Est != nil
	}
	if !known {
		return Chart{}, ErrEmpty
	}
	s, err := f.Axis.Unit.fit(values)
	if err != nil {
		return Chart{}, fmt.Errorf("chart %s: %w", f.ID, err)
	}
	labels, texts := rowLabels(len(all),
		func(i int) string { return all[i].Label }, func(i int) string { return all[i].Text })

	var marks []mark
	for i, st := range all {
		if st.Est == nil {
			continue
		}
		tip := []string{st.Label, st.Text}
		if words := f.Axis.Unit.sayRange(st.Low, st.High); words != "" {
			tip = append(tip, "95% interval "+words)
		}
		pooled, size := i == len(f.Studies), 0.0
		var spreadLow, spreadHi any
		if pooled {
			spreadLow, spreadHi = s.inside(f.SpreadLow), s.inside(f.SpreadHi)
			if words := f.Axis.Unit.sayRange(f.SpreadLow, f.SpreadHi); words != "" {
				tip = append(tip, "a further shop would be expected at "+words)
			}
		} else {
			tip = append(tip, fmt.Sprintf("%.0f%% of the weight", st.Weight*100))
			size = round4(math.Sqrt(st.Weight)) // area shows the weight
		}
		marks = append(marks, mark{
			Value: []any{s.inside(st.Est), i, s.inside(st.Low), s.inside(st.High), size, spreadLow, spreadHi},
			Tip:   tipLines(tip...),
		})
	}
	c := rowChart(f.Axis.valueAxis(s), labels, texts)
	addMarks(c, "shops", "fn:forest", marks, []int{0, 2, 3, 5, 6}, 1)

	keys := []Key{
		{Square, Series(0), "one shop, larger with more weight"},
		{Diamond, Series(1), "together, as wide as its 95% interval"},
	}
	if f.SpreadLow != nil || f.SpreadHi != nil {
		keys = append(keys, Key{Dash, Series(1), "where a further shop would be expected"})
	}
	patches := []patch{ticksAt("xAxis", s, f.Axis.Unit.tickName()), lastTicks}
	if f.Null != nil {
		patches = append(patches, upright(*f.Null))
		if f.NullName != "" {
			keys = append(keys, Key{Dash, Quiet, f.NullName})
		}
	}
	return finish(f.Head, rowHeight(len(all)), c, rowFrame(labels, texts), keys, patches...)
}
