// Package sheet prints the bench sheet of one model as plain text: 80 columns, no colour, no control
// characters. It shows what the model's page in the report shows, from the same tables.
package sheet

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
	"unicode"

	"faultgrain/report/evidence"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// lineColumns is how many columns a line may take.
const lineColumns = 80

// Options of Write.
type Options struct {
	Lexicon  *schemas.Lexicon            // names of components
	Notes    []schemas.Note              // the shop's own remarks; those about other devices are left out
	Grades   map[string][]schemas.Return // returns by grade of part, by component; nil for none
	Currency string                      // of the shop; "" when it is not told
}

// most rows of one part of the sheet, and how many of the times are of pairs.
const (
	most       = 10
	mostPairs  = 3
	mostLinks  = 2 // of what goes with an alarm
	mostGrades = 4
)

// Write prints the sheet of b.
func Write(w io.Writer, b evidence.Bench, opt Options) error {
	p := &page{opt: opt}
	p.title(b)
	p.cautions(b)
	p.notes(b)
	p.together(b)
	p.told(b)
	p.fails(b)
	p.minutes(b)
	p.alarms(b)
	p.parts(b)
	p.back(b)
	p.care()
	_, err := w.Write(p.b.Bytes())
	return err
}

// A page is text being set.
type page struct {
	b   bytes.Buffer
	opt Options
}

func (p *page) name(component string) string { return p.opt.Lexicon.Name(component) }

func (p *page) heading(text string) {
	fmt.Fprintf(&p.b, "\n%s\n%s\n", text, strings.Repeat("-", len(text)))
}

func (p *page) title(b evidence.Bench) {
	model := plain(b.Model)
	fmt.Fprintf(&p.b, "%s\n%s\n", clip(model, lineColumns), strings.Repeat("=", min(wording.Columns(model), lineColumns)))
	about := []string{}
	if b.Class != "" {
		about = append(about, plain(b.Class))
	}
	about = append(about, counted(b.Visits, "diagnosed visit"))
	if b.Unread > 0 {
		about = append(about, counted(b.Unread, "further visit")+" not understood")
	}
	p.para("", strings.Join(about, ", "))
}

func (p *page) cautions(b evidence.Bench) {
	if b.Battery() {
		p.b.WriteByte('\n')
		p.para("! ", "Lithium cells: isolate a swollen or hot cell; do not press, pierce or charge it; hand it to hazardous-waste handling by local rules.")
	}
}

func (p *page) notes(b evidence.Bench) {
	var seen []string
	for _, r := range b.Shares {
		seen = append(seen, r.Component)
	}
	first := true
	for _, n := range p.opt.Notes {
		if !n.About(b.Model, b.Family, seen) {
			continue
		}
		if first {
			p.heading("The shop's own notes")
			first = false
		}
		text := n.Text
		if n.Component != "" {
			text = p.name(n.Component) + ": " + text
		}
		p.para("- ", text)
	}
}

func (p *page) fails(b evidence.Bench) {
	p.heading("What fails")
	if len(b.Shares) == 0 {
		p.para("", "No diagnosed visit shows a fault yet.")
		return
	}
	t := table{heads: []string{"component", "of visits", "share", "interval", "class", "times class"}}
	for _, r := range b.Shares[:min(len(b.Shares), most)] {
		t.add(p.name(r.Component), wording.OfN(r.Faults, r.Visits), say(r.Share, wording.Share), between(r.ShareLow, r.ShareHigh, wording.ShareRange),
			say(r.ClassShare, wording.Share), ratio(r.Ratio, r.RatioLow, r.RatioHigh))
	}
	p.table(t, len(b.Shares))
}

func (p *page) together(b evidence.Bench) {
	lines := 0
	for _, r := range b.Pairs {
		if !r.OddsLow.OK || r.OddsLow.V <= 1 || lines == most {
			continue
		}
		x, y, n, share, low, high := r.ComponentA, r.ComponentB, r.Both+r.AOnly, r.BGivenA, r.BGivenALow, r.BGivenAHigh
		if r.AGivenB.V > r.BGivenA.V {
			x, y, n, share, low, high = y, x, r.Both+r.BOnly, r.AGivenB, r.AGivenBLow, r.AGivenBHigh
		}
		if !share.OK {
			continue
		}
		if lines == 0 {
			p.heading("While it is open")
		}
		lines++
		p.para("- ", fmt.Sprintf("open for the %s: check the %s (bad too on %s of %s, interval %s)", p.name(x), p.name(y), wording.Share(share.V), counted(n, "such visit"), between(low, high, wording.ShareRange)))
	}
}

func (p *page) minutes(b evidence.Bench) {
	if len(b.Times) == 0 {
		return
	}
	p.heading("How long it takes")
	t := table{heads: []string{"job", "jobs", "half in", "9 of 10 in", "mean", "saved"}}
	single, pair := 0, 0
	for _, r := range b.Times {
		job, shown, limit := p.name(r.Component), &single, most-mostPairs
		if r.ComponentB != "" {
			job += " + " + p.name(r.ComponentB)
			shown, limit = &pair, mostPairs
		}
		if *shown == limit {
			continue
		}
		*shown++
		t.add(job, wording.Count(r.Jobs), say(r.Median, wording.Minutes), say(r.P90, wording.Minutes), say(r.MTTR, wording.Minutes), say(r.TogetherSaves, saved))
	}
	p.table(t, len(b.Times))
}

