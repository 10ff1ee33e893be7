package charts

import (
	"fmt"
	"math"

	echarts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
)

// MaxNames is how many components a matrix may hold before its numbers can't be read, on a phone too.
const MaxNames = 10

// A PairCell is one cell of a PairMatrix. Row and Column are positions in Names, Row != Column.
type PairCell struct {
	Row, Column int
	Share       *float64 // of the visits with Row bad, those with Column bad too, 0 to 1; nil when unknown, and the cell stays empty
	Text        string   // second line of the tooltip: "both on 14 visits, the first on 302"
	Firm        bool     // a finding: the cell gets a border
}

// PairMatrix answers, with one component open, which others are worth a look: along a row, how often each of the
// others was bad too, in per cent and by depth of colour.
type PairMatrix struct {
	Head
	Names []string // at most MaxNames
	Cells []PairCell
}

// shareClasses are the lower ends of the cell colours h0 to h4; the first holds "not once" alone.
var shareClasses = [5]float64{0, math.SmallestNonzeroFloat64, 0.05, 0.1, 0.2}

// Chart builds it. Fewer than two names or no known share is ErrEmpty.
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
	used, firm := [len(shareClasses)]bool{}, false
	for i, cell := range m.Cells {
		if cell.Row < 0 || cell.Column < 0 || cell.Row >= n || cell.Column >= n || cell.Row == cell.Column {
			return Chart{}, fmt.Errorf("chart %s: cell %d: %d and %d are not two of %d names", m.ID, i+1, cell.Row, cell.Column, n)
		}
		if cell.Share == nil {
			continue
		}
		if !(*cell.Share >= 0 && *cell.Share <= 1) {
			return Chart{}, fmt.Errorf("chart %s: cell %d: share %v can't be drawn: want 0 to 1, or nil for unknown", m.ID, i+1, *cell.Share)
		}
		class := shareClass(*cell.Share)
		used[class], firm = true, firm || cell.Firm
		border := 0
		if cell.Firm {
			border = 1
		}
		marks = append(marks, mark{
			Value: []any{cell.Column, cell.Row, class, border},
			Text:  percentText(*cell.Share),
			Tip:   tipLines("with "+m.Names[cell.Row]+" bad, "+m.Names[cell.Column]+" too: "+Share.say(cell.Share), cell.Text),
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
	c.SetXAxis(names)
	c.YAxisList = []opts.YAxis{{
		Type: "category", Inverse: on, Data: names,
		AxisLine: &opts.AxisLine{Show: off}, SplitLine: &opts.SplitLine{Show: off}, AxisLabel: band(),
	}}
	addMarks(c, "pairs", "fn:cell", marks, 0, 1)

	words := [len(shareClasses)]string{"not once", "under 5%", "5 to 10%", "10 to 20%", "20% or more"}
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
	return finish(m.Head, f.Top+f.Bottom+n*34, c, f, keys, lastTicks, func(option map[string]any) {
		axisAt(option, "xAxis", 0)["axisLabel"].(map[string]any)["rotate"] = 45
	})
}

func shareClass(share float64) int {
	class := 0
	for i, low := range shareClasses {
		if share >= low {
			class = i
		}
	}
	return class
}

// percentText writes a share as a whole number of per cent in at most three characters.
func percentText(share float64) string {
	if share > 0 && share < 0.005 {
		return "<1"
	}
	return fmt.Sprintf("%.0f", share*100)
}
