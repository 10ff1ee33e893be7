// Package charts turns plain numbers into charts: a safe drawing option as JSON,
// a title that says the finding, words for those who cannot see it, and a key.
//
// Each form is a struct with a Chart method, one file a form:
//
//	DotWhisker  intervals in rows, with a reference: shares, ratios
//	Forest      the same for several shops, with the pooled result as a diamond
//	Quantiles   spread of times in rows, on a minutes axis
//	Band        a line over months, its interval and its control limits
//	Survival    what has come back by which day, as steps with bands
//	PairMatrix  components against components, with numbers
//	Spans       alarms as bars on a calendar
//	Bars        a few totals side by side
//
// The option holds text and numbers only. Functions are named ("fn:whisker") at
// fixed places and looked up by report.js in its own table; a name in the data
// stays data. Colours are not in the option either: report.js takes them from
// report.css, so that dark mode and print can change them.
//
// Unknown values are nil pointers and are left out of the drawing. NaN is an
// error. The same input gives the same bytes.
package charts

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"regexp"

	"github.com/go-echarts/go-echarts/v2/opts"
)

// MaxSeries is how many lines or groups one chart may show apart: the palette has
// five colours that stay distinct for colour-blind readers, and so do the shapes.
const MaxSeries = 5

// A Head is what every chart is called.
type Head struct {
	ID    string // unique on its page; small letters, digits and hyphens, a letter first
	Title string // the finding, as a sentence: "The P4's speakers fail twice as often as its class's"
	Alt   string // what a reader who cannot see the chart should know; the table has the numbers
}

// A Chart is ready to be put in a page by report/layout.
type Chart struct {
	Head
	HeightPx int             // on a screen 560 px wide or more; report.js adds room on a phone
	Key      []Key           // what the marks mean, drawn in HTML above the chart
	Option   json.RawMessage // for a <script type="application/json"> block
}

// A Key explains one mark. Shape is one of the Shape constants; Tone is its colour.
type Key struct {
	Shape Shape
	Tone  Tone
	Text  string
}

// A Shape is a mark in a key, so that no chart rests on colour alone.
type Shape string

// The shapes report/layout can draw.
const (
	Dot         Shape = "dot"          // filled circle
	HalfDot     Shape = "half-dot"     // circle, left half filled
	Ring        Shape = "ring"         // open circle
	Diamond     Shape = "diamond"      // filled
	OpenDiamond Shape = "open-diamond" //
	Square      Shape = "square"       // filled
	Whisker     Shape = "whisker"      // an interval with end caps
	Box         Shape = "box"          // an outlined area
	DashBox     Shape = "dash-box"     // a dashed outline
	Tick        Shape = "tick"         // a short upright line
	Line        Shape = "line"         // solid
	Thick       Shape = "thick"        // solid and thick
	Dash        Shape = "dash"         // dashed line
	Dots        Shape = "dots"         // dotted line
	LongDash    Shape = "long-dash"    // long dashes
	DashDot     Shape = "dash-dot"     //
	Area        Shape = "area"         // a band
	Cell        Shape = "cell"         // a cell of the matrix
	FirmCell    Shape = "firm-cell"    // a cell with a border
)

// A Tone is a colour by its role in report.css: "s0" to "s4" for series, "ink",
// "quiet", "h0" to "h4" for the cells of a matrix.
type Tone string

// The tones that are not series or cells.
const (
	Ink   Tone = "ink"
	Quiet Tone = "quiet"
)

// Series returns the tone of series i, counted from 0.
func Series(i int) Tone { return Tone(fmt.Sprintf("s%d", i)) }

// A Grade says how sure a figure is and sets its mark: filled, half, open.
type Grade int

// The grades of evidence; Plain marks figures that are not findings.
const (
	Plain Grade = iota
	Firm
	Leaning
	Thin
)

// ErrEmpty is returned by a form that has nothing to draw. A page says so in words.
var ErrEmpty = errors.New("nothing to draw")

var idPattern = regexp.MustCompile(`^[a-z][a-z0-9-]*$`)