// alarms tells each alarm once, with what goes with it.
func (p *page) alarms(b evidence.Bench) {
	var alarms []string
	links := map[string][]string{}
	for _, r := range b.Batches {
		text := fmt.Sprintf("%s of %s", p.name(r.Component), r.Node)
		if r.WindowStart != "" {
			text += fmt.Sprintf(", %s to %s: %s, expected %s", r.WindowStart, r.WindowEnd, wording.OfN(r.Observed, r.Visits), say(r.Expected, wording.Number))
		}
		if !slices.Contains(alarms, text) {
			alarms = append(alarms, text)
		}
		if r.Link != "" {
			links[text] = append(links[text], fmt.Sprintf("%s %s (%s)", strings.ReplaceAll(r.Link, "_", " "), r.LinkValue, wording.OfN(r.LinkCases, r.LinkVisits)))
		}
	}
	if len(alarms) == 0 {
		return
	}
	p.heading("Alarms (a reason to look, not a recall)")
	for _, text := range alarms[:min(len(alarms), most)] {
		if l := links[text]; len(l) > 0 {
			text += "; goes with " + strings.Join(l[:min(len(l), mostLinks)], ", ")
		}
		p.para("- ", text)
	}
}

func (p *page) parts(b evidence.Bench) {
	if len(b.Prices) == 0 {
		return
	}
	p.heading("Parts and prices")
	t := table{heads: []string{"part", "latest", "usual in class", "usual charge", "price floor"}}
	for _, r := range b.Prices[:min(len(b.Prices), most)] {
		money := func(v schemas.Float) string {
			return say(v, func(f float64) string { return wording.Money(f, r.Currency) })
		}
		t.add(p.name(r.Component), money(r.CostLatest), money(r.CostUsual), money(r.ChargeMedian), money(r.PriceFloor))
	}
	p.table(t, len(b.Prices))
}

// back shows which part grades come back, a column a grade; where there are many, the ones most used.
func (p *page) back(b evidence.Bench) {
	repairs := map[string]int{}
	for _, s := range b.Shares {
		for _, r := range p.opt.Grades[s.Component] {
			repairs[r.Value] += r.Repairs
		}
	}
	values := slices.SortedFunc(maps.Keys(repairs), func(x, y string) int {
		return cmp.Or(cmp.Compare(repairs[y], repairs[x]), cmp.Compare(x, y))
	})
	values = values[:min(len(values), mostGrades)]
	t := table{heads: append([]string{"part"}, values...)}
	for i := range t.heads {
		t.heads[i] = clip(plain(t.heads[i]), 13)
	}
	for _, s := range b.Shares {
		grades := p.opt.Grades[s.Component]
		if len(grades) < 2 || len(t.rows) == most {
			continue
		}
		line := []string{p.name(s.Component)}
		for _, v := range values {
			cell := "-"
			if i := slices.IndexFunc(grades, func(r schemas.Return) bool { return r.Value == v }); i >= 0 {
				cell = say(grades[i].Back90, wording.Share) + " of " + wording.Count(grades[i].Repairs)
			}
			line = append(line, cell)
		}
		t.add(line...)
	}
	if len(t.rows) > 0 {
		p.heading("Back by day 90, by grade of the part, over all models")
		p.table(t, len(t.rows))
	}
}

// told lists what stands out; what to order is not for the bench.
func (p *page) told(b evidence.Bench) {
	lines := 0
	for _, f := range b.Findings {
		if f.Kind == schemas.KindStock || lines == most {
			continue
		}
		if lines == 0 {
			p.heading("What stands out")
		}
		lines++
		h := evidence.HeadlineOf(f, p.opt.Currency)
		text := h.String()
		if h.Subject == b.Model { // the sheet is about it
			text = wording.Capital(strings.TrimPrefix(h.Rest, ": "))
		}
		if f.Grade != "" {
			text += " (" + f.Grade + ")"
		}
		p.para("- ", text)
		if f.Action != "" {
			p.para("  ", f.Action)
		}
	}
}

func (p *page) care() {
	p.heading("Take care")
	p.para("- ", "Swollen or hot cells: isolate, do not press, pierce or charge; hazardous waste.")
	p.para("- ", "Solder, flux and solvent fumes: extract or air the place. Hot tools and glass: eye protection.")
	p.para("- ", "The maker's safety data, local codes and licensed practice go before this sheet.")
}

// saved writes minutes, which doing two jobs in one opening may also cost.
func saved(v float64) string { return wording.Number(math.Round(v)+0) + " min" }

func say(v schemas.Float, words func(float64) string) string {
	if !v.OK {
		return "-"
	}
	return words(v.V)
}

func between(low, high schemas.Float, words func(a, b float64) string) string {
	if !low.OK || !high.OK {
		return "-"
	}
	return words(low.V, high.V)
}

// ratio writes "4.1 (3.1 to 5.4)".
func ratio(v, low, high schemas.Float) string {
	switch {
	case v.OK && low.OK && high.OK:
		return fmt.Sprintf("%s (%s)", wording.Number(v.V), wording.NumberRange(low.V, high.V))
	case low.OK:
		return wording.Number(low.V) + " or more"
	}
	return say(v, wording.Number)
}

func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return wording.Count(n) + " " + noun + "s"
}

// plain is text fit for a terminal: no control characters, no marks that turn the reading direction.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || !unicode.IsPrint(r):
			return -1
		}
		return r
	}, s)
}
