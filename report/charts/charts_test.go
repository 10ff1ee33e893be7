package charts

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func p(v float64) *float64 { return &v }

var head = Head{ID: "c", Title: "A finding.", Alt: "What it shows."}

// forms builds one small chart of every form with the given name in every place a
// log's text can reach.
func forms(name string) map[string]func() (Chart, error) {
	day := func(d int) time.Time { return time.Date(2026, 3, d, 0, 0, 0, 0, time.UTC) }
	curve := Curve{Name: name, Days: []float64{3, 40}, Share: []*float64{p(0.1), p(0.2)}, Low: []*float64{p(0), p(0.1)}, High: []*float64{p(0.3), p(0.4)},
		At: []Reading{{Day: 30, Est: p(0.1), Low: p(0), High: p(0.3), AtRisk: 7}}}
	return map[string]func() (Chart, error){
		"dotwhisker": DotWhisker{Head: head, Axis: Axis{"share", Share}, RefName: name, Rows: []Row{{Label: name, Est: p(1.0 / 3), Low: p(0.1), High: p(0.5), Ref: p(0.2), Text: name, Grade: Firm}, {Label: name}}}.Chart,
		"forest":     Forest{Head: head, Axis: Axis{"ratio", Ratio}, NullName: name, Null: p(1), Studies: []Study{{Label: name, Est: p(2), Low: p(1), High: p(4), Weight: 1, Text: name}}, Pooled: Study{Label: name, Est: p(2)}}.Chart,
		"quantiles":  Quantiles{Head: head, Axis: Axis{"bench minutes", Minutes}, Rows: []Spread{{Label: name, Q1: p(10), Median: p(20), Q3: p(30), Mean: p(25), Text: name}}}.Chart,
		"band":       Band{Head: head, Axis: Axis{"share", Share}, Months: []string{"Jan", name}, Traces: []Trace{{Name: name, Y: []*float64{p(0.1), nil}, Low: []*float64{p(0), nil}, High: []*float64{p(0.2), nil}, Text: []string{name, name}, Flag: []bool{true, true}}}}.Chart,
		"survival":   Survival{Head: head, Horizon: 90, Curves: []Curve{curve}}.Chart,
		"pairmatrix": PairMatrix{Head: head, Names: []string{name, "b"}, Cells: []PairCell{{Column: 1, Share: p(0.3), Text: name, Firm: true}}}.Chart,
		"spans":      Spans{Head: head, Lanes: []string{name}, From: day(1), To: day(31), Spans: []Span{{From: day(3), To: day(9), Grade: Thin, Text: name, Tip: []string{name}}}}.Chart,
		"bars":       Bars{Head: head, Axis: Axis{"stockouts", Count}, Rows: []Bar{{Label: name, Value: p(3), Text: name}}}.Chart,
	}
}

// functionsIn lists where an option names a function, as paths without indices.
func functionsIn(v any, path string, out map[string]bool) {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			functionsIn(x, path+"."+k, out)
		}
	case []any:
		for _, x := range v {
			functionsIn(x, path, out)
		}
	case string:
		if strings.HasPrefix(v, "fn:") {
			out[path] = true
		}
	}
}

func TestForms(t *testing.T) {
	places := map[string]bool{".xAxis.axisLabel.formatter": true, ".yAxis.axisLabel.formatter": true, ".tooltip.formatter": true, ".series.renderItem": true}
	for form, build := range forms("loudspeaker") {
		c, err := build()
		if err != nil {
			t.Errorf("%s: %v", form, err)
			continue
		}
		var option map[string]any
		if err := json.Unmarshal(c.Option, &option); err != nil {
			t.Errorf("%s: %v", form, err)
		}
		found := map[string]bool{}
		functionsIn(option, "", found)
		for path := range found {
			if !places[path] {
				t.Errorf("%s names a function at %s, where report.js does not look", form, path)
			}
		}
		if !found[".tooltip.formatter"] || !found[".series.renderItem"] {
			t.Errorf("%s names functions only at %v", form, found)
		}
		for _, gone := range []string{"title", "legend", "toolbox", "color"} {
			if _, ok := option[gone]; ok {
				t.Errorf("%s: the option still has %q", form, gone)
			}
		}
		if option["animation"] != false || option["tooltip"].(map[string]any)["renderMode"] != "richText" {
			t.Errorf("%s: animation %v, tooltip %v", form, option["animation"], option["tooltip"])
		}
		if c.HeightPx < 80 || c.HeightPx > 400 || c.Title != head.Title {
			t.Errorf("%s: %d px, title %q", form, c.HeightPx, c.Title)
		}
	}
}

