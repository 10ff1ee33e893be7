package charts

import (
	echarts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"
)

// A mark is one drawn thing: its numbers, and the tooltip's lines made in Go.
type mark struct {
	Value []any    `json:"value"`
	Tip   []string `json:"tip,omitempty"`
	Text  string   `json:"text,omitempty"` // drawn on the mark itself
	Open  bool     `json:"open,omitempty"` // a dot of a line that is drawn open
}

const (
	rowPx    = 28
	topPx    = 8
	bottomPx = 52
)

// rowLabels cleans what stands left and right of the rows.
func rowLabels(n int, label, text func(i int) string) (labels, texts []string) {
	labels, texts = make([]string, n), make([]string, n)
	for i := range n {
		labels[i], texts[i] = clip(label(i), 52), clip(text(i), 28)
	}
	return labels, texts
}

// rowFrame is the room a chart with rows needs.
func rowFrame(labels, texts []string) frame {
	return frame{
		Labels: min(columnPx(labels)+14, 330), Values: min(columnPx(texts)+14, 200),
		Rows: len(labels), Top: topPx, Bottom: bottomPx,
	}
}

func rowHeight(rows int) int { return topPx + bottomPx + rows*rowPx }

// rowChart is a chart with rows down the side and one value axis at the bottom.
func rowChart(x opts.XAxis, labels, texts []string) *echarts.Custom {
	c := echarts.NewCustom()
	c.SetGlobalOptions(echarts.WithXAxisOpts(x))
	c.YAxisList = rowAxes(labels, texts)
	return c
}

// addMarks adds a custom series drawn by the named function of report.js. x and y
// are the positions in a mark's Value that belong to the axes.
func addMarks(c *echarts.Custom, name, renderItem string, marks []mark, x, y any) {
	c.AddSeries(name, nil, echarts.WithSeriesOpts(func(s *echarts.SingleSeries) {
		s.RenderItem = types.FuncStr(renderItem)
		s.Encode = &opts.Encode{X: x, Y: y}
		s.Data = marks
	}))
}

// lastTicks keeps an axis with rows from drawing ticks, for which go-echarts has no field.
func lastTicks(option map[string]any) {
	for i := range option["yAxis"].([]any) {
		axisAt(option, "yAxis", i)["axisTick"] = map[string]any{"show": false}
	}
}

// upright draws vertical lines at the given values, dashed, with no label: the key
// says what they are.
func upright(values ...float64) patch {
	return func(option map[string]any) {
		lines := make([]any, len(values))
		for i, v := range values {
			lines[i] = map[string]any{"xAxis": round4(v)}
		}
		seriesAt(option, 0)["markLine"] = map[string]any{
			"silent": true, "symbol": "none", "label": map[string]any{"show": false}, "data": lines,
		}
	}
}
