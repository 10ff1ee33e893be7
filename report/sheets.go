package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"faultgrain/report/charts"
	"faultgrain/report/evidence"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// Bounds of a sheet: it is read with a device open.
const (
	sheetChart  = 12
	sheetTable  = 20
	sheetGrades = 6
)

// A sheet is what its template is given.
type sheet struct {
	question
	Notes  []schemas.Note
	Checks []check
}

// A check is one line of "while it is open".
type check struct{ If, Then, Why string }

func (s *site) sheetView(b evidence.Bench) (any, error) {
	v := sheet{Notes: s.notesFor(b)}
	v.head = head{Title: b.Model, Eyebrow: eyebrow(b), Lead: s.sheetLead(b)}
	for _, f := range b.Findings {
		if f.Kind == schemas.KindStock {
			continue // what to order is not for the bench
		}
		v.Told = append(v.Told, s.told(f))
	}
	for i := range v.Told {
		v.Told[i].Sheets = nil // this is the sheet
		if v.Told[i].Place != "" {
			v.Told[i].Place = ""
		}
	}
	v.Battery = b.Battery()
	v.Checks = s.checks(b)
	if len(b.Shares) > 0 {
		fails, err := s.failsBlock(b)
		if err != nil {
			return nil, err
		}
		v.Blocks = append(v.Blocks, fails)
	} else {
		v.Lacks.Nothing = "No diagnosed visit of this model shows a fault yet."
	}
	v.Blocks = append(v.Blocks, s.benchTimes(b), s.benchAlarms(b), s.benchMoving(b), s.benchParts(b), s.benchGrades(b))
	v.Blocks = tidy(v.Blocks)
	return v, nil
}

// eyebrow says what kind of device it is.
func eyebrow(b evidence.Bench) string {
	parts := []string{"Bench sheet"}
	if b.Class != "" {
		parts = append(parts, b.Class)
	}
	if b.Family != "" && !strings.EqualFold(b.Family, b.Model) {
		parts = append(parts, strings.TrimSpace(b.Family)+" family")
	}
	return strings.Join(parts, ", ")
}

// sheetLead names the three components to look at first.
func (s *site) sheetLead(b evidence.Bench) string {
	if len(b.Shares) == 0 {
		return ""
	}
	var first []string
	for _, r := range head0(b.Shares, 3) {
		first = append(first, fmt.Sprintf("%s %s", s.name(r.Component), wording.ShareOfN(r.Faults, r.Visits)))
	}
	return "Look first at: " + strings.Join(first, ", ") + "."
}

func (s *site) notesFor(b evidence.Bench) []schemas.Note {
	var components []string
	for _, r := range b.Shares {
		components = append(components, r.Component)
	}
	var list []schemas.Note
	for _, n := range s.notes {
		if n.About(b.Model, b.Family, components) {
			n.Component = s.nameIf(n.Component)
			list = append(list, n)
		}
	}
	return list
}

func (s *site) nameIf(component string) string {
	if component == "" {
		return ""
	}
	return s.name(component)
}

// checks says what else to look at with the device open for something: pairs seen together more often
// than chance, the likelier direction first.
func (s *site) checks(b evidence.Bench) []check {
	var list []check
	for _, r := range b.Pairs {
		if !r.OddsLow.OK || r.OddsLow.V <= 1 || len(list) == 8 {
			continue
		}
		x, y, n, share, low, high := r.ComponentA, r.ComponentB, r.Both+r.AOnly, r.BGivenA, r.BGivenALow, r.BGivenAHigh
		if r.AGivenB.V > r.BGivenA.V {
			x, y, n, share, low, high = y, x, r.Both+r.BOnly, r.AGivenB, r.AGivenBLow, r.AGivenBHigh
		}
		if !share.OK {
			continue
		}
		why := fmt.Sprintf("bad too on %s of %s", wording.Share(share.V), plural(n, "such visit"))
		if low.OK && high.OK {
			why += ", interval " + wording.ShareRange(low.V, high.V)
		}
		list = append(list, check{"Open for the " + s.name(x), "check the " + s.name(y), why})
	}
	return list
}