// The same input gives the same bytes, whatever the text in it, and no text can leave
// a script block.
func TestOptionsAreStableAndInert(t *testing.T) {
	for _, name := range []string{"loudspeaker", "</script><script>alert(1)</script>", "<!--", "__f__alert(1)__f__", "fn:whisker", "__proto__", "a\u2028b\u202ec", strings.Repeat("x", 10000)} {
		for form, build := range forms(name) {
			first, err := build()
			if err != nil {
				t.Fatalf("%s: %v", form, err)
			}
			for range 5 {
				again, _ := forms(name)[form]()
				if !bytes.Equal(first.Option, again.Option) {
					t.Fatalf("%s: built twice, two texts:\n%s\n%s", form, first.Option, again.Option)
				}
			}
			if bytes.ContainsAny(first.Option, "<>&\u2028\u202e") {
				t.Errorf("%s: the option holds a character that a page could act on: %s", form, first.Option)
			}
			if len(first.Option) > 8000 {
				t.Errorf("%s: %d bytes for a small chart", form, len(first.Option))
			}
		}
	}
}

func TestFourDecimals(t *testing.T) {
	c, err := forms("x")["dotwhisker"]()
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(c.Option, []byte("0.3333,")) {
		t.Errorf("a third is not drawn as 0.3333: %s", c.Option)
	}
}

func TestRefusals(t *testing.T) {
	nan, share := p(math.NaN()), Axis{"share", Share}
	row := func(r Row) func() (Chart, error) {
		return DotWhisker{Head: head, Axis: share, Rows: []Row{r}}.Chart
	}
	six := make([]Trace, 6)
	for i := range six {
		six[i].Y = []*float64{p(1)}
	}
	for name, tc := range map[string]struct {
		build func() (Chart, error)
		want  string
	}{
		"NaN estimate":        {row(Row{Est: nan}), "NaN can't be drawn"},
		"infinite estimate":   {row(Row{Est: p(math.Inf(1))}), "+Inf can't be drawn"},
		"NaN upper end":       {row(Row{Est: p(0.1), High: nan}), "NaN can't be drawn"},
		"backwards interval":  {row(Row{Est: p(0.1), Low: p(0.3), High: p(0.2)}), "runs backwards"},
		"bad id":              {DotWhisker{Head: Head{ID: "a b", Title: "t", Alt: "a"}, Axis: share, Rows: []Row{{Est: p(0.1)}}}.Chart, "want small letters"},
		"no title":            {DotWhisker{Head: Head{ID: "a", Alt: "a"}, Axis: share, Rows: []Row{{Est: p(0.1)}}}.Chart, "want a title"},
		"no alt":              {DotWhisker{Head: Head{ID: "a", Title: "a"}, Axis: share, Rows: []Row{{Est: p(0.1)}}}.Chart, "can't see it"},
		"six lines":           {Band{Head: head, Months: []string{"a"}, Traces: six}.Chart, "at most 5"},
		"values do not match": {Band{Head: head, Months: []string{"a", "b"}, Traces: six[:1]}.Chart, "1 values for 2 months"},
		"band on a log axis":  {Band{Head: head, Axis: Axis{"m", Minutes}, Months: []string{"a"}, Traces: six[:1]}.Chart, "wants a share"},
		"bars on a log axis":  {Bars{Head: head, Axis: Axis{"m", Minutes}, Rows: []Bar{{Value: p(1)}}}.Chart, "log axis"},
		"negative bar":        {Bars{Head: head, Axis: Axis{"n", Number}, Rows: []Bar{{Value: p(-1)}}}.Chart, "below 0"},
		"falling days":        {Survival{Head: head, Horizon: 90, Curves: []Curve{{Days: []float64{5, 3}, Share: []*float64{p(0), p(0)}}}}.Chart, "do not fall"},
		"no horizon":          {Survival{Head: head, Curves: []Curve{{}}}.Chart, "horizon"},
		"falling quantiles":   {Quantiles{Head: head, Axis: Axis{"m", Minutes}, Rows: []Spread{{Median: p(20), Q1: p(30)}}}.Chart, "do not rise"},
		"a pair with itself":  {PairMatrix{Head: head, Names: []string{"a", "b"}, Cells: []PairCell{{Share: p(1)}}}.Chart, "not two of"},
		"NaN pair":            {PairMatrix{Head: head, Names: []string{"a", "b"}, Cells: []PairCell{{Column: 1, Share: nan}}}.Chart, "can't be drawn"},
		"too many names":      {PairMatrix{Head: head, Names: make([]string, 11)}.Chart, "at most 10"},
		"weightless study":    {Forest{Head: head, Axis: Axis{"r", Ratio}, Studies: []Study{{Est: p(1)}}}.Chart, "weight 0"},
		"lane out of range":   {Spans{Head: head, Lanes: []string{"a"}, From: time.Unix(0, 0), To: time.Unix(9e6, 0), Spans: []Span{{Lane: 1}}}.Chart, "lane 1 of 1"},
	} {
		if _, err := tc.build(); err == nil || !strings.Contains(err.Error(), tc.want) || errors.Is(err, ErrEmpty) {
			t.Errorf("%s: error %v, want one that says %q", name, err, tc.want)
		}
	}
}