// echart is what go-echarts chart types share.
type echart interface {
	Validate()
	JSON() map[string]any
}

// A frame tells report.js how much room the texts around the plot want. It travels
// inside the option and is taken out before drawing.
type frame struct {
	Labels int `json:"labels"` // px wanted left of the plot for row labels; 0 for none
	Values int `json:"values"` // px wanted right of the plot for row texts; 0 for none
	Rows   int `json:"rows"`   // rows that need more height on a phone; 0 for none
	Top    int `json:"top"`    // px above the plot
	Bottom int `json:"bottom"` // px below the plot
}

// A patch sets what go-echarts has no field for.
type patch func(option map[string]any)

// finish checks the head and turns a go-echarts chart into a Chart.
func finish(head Head, height int, c echart, f frame, keys []Key, patches ...patch) (Chart, error) {
	if !idPattern.MatchString(head.ID) {
		return Chart{}, fmt.Errorf("chart id %q: want small letters, digits and hyphens, a letter first", head.ID)
	}
	if head.Title == "" || head.Alt == "" {
		return Chart{}, fmt.Errorf("chart %s: want a title that says the finding and a text for those who can't see it", head.ID)
	}
	c.Validate()
	option, err := decode(c.JSON())
	if err != nil {
		return Chart{}, fmt.Errorf("chart %s: %w", head.ID, err)
	}
	for _, name := range []string{"title", "legend", "toolbox", "color"} {
		delete(option, name)
	}
	option["animation"] = false
	option["tooltip"] = map[string]any{
		"show": true, "trigger": "item", "renderMode": "richText", "confine": true, "formatter": "fn:tip",
	}
	option["frame"] = f
	for _, p := range patches {
		p(option)
	}
	raw, err := json.Marshal(option) // escapes <, >, & and U+2028; sorts keys
	if err != nil {
		return Chart{}, fmt.Errorf("chart %s: %w", head.ID, err)
	}
	for i := range keys {
		keys[i].Text = Clean(keys[i].Text)
	}
	head.Title, head.Alt = Clean(head.Title), Clean(head.Alt)
	return Chart{Head: head, HeightPx: height, Key: keys, Option: raw}, nil
}

// decode turns go-echarts' types into plain maps without its empty values.
func decode(option map[string]any) (map[string]any, error) {
	raw, err := json.Marshal(option)
	if err != nil {
		return nil, err // such as NaN
	}
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	var plain map[string]any
	if err := dec.Decode(&plain); err != nil {
		return nil, err
	}
	return plain, nil
}

// seriesAt returns the i-th series of a decoded option, for a patch.
func seriesAt(option map[string]any, i int) map[string]any {
	return option["series"].([]any)[i].(map[string]any)
}

// axisAt returns the i-th axis of a decoded option, name being xAxis or yAxis.
func axisAt(option map[string]any, name string, i int) map[string]any {
	return option[name].([]any)[i].(map[string]any)
}

// round4 rounds to four decimals: enough to draw with, and the same on every
// machine although fused multiply-add may move the last bits.
func round4(v float64) float64 {
	r := math.Round(v*1e4) / 1e4
	if r == 0 {
		return 0 // not -0
	}
	return r
}

// Known is a value for a chart: v, or nil when ok is false. It takes the two halves of
// a schemas.Float: charts.Known(share.V, share.OK).
func Known(v float64, ok bool) *float64 {
	if !ok {
		return nil
	}
	return &v
}

// number returns a value for JSON: rounded, or null when unknown.
func number(v *float64) any {
	if v == nil {
		return nil
	}
	return round4(*v)
}

// finite reports the first value that is NaN or infinite.
func finite(values ...*float64) error {
	for _, v := range values {
		if v != nil && (math.IsNaN(*v) || math.IsInf(*v, 0)) {
			return fmt.Errorf("value %v can't be drawn: pass nil for unknown", *v)
		}
	}
	return nil
}

var (
	on  = opts.Bool(true)
	off = opts.Bool(false)
)
