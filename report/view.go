package report

import (
	"strings"

	"faultgrain/report/charts"
	"faultgrain/report/evidence"
	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// A head is the top of a page: what it is about and its answer.
type head struct {
	Part    string // in a single file, the id of the page's part; "" in a folder
	Eyebrow string
	Title   string
	Lead    string // the answer in a sentence or two
	Lacks   lacking
}

// A question is a page that answers one question: findings, then figures and tables.
type question struct {
	head
	Battery bool   // the page is about lithium cells: the caution comes first
	Told    []told // strongest first
	Opening block  // a wide part before the others
	Blocks  []block
	Compact bool   // many small blocks, side by side where there is room
	Note    string // what to keep in mind
}

// mostTold is how many findings a page tells unfolded.
const mostTold = 8

// Further are the findings told folded.
func (q question) Further() []told { return q.Told[min(len(q.Told), mostTold):] }

// First are those told unfolded.
func (q question) First() []told { return head0(q.Told, mostTold) }

// A block is one part of a page, shown in this order.
type block struct {
	ID     string
	Title  string
	Text   []string
	Figure *layout.Figure
	Table  *layout.Table
	CSV    string // the table's file
	Files  []layout.Link
	Cut    string // what the table leaves out
}

// tidy drops blocks with nothing in them; a table under a title needs no visible caption.
func tidy(blocks []block) []block {
	var kept []block
	for _, b := range blocks {
		if b.Figure == nil && b.Table == nil {
			continue
		}
		if b.Table != nil && b.Title != "" {
			b.Table.Titled = true
		}
		kept = append(kept, b)
	}
	return kept
}

// A told is a finding in words.
type told struct {
	schemas.Finding
	Line   evidence.Headline // its sentence, fit to read
	Place  string            // id on the page that tells it in full
	Href   string            // where its evidence is
	Tag    string            // what it is to the reader: a change, the bench, money
	Period string            // 1 June 2025 to 31 May 2026
	Rests  string            // the table row it rests on
	Sheets []layout.Link     // bench sheets of its models
}

// name is how a person reads a component.
func (s *site) name(component string) string { return s.lexicon.Name(component) }

// capital starts a sentence or a row with a component's name.
func capital(text string) string { return wording.Capital(text) }

// pageOf is the page that tells findings of a kind in full.
var pageOf = map[string]string{
	schemas.KindShare: "shares", schemas.KindPair: "pairs", schemas.KindTime: "times", schemas.KindTrend: "trends",
	schemas.KindBatch: "batches", schemas.KindReturn: "returns", schemas.KindPrice: "prices", schemas.KindStock: "stock",
}

// tagOf says what a kind of finding is to the reader.
var tagOf = map[string]string{
	schemas.KindShare: "at the bench", schemas.KindPair: "at the bench", schemas.KindTime: "at the bench",
	schemas.KindTrend: "change", schemas.KindBatch: "change", schemas.KindReturn: "money",
	schemas.KindPrice: "money", schemas.KindStock: "money",
}

// tell puts findings of one kind into words, for the page that tells them in full.
func (s *site) tell(kind string) []told {
	var list []told
	for _, f := range s.Findings {
		if f.Kind == kind {
			list = append(list, s.told(f))
		}
	}
	return list
}

func (s *site) told(f schemas.Finding) told {
	t := told{Finding: f, Line: evidence.HeadlineOf(f, s.settings.Currency), Place: f.ID, Tag: tagOf[f.Kind], Href: s.place(pageOf[f.Kind], f.ID), Period: span(f.Period)}
	if f.Row.Table != "" {
		var parts []string
		for _, key := range sortedKeys(f.Row.Key) {
			parts = append(parts, key+" "+f.Row.Key[key])
		}
		t.Rests = f.Row.Table + ": " + strings.Join(parts, ", ")
	}
	for _, m := range evidence.Models(f) {
		if href := s.sheet(m); href != "" && len(t.Sheets) < 6 {
			t.Sheets = append(t.Sheets, layout.Link{Text: m, Href: href})
		}
	}
	return t
}

// span writes a period in days.
func span(p schemas.Period) string {
	from, to := dayWords(p.From), dayWords(p.To)
	if from == "" || to == "" {
		return ""
	}
	return from + " to " + to
}

// grade is the mark of a finding in a chart.
func grade(f schemas.Finding, ok bool) charts.Grade {
	if !ok {
		return charts.Plain
	}
	return map[string]charts.Grade{schemas.Firm: charts.Firm, schemas.Leaning: charts.Leaning, schemas.Thin: charts.Thin}[f.Grade]
}

// graded is a cell with the grade of the finding that rests on the row, if one does.
func graded(f schemas.Finding, ok bool) layout.Cell {
	if !ok {
		return layout.Text("")
	}
	return layout.Graded(f.Grade)
}

// ptr is an unknown-aware number for a chart.
func ptr(f schemas.Float) *float64 { return charts.Known(f.V, f.OK) }

// alt is what a reader who cannot see the chart is told.
func alt(title string) string { return "Chart. " + title + " The figures are in the table below it." }

// headOf names a chart.
func headOf(id, title string) charts.Head {
	title = strings.TrimSuffix(title, ".") + "."
	return charts.Head{ID: id, Title: title, Alt: alt(title)}
}

// moneyCell is a cell with an amount.
func moneyCell(v schemas.Float, currency string) layout.Cell {
	return layout.Number(v, func(f float64) string { return wording.Money(f, currency) })
}

// plainRange writes an interval without a unit.
func plainRange(low, high float64) string { return wording.NumberRange(low, high) }

// ratioCell is a cell with a ratio and its interval, whose upper end may be unbounded.
func ratioCell(v, low, high schemas.Float) layout.Cell {
	c := layout.Number(v, wording.Number)
	switch {
	case low.OK && high.OK:
		c.Note = plainRange(low.V, high.V)
	case low.OK && !v.OK:
		return layout.Cell{Text: wording.Number(low.V) + " or more", Sort: low.String()}
	case low.OK:
		c.Note = wording.Number(low.V) + " or more"
	}
	return c
}

// ofN is a cell with a count against its whole, sorted by the count.
func ofN(count, whole int) layout.Cell {
	c := layout.Count(count)
	c.Text = wording.OfN(count, whole)
	return c
}