func TestEmpty(t *testing.T) {
	for form, build := range map[string]func() (Chart, error){
		"dotwhisker": DotWhisker{Head: head, Rows: []Row{{Label: "unknown"}}}.Chart,
		"forest":     Forest{Head: head}.Chart,
		"quantiles":  Quantiles{Head: head, Rows: []Spread{{Label: "unknown"}}}.Chart,
		"band":       Band{Head: head, Months: []string{"a"}, Traces: []Trace{{Y: []*float64{nil}}}}.Chart,
		"survival":   Survival{Head: head}.Chart,
		"pairmatrix": PairMatrix{Head: head, Names: []string{"a"}}.Chart,
		"spans":      Spans{Head: head}.Chart,
		"bars":       Bars{Head: head, Rows: []Bar{{}}}.Chart,
	} {
		if _, err := build(); !errors.Is(err, ErrEmpty) {
			t.Errorf("%s: error %v, want ErrEmpty", form, err)
		}
	}
}

// Any finite rows give an option whose drawn values stay within a step of the axis,
// so that nothing vanishes outside it.
func TestRowsStayOnTheAxis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]Unit{Share, Number, Minutes, Ratio}).Draw(t, "unit")
		var rows []Row
		for range rapid.IntRange(1, 8).Draw(t, "n") {
			a, b, c := rapid.Float64Range(0, 1).Draw(t, "a"), rapid.Float64Range(0, 1).Draw(t, "b"), rapid.Float64Range(0, 1e6).Draw(t, "c")
			if unit == Share {
				c = a + b - a*b
			}
			low, mid, high := min(a, b, c), max(min(a, b), min(max(a, b), c)), max(a, b, c)
			row := Row{Label: "x", Est: &mid, Low: &low, High: &high}
			if rapid.Bool().Draw(t, "open") {
				row.High = p(math.Inf(1))
			}
			rows = append(rows, row)
		}
		c, err := DotWhisker{Head: head, Axis: Axis{"v", unit}, Rows: rows}.Chart()
		if err != nil {
			t.Fatal(err)
		}
		var option struct {
			XAxis  []struct{ Min, Max float64 }
			Series []struct {
				Data []struct{ Value []*float64 }
			}
		}
		if err := json.Unmarshal(c.Option, &option); err != nil {
			t.Fatal(err)
		}
		x := option.XAxis[0]
		for _, d := range option.Series[0].Data {
			for _, dim := range []int{0, 2, 3} {
				if v := d.Value[dim]; v == nil || *v < x.Min*0.98 || *v > x.Max*1.02 {
					t.Fatalf("dimension %d is %v on an axis from %v to %v", dim, v, x.Min, x.Max)
				}
			}
		}
	})
}
