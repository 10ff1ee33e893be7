package layout_test

import (
	"fmt"
	"html/template"
	"math"
	"testing"
	"testing/fstest"
	"time"

	"faultgrain/report/charts"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// The gallery holds every chart form and every part a page is made of, on invented
// figures. The browser tests draw it; look at its screenshots after changing the look.

const galleryPage = `{{define "gallery"}}
<p class="eyebrow">May 2026</p>
<h1>The month in brief</h1>
<p class="lead">Speakers on the Lark P4 fail twice as often as on its class, and one supplier's lot is behind most of it. Everything else was steady.</p>
<div class="caution"><p><strong>Batteries first.</strong> Three Brindle T2 batteries came back swollen. Isolate a swollen or hot cell, don't press or charge it, and hand it to hazardous-waste collection by local rules.</p></div>
<ol class="findings">
<li><p class="finding"><a href="#fig-shares">Lark P4: the loudspeaker is bad on {{share .Share}} of visits, against 11% for its class.</a></p><p class="action">Test it before quoting; order two more.</p><p class="meta">{{template "grade" "firm"}}<span>14 of 61 visits</span><span>interval 14% to 35%</span></p></li>
<li><p class="finding"><a href="#fig-pairs">When the earpiece is bad, look at the loudspeaker too: odds 4.1 times higher.</a></p><p class="meta">{{template "grade" "leaning"}}<span>both on 14 visits of 302</span></p></li>
<li><p class="finding">Brindle T2 charge ports may be getting worse.</p><p class="meta">{{template "grade" "thin"}}<span>about 30 more visits would settle it</span></p></li>
</ol>
<dl class="facts">
<div><dt>visits read</dt><dd>1,204 <small>1 June 2025 to 31 May 2026</small></dd></div>
<div><dt>to order</dt><dd>{{moneyRound 1240.4 "EUR"}} <small>11 lines</small></dd></div>
<div><dt>median bench time</dt><dd>{{minutes 42}} <small>of 980 jobs</small></dd></div>
<div><dt>rows set aside</dt><dd>17 <small>of 1,221, with reasons</small></dd></div>
</dl>
<h2>What fails</h2>
{{range .Figures}}{{template "figure" .}}
{{end}}
<h2>All models</h2>
{{template "table" .Table}}
<div class="note"><p>An association is not a cause, and a repair log sees only what came through the door.</p></div>
{{end}}`

func galleryNames(names []string) func(i int) string {
	return func(i int) string { return names[i%len(names)] }
}

var plainNames = []string{
	"loudspeaker", "earpiece", "battery", "charge port", "display", "rear camera", "back glass",
	"power button", "microphone", "proximity sensor", "mainboard",
}

// gallery builds the page with the given names wherever a log's text could stand.
func gallery(t testing.TB, names []string) layout.Page {
	t.Helper()
	name := galleryNames(names)
	var figures []layout.Figure
	add := func(c charts.Chart, err error, caption string, table layout.Table) {
		if err != nil {
			t.Fatal(err)
		}
		figures = append(figures, layout.Figure{Chart: c, Caption: caption, Table: table, CSV: "tables/" + c.ID + ".csv"})
	}
	head := func(id, title string) charts.Head {
		return charts.Head{ID: id, Title: title, Alt: "Chart. " + title + " The figures are in the table below."}
	}
	f := func(v float64) *float64 { return &v }

	var rows []charts.Row
	table := layout.Table{ID: "t-shares", Caption: "Share of visits with each component bad", Filter: true, Columns: []layout.Column{
		{Head: "component"}, {Head: "share of visits", Num: true}, {Head: "faults", Num: true}, {Head: "visits", Num: true}, {Head: "class", Num: true}, {Head: "grade"}}}
	faults := []int{14, 9, 8, 7, 6, 5, 3, 2, 1, 1, 0}
	for i, k := range faults {
		share, low, high := wilson(k, 61)
		grade := []charts.Grade{charts.Firm, charts.Leaning, charts.Plain, charts.Thin}[min(i, 3)]
		if i > 3 {
			grade = charts.Plain
		}
		rows = append(rows, charts.Row{Label: name(i), Est: f(share), Low: f(low), High: f(high), Ref: f(0.02 + 0.1*share + 0.005*float64(i)), Text: wording.ShareOfN(k, 61), Grade: grade})
		table.Rows = append(table.Rows, []layout.Cell{layout.Text(name(i)), layout.Range(schemas.Known(share), schemas.Known(low), schemas.Known(high), wording.Share, wording.ShareRange),
			layout.Count(k), layout.Count(61), layout.Number(schemas.Known(0.11), wording.Share), layout.Graded([]string{"firm", "leaning", "thin"}[i%3])})
	}
	c, err := charts.DotWhisker{Head: head("shares", "The P4's loudspeaker fails twice as often as its class's."),
		Axis: charts.Axis{Name: "share of diagnosed visits", Unit: charts.Share}, Rows: rows, RefName: "the rest of its class"}.Chart()
	add(c, err, "Each row is a component of the Lark P4: the dot is the share of its 61 diagnosed visits, the line the interval the true share would lie in 95 times of 100.", table)

	ratios := make([]charts.Row, 6)
	for i := range ratios {
		r := math.Pow(2, 2.2-0.7*float64(i))
		ratios[i] = charts.Row{Label: name(i), Est: f(r), Low: f(r / (1.3 + 0.4*float64(i))), High: f(r * (1.3 + 0.4*float64(i))), Text: wording.Times(r), Grade: charts.Firm}
	}
	ratios[5].High = f(math.Inf(1))
	c, err = charts.DotWhisker{Head: head("ratios", "Two components stand out against the class."),
		Axis: charts.Axis{Name: "times as often as the rest of the class", Unit: charts.Ratio}, Rows: ratios, Reference: f(1), RefName: "as often as the class"}.Chart()
	add(c, err, "A row whose line crosses the dashed one may be no different from its class.", layout.Table{})

	var cells []charts.PairCell
	few := names[:min(len(names), charts.MaxNames)]
	for a := range few {
		for b := range few {
			if a != b && (a+b)%5 > 0 {
				r := 0.15 + 0.15*math.Sin(float64(a*7+b*3))
				cells = append(cells, charts.PairCell{Row: a, Column: b, Share: f(r), Text: fmt.Sprintf("%d of 302 visits", a+b), Firm: r > 0.28})
			}
		}
	}
	c, err = charts.PairMatrix{Head: head("pairs", "A bad earpiece points to the loudspeaker."), Names: few, Cells: cells}.Chart()
	add(c, err, "Along a row: how often each of the others was bad too. Only numbers above chance can be findings, because a visit exists only when something failed.",
		layout.Table{Caption: "Pairs", Columns: []layout.Column{{Head: "pair"}, {Head: "odds ratio", Num: true}}, Rows: [][]layout.Cell{{layout.Text(name(0) + " with " + name(1)), layout.Number(schemas.Known(4.1), wording.Times)}}})

	months := make([]string, 18)
	trace := charts.Trace{Name: name(0)}
	limits := &charts.Limits{}
	for i := range months {
		months[i] = time.Date(2024, time.Month(12+i), 1, 0, 0, 0, 0, time.UTC).Format("Jan 2006")
		n, k := 40+i, 5+i%3
		if i == 16 {
			k = 17
		}
		share, low, high := wilson(k, n)
		trace.Y, trace.Low, trace.High = append(trace.Y, f(share)), append(trace.Low, f(low)), append(trace.High, f(high))
		if i == 6 {
			trace.Y[i], trace.Low[i], trace.High[i] = nil, nil, nil
		}
		trace.Flag = append(trace.Flag, i == 16)
		trace.Text = append(trace.Text, wording.ShareOfN(k, n))
		limits.Centre, limits.Lower, limits.Upper = append(limits.Centre, f(0.12)), append(limits.Lower, f(0.01)), append(limits.Upper, f(0.12+0.9/math.Sqrt(float64(n))))
	}
	c, err = charts.Band{Head: head("trend", "Loudspeakers jumped in April 2026."), Axis: charts.Axis{Name: "share of diagnosed visits", Unit: charts.Share},
		Months: months, Traces: []charts.Trace{trace}, Limits: limits}.Chart()
	add(c, err, "The dashed lines are the usual level and the limits that chance alone keeps to.", layout.Table{})

	multi := charts.Band{Head: head("lines", "Five components over a year and a half."), Axis: charts.Axis{Name: "faults a month", Unit: charts.Count}, Months: months}
	for s := range charts.MaxSeries {
		tr := charts.Trace{Name: name(s)}
		for i := range months {
			tr.Y = append(tr.Y, f(10+6*float64(s)+5*math.Sin(float64(i)/2+float64(s))))
		}
		multi.Traces = append(multi.Traces, tr)
	}
	c, err = multi.Chart()
	add(c, err, "", layout.Table{})

	curve := func(name string, rate float64) charts.Curve {
		c := charts.Curve{Name: name}
		for d := 5.0; d <= 185; d += 9 {
			v := 1 - math.Exp(-rate*d)
			c.Days, c.Share = append(c.Days, d), append(c.Share, f(v))
			c.Low, c.High = append(c.Low, f(v*0.7)), append(c.High, f(v*1.35))
		}
		for _, d := range []float64{30, 90, 180} {
			v := 1 - math.Exp(-rate*d)
			c.At = append(c.At, charts.Reading{Day: d, Est: f(v), Low: f(v * 0.7), High: f(v * 1.35), AtRisk: int(200 - d)})
		}
		return c
	}
	c, err = charts.Survival{Head: head("returns", "Aftermarket displays come back three times as often."), Horizon: 180,
		Curves: []charts.Curve{curve(name(0), 0.0012), curve(name(1), 0.0004)}}.Chart()
	add(c, err, "Share of repairs whose device came back for the same component, by day.", layout.Table{})
	c, err = charts.Survival{Head: head("returns-many", "Four suppliers, one of them worse."), Horizon: 180,
		Curves: []charts.Curve{curve(name(0), 0.0012), curve(name(1), 0.0004), curve(name(2), 0.0006), curve(name(3), 0.0008)}}.Chart()
	add(c, err, "", layout.Table{})

	var spreads []charts.Spread
	for i := range 7 {
		m, g := 14*math.Pow(1.5, float64(i)), 1.5+0.1*float64(i)
		spreads = append(spreads, charts.Spread{Label: name(i), P10: f(m / math.Pow(g, 1.2816)), Q1: f(m / math.Pow(g, 0.6745)), Median: f(m), Q3: f(m * math.Pow(g, 0.6745)), P90: f(m * math.Pow(g, 1.2816)),
			Mean: f(m * 1.1), MeanLow: f(m * 0.98), MeanHigh: f(m * 1.25), Text: fmt.Sprintf("%s (%d jobs)", wording.Minutes(m), 80-9*i)})
	}
	c, err = charts.Quantiles{Head: head("times", "A mainboard takes ten times as long as a battery."), Axis: charts.Axis{Name: "bench minutes", Unit: charts.Minutes}, Rows: spreads}.Chart()
	add(c, err, "The scale grows by doubling.", layout.Table{})

	day := func(m, d int) time.Time { return time.Date(2026, time.Month(m), d, 0, 0, 0, 0, time.UTC) }
	c, err = charts.Spans{Head: head("alarms", "Two alarms this spring, one of them firm."), Lanes: []string{"Lark P4 · " + name(0), "class tablet · " + name(2), "Brindle T2 · " + name(3)},
		From: day(-6, 1), To: day(5, 31), Spans: []charts.Span{
			{Lane: 0, From: day(4, 6), To: day(5, 17), Grade: charts.Firm, Text: "11 of 14, expected 3"},
			{Lane: 1, From: day(1, 12), To: day(2, 8), Grade: charts.Leaning, Text: name(1), Tip: []string{"once in 70 months by chance"}},
			{Lane: 2, From: day(-3, 5), To: day(-2, 20), Grade: charts.Thin, Text: "4 of 6, expected 1"}}}.Chart()
	add(c, err, "Each bar is a run of weeks in which a component failed more often than its own past year explains.", layout.Table{})

	c, err = charts.Forest{Head: head("pool", "Four shops agree: the P4's loudspeaker is worse than its class's."), Axis: charts.Axis{Name: "times as often as the rest of the class", Unit: charts.Ratio},
		Studies: []charts.Study{
			{Label: "shop A", Est: f(2.1), Low: f(1.3), High: f(3.4), Weight: 0.45, Text: "2.1 times (14 of 61)"},
			{Label: "shop B", Est: f(1.4), Low: f(0.7), High: f(2.9), Weight: 0.2, Text: "1.4 times (8 of 50)"},
			{Label: name(1), Est: f(2.9), Low: f(1.4), High: f(6), Weight: 0.2, Text: "2.9 times (9 of 33)"},
			{Label: "shop D", Est: f(1.9), Low: f(0.8), High: f(4.4), Weight: 0.15, Text: "1.9 times (6 of 29)"}},
		Pooled: charts.Study{Label: "together", Est: f(2), Low: f(1.5), High: f(2.8), Text: "2 times"}, SpreadLow: f(1.1), SpreadHi: f(3.7), Null: f(1), NullName: "no difference"}.Chart()
	add(c, err, "", layout.Table{})

	c, err = charts.Bars{Head: head("backtest", "This policy would have run out 3 times, against 11."), Axis: charts.Axis{Name: "stockouts in 12 months", Unit: charts.Count}, Rows: []charts.Bar{
		{Label: "this policy", Value: f(3), Text: "3 stockouts, €410 tied up", Ours: true},
		{Label: "same as last month", Value: f(11), Text: "11 stockouts, €380"},
		{Label: "smoothed demand", Value: f(7), Text: "7 stockouts, €395"}}}.Chart()
	add(c, err, "", layout.Table{})

	set, err := layout.Templates(fstest.MapFS{"gallery.html": {Data: []byte(galleryPage)}}, "*.html")
	if err != nil {
		t.Fatal(err)
	}
	table.ID, table.Caption = "t-models", "The same rows, unfolded"
	body, err := layout.Render(set, "gallery", map[string]any{"Share": 14.0 / 61, "Figures": figures, "Table": table})
	if err != nil {
		t.Fatal(err)
	}
	return layout.Page{Title: "The month in brief", Shop: "Kiln Lane Repairs", Period: "May 2026", Body: template.HTML(body),
		Nav: []layout.Link{{Text: "The month", Href: "index.html", Current: true}, {Text: "What fails", Href: "shares.html"}, {Text: "Pairs", Href: "pairs.html"},
			{Text: "Times", Href: "times.html"}, {Text: "Trends", Href: "trends.html"}, {Text: "Batches", Href: "batches.html"}, {Text: "Returns", Href: "returns.html"},
			{Text: "Prices", Href: "prices.html"}, {Text: "Stock", Href: "stock.html"}, {Text: "Data", Href: "data.html"}, {Text: "Methods", Href: "methods.html"}},
		Search: galleryIndex(names), Footer: []string{"From 1,204 visits, 1 June 2025 to 31 May 2026.", "A suspected batch is a reason to look, not a recall."}}
}

func galleryIndex(names []string) []layout.Entry {
	entries := []layout.Entry{{Name: "Lark P4", Kind: "model", Href: "#fig-shares"}, {Name: "Brindle T2", Kind: "model", Href: "models/brindle-t2.html"}}
	for _, n := range names {
		entries = append(entries, layout.Entry{Name: n, Kind: "component", Href: "#t-models"})
	}
	return append(entries, layout.Entry{Name: "stray", Kind: "model", Href: "javascript:alert(1)"})
}

// wilson is only a source of plausible figures here; analysis/stat has the checked one.
func wilson(k, n int) (share, low, high float64) {
	z, p := 1.96, float64(k)/float64(n)
	d := 1 + z*z/float64(n)
	m := (p + z*z/(2*float64(n))) / d
	h := z / d * math.Sqrt(p*(1-p)/float64(n)+z*z/(4*float64(n)*float64(n)))
	return p, max(m-h, 0), min(m+h, 1)
}
