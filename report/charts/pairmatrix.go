package charts

import (
	"fmt"
	"math"

	echarts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
)

// MaxNames is how many components a matrix may hold before its numbers can't be read.
const MaxNames = 16

// A PairCell is one pair of a PairMatrix. A and B are positions in Names, A != B.
type PairCell struct {
	A, B  int
	Ratio *float64 // odds ratio; may be +Inf; nil when unknown, and the cell stays empty
	Text  string   // second line of the tooltip: "both on 14 visits of 302"
	Firm  bool     // a finding: the cell gets a border
}

// PairMatrix shows which components fail together: one cell per pair, with its
// odds ratio in figures and by depth of colour.
type PairMatrix struct {
	Head
	Names []string // at most MaxNames
	Cells []PairCell
}

// ratioClasses are the lower ends of the cell colours h0 to h5.
var ratioClasses = [6]float64{0, 0.5, 1, 2, 4, 8}

// Chart builds it. Fewer than two names or no known ratio is ErrEmpty.
func (m PairMatrix) Chart() (Chart, error) {
	n := len(m.Names)
	if n > MaxNames {
		return Chart{}, fmt.Errorf("chart %s: %d components: want at most %d; show the rest in the table", m.ID, n, MaxNames)
	}
	names := make([]string, n)
	for i, name := range m.Names {
		names[i] = clip(name, 22)
	}
	var marks []mark
	used, firm := [len(ratioClasses)]bool{}, false
	for i, cell := range m.Cells {
		if cell.A < 0 || cell.B < 0 || cell.A >= n || cell.B >= n || cell.A == cell.B {
			return Chart{}, fmt.Errorf("chart %s: cell %d: %d and %d are not two of %d names", m.ID, i+1, cell.A, cell.B, n)
		}
		if cell.Ratio == nil {
			continue
		}
		if math.IsNaN(*cell.Ratio) || *cell.Ratio < 0 {
			return Chart{}, fmt.Errorf("chart %s: cell %d: odds ratio %v can't be drawn: pass nil for unknown", m.ID, i+1, *cell.Ratio)
		}
		row, column := max(cell.A, cell.B), min(cell.A, cell.B)
		class := ratioClass(*cell.Ratio)
		used[class], firm = true, firm || cell.Firm
		border := 0
		if cell.Firm {
			border = 1
		}
		text := cellText(*cell.Ratio)
		marks = append(marks, mark{
			Value: []any{column, row - 1, class, border},
			Text:  text,
			Tip: tipLines(m.Names[row]+" with "+m.Names[column],
				"odds ratio "+text, cell.Text),
		})
	}
	if len(marks) == 0 {
		return Chart{}, ErrEmpty
	}
	c := echarts.NewCustom()
	band := func() *opts.AxisLabel { return &opts.AxisLabel{Interval: "0", Overflow: "truncate"} }
	c.SetGlobalOptions(echarts.WithXAxisOpts(opts.XAxis{
		Type: "category", AxisLine: &opts.AxisLine{Show: off}, AxisTick: &opts.AxisTick{Show: off},
		SplitLine: &opts.SplitLine{Show: off}, AxisLabel: band(),
	}))
	c.SetXAxis(names[:n-1])
	c.YAxisList = []opts.YAxis{{
		Type: "category", Inverse: on, Data: names[1:],
		AxisLine: &opts.AxisLine{Show: off}, SplitLine: &opts.SplitLine{Show: off}, AxisLabel: band(),
	}}
	addMarks(c, "pairs", "fn:cell", marks, 0, 1)

	words := [len(ratioClasses)]string{"under 0.5 times", "0.5 to 1", "1 to 2", "2 to 4", "4 to 8", "8 times or more"}
	var keys []Key
	for i, text := range words {
		if used[i] {
			keys = append(keys, Key{Cell, Tone(fmt.Sprintf("h%d", i)), text})
		}
	}
	if firm {
		keys = append(keys, Key{FirmCell, Ink, "firm"})
	}
	labels := min(columnPx(names)+14, 170)
	bottom := labels*7/10 + 16 // labels stand at 45 degrees
	f := frame{Labels: labels, Top: topPx, Bottom: bottom}
	return finish(m.Head, f.Top+f.Bottom+(n-1)*34, c, f, keys, lastTicks, func(option map[string]any) {
		axisAt(option, "xAxis", 0)["axisLabel"].(map[string]any)["rotate"] = 45
	})
}

func ratioClass(ratio float64) int {
	class := 0
	for i, low := range ratioClasses {
		if ratio >= low {
			class = i
		}
	}
	return class
}

// cellText writes an odds ratio in at most four characters.
func cellText(ratio float64) string {
	switch {
	case ratio >= 99.5:
		return "99+"
	case ratio >= 9.95:
		return fmt.Sprintf("%.0f", ratio)
	}
	return fmt.Sprintf("%.1f", ratio)
}