func (s *site) failsBlock(b evidence.Bench) (block, error) {
	found := evidence.Resting[schemas.Share](b.Findings, "shares")
	d := charts.DotWhisker{Axis: charts.Axis{Name: "share of diagnosed visits", Unit: charts.Share}, RefName: "the rest of its class"}
	t := layout.Table{Caption: "What fails on the " + b.Model, Columns: []layout.Column{
		{Head: "component"}, {Head: "share", Num: true}, {Head: "faults of visits", Num: true}, {Head: "rest of class", Num: true}, {Head: "times the class", Num: true}, {Head: "grade"}}}
	for i, r := range head0(b.Shares, sheetTable) {
		f, ok := found(r)
		if i < sheetChart {
			d.Rows = append(d.Rows, charts.Row{Label: capital(s.name(r.Component)), Est: ptr(r.Share), Low: ptr(r.ShareLow), High: ptr(r.ShareHigh), Ref: ptr(r.ClassShare), Text: wording.ShareOfN(r.Faults, r.Visits), Grade: grade(f, ok)})
		}
		t.Rows = append(t.Rows, []layout.Cell{s.componentCell(r.Component), layout.Range(r.Share, r.ShareLow, r.ShareHigh, wording.Share, wording.ShareRange), ofN(r.Faults, r.Visits),
			layout.Number(r.ClassShare, wording.Share), ratioCell(r.Ratio, r.RatioLow, r.RatioHigh), graded(f, ok)})
	}
	d.Head = headOf("fails", s.failsTitle(b, found))
	caption := fmt.Sprintf("Of %s.", plural(b.Visits, "diagnosed visit"))
	if b.Unread > 0 {
		caption = fmt.Sprintf("Of %s; the words of %s could not be read.", plural(b.Visits, "diagnosed visit"), plural(b.Unread, "further visit"))
	}
	fig := layout.Figure{Table: t, Caption: caption}
	if len(b.Shares) > len(t.Rows) {
		fig.Summary = fmt.Sprintf("The figures (the %d most common of %d components)", len(t.Rows), len(b.Shares))
	}
	return s.draw(d.Chart, block{Title: "What fails"}, fig)
}

// failsTitle is the strongest thing to say about a model's shares.
func (s *site) failsTitle(b evidence.Bench, found func(schemas.Share) (schemas.Finding, bool)) string {
	best, any := schemas.Share{}, false
	for _, r := range b.Shares {
		if _, ok := found(r); ok && (!any || r.RatioLow.V > best.RatioLow.V) {
			best, any = r, true
		}
	}
	if any && best.Ratio.OK {
		return fmt.Sprintf("%s: %s as often as on the rest of its class", capital(s.name(best.Component)), wording.Times(best.Ratio.V))
	}
	return fmt.Sprintf("%s fails most often, on %s of the visits", capital(s.name(b.Shares[0].Component)), shareWords(b.Shares[0].Share))
}

func (s *site) benchTimes(b evidence.Bench) block {
	if len(b.Times) == 0 {
		return block{}
	}
	t := layout.Table{Caption: "Bench minutes on the " + b.Model, Columns: []layout.Column{
		{Head: "job"}, {Head: "half within", Num: true}, {Head: "nine of ten within", Num: true}, {Head: "mean", Num: true}, {Head: "saved together", Num: true, Title: "minutes saved by doing both in one opening"}}}
	pairs := slices.ContainsFunc(b.Times, func(r schemas.Time) bool { return r.TogetherSaves.OK })
	if !pairs {
		t.Columns = t.Columns[:len(t.Columns)-1]
	}
	for _, r := range head0(b.Times, sheetTable) {
		job, saved := s.componentCell(r.Component), layout.Text("")
		if r.ComponentB != "" {
			job = layout.Text(s.pairName(r.Component, r.ComponentB))
			saved = layout.Number(r.TogetherSaves, signedMinutes)
		}
		job.Note = plural(r.Jobs, "job")
		line := []layout.Cell{job, layout.Number(r.Median, wording.Minutes), layout.Number(r.P90, wording.Minutes),
			layout.Range(r.MTTR, r.MTTRLow, r.MTTRHigh, wording.Minutes, wording.MinutesRange)}
		if pairs {
			line = append(line, saved)
		}
		t.Rows = append(t.Rows, line)
	}
	return block{Title: "How long it takes", Table: &t, Cut: s.cut(len(t.Rows), len(b.Times), "with the most jobs")}
}

func (s *site) benchAlarms(b evidence.Bench) block {
	alarms, links := splitBatches(b.Batches)
	t := layout.Table{Caption: "Alarms that name the " + b.Model, Plain: true, Columns: []layout.Column{{Head: "component"}, {Head: "where"}, {Head: "when or what"}, {Head: "seen"}}}
	for _, r := range alarms {
		t.Rows = append(t.Rows, []layout.Cell{s.componentCell(r.Component), layout.Text(s.nodeName(r)), layout.Text(dayWords(r.WindowStart) + " to " + dayWords(r.WindowEnd)),
			layout.Text(fmt.Sprintf("%s, expected %s", wording.OfN(r.Observed, r.Visits), numberWords(r.Expected)))})
	}
	for _, r := range links {
		t.Rows = append(t.Rows, []layout.Cell{s.componentCell(r.Component), layout.Text(s.nodeName(r)), layout.Text(cmp.Or(linkWords[r.Link], r.Link) + ": " + r.LinkValue), layout.Text("faults on " + wording.OfN(r.LinkCases, r.LinkVisits))})
	}
	if len(t.Rows) == 0 {
		return block{}
	}
	t.Rows = head0(t.Rows, sheetTable)
	return block{Title: "Alarms", Text: []string{"A suspected batch is a reason to look, not a recall. Note the lot of the part on the visit."}, Table: &t}
}

func (s *site) benchMoving(b evidence.Bench) block {
	if len(b.Moving) == 0 {
		return block{}
	}
	t := layout.Table{Caption: "What moves on the " + b.Model, Plain: true, Columns: []layout.Column{{Head: "component"}, {Head: "12 months"}, {Head: s.monthWords(b.Moving[0].Month), Num: true}, {Head: "usual", Num: true}}}
	for _, r := range head0(b.Moving, sheetTable) {
		t.Rows = append(t.Rows, []layout.Cell{s.componentCell(r.Component), layout.Text(r.Direction), layout.Number(r.Share, wording.Share), layout.Number(r.Centre, wording.Share)})
	}
	return block{Title: "What is changing", Table: &t}
}

func (s *site) benchParts(b evidence.Bench) block {
	if len(b.Prices) == 0 {
		return block{}
	}
	t := layout.Table{Caption: "Parts of the " + b.Model, Columns: []layout.Column{{Head: "part"}, {Head: "latest cost", Num: true}, {Head: "median", Num: true}, {Head: "usual in class", Num: true}, {Head: "usual charge", Num: true}, {Head: "price floor", Num: true}, {Head: "on hand", Num: true}}}
	onHand := map[string]schemas.Float{}
	for _, r := range b.Stock {
		if r.OnHand.OK {
			onHand[r.Component] = schemas.Known(onHand[r.Component].V + r.OnHand.V)
		}
	}
	for _, r := range head0(b.Prices, sheetTable) {
		t.Rows = append(t.Rows, []layout.Cell{s.componentCell(r.Component), moneyCell(r.CostLatest, r.Currency), moneyCell(r.CostMedian, r.Currency), moneyCell(r.CostUsual, r.Currency),
			moneyCell(r.ChargeMedian, r.Currency), moneyCell(r.PriceFloor, r.Currency), layout.Number(onHand[r.Component], wording.Number)})
	}
	return block{Title: "Parts and prices", Table: &t}
}

// benchGrades shows which part grades come back, a column a grade, for the components this model comes in for.
func (s *site) benchGrades(b evidence.Bench) block {
	var values []string
	for _, share := range b.Shares {
		for _, r := range s.grades[share.Component] {
			if !slices.Contains(values, r.Value) {
				values = append(values, r.Value)
			}
		}
	}
	slices.Sort(values)
	t := layout.Table{Caption: "Back by day 90, by grade of the part, over all models", Plain: true, Columns: []layout.Column{{Head: "component"}}}
	for _, v := range values {
		t.Columns = append(t.Columns, layout.Column{Head: v, Num: true})
	}
	for _, share := range b.Shares {
		grades := s.grades[share.Component]
		if len(grades) < 2 || len(t.Rows) == sheetGrades {
			continue
		}
		line := []layout.Cell{s.componentCell(share.Component)}
		for _, v := range values {
			cell := layout.Text("")
			if i := slices.IndexFunc(grades, func(r schemas.Return) bool { return r.Value == v }); i >= 0 {
				cell = layout.Number(grades[i].Back90, wording.Share)
				cell.Note = "of " + wording.Count(grades[i].Repairs)
			}
			line = append(line, cell)
		}
		t.Rows = append(t.Rows, line)
	}
	if len(t.Rows) == 0 {
		return block{}
	}
	return block{Title: "Part grades", Text: []string{"How many of a hundred repairs were back by day 90, by grade of the part, over all models."}, Table: &t}
}
