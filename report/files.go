package report

import (
	"bytes"
	"context"
	"fmt"
	"html/template"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"faultgrain/report/layout"
	"faultgrain/report/wording"
	"faultgrain/schemas"
)

// A page is one of the report's pages.
type page struct {
	name     string                   // file without .html, and id of its part in a single file
	nav      string                   // its text in the list of pages
	kind     string                   // of the findings it tells in full
	template string                   // file in pages/
	view     func(*site) (any, error) // what its template is given
}

// pages in the order a reader meets them.
func (s *site) pages() []page {
	list := []page{
		{"index", "The month", "", "index.html", (*site).indexPage},
		{"models", "Sheets", "", "question.html", (*site).modelsPage},
		{"shares", "What fails", schemas.KindShare, "question.html", (*site).sharesPage},
		{"components", "Components", "", "question.html", (*site).componentsPage},
		{"pairs", "Together", schemas.KindPair, "question.html", (*site).pairsPage},
		{"times", "Times", schemas.KindTime, "question.html", (*site).timesPage},
		{"trends", "Trends", schemas.KindTrend, "question.html", (*site).trendsPage},
		{"batches", "Batches", schemas.KindBatch, "question.html", (*site).batchesPage},
		{"returns", "Returns", schemas.KindReturn, "question.html", (*site).returnsPage},
		{"prices", "Prices", schemas.KindPrice, "question.html", (*site).pricesPage},
		{"stock", "Stock", schemas.KindStock, "question.html", (*site).stockPage},
		{"pool", "Other shops", "", "question.html", (*site).poolPage},
		{"data", "Data", "", "question.html", (*site).dataPage},
		{"methods", "Methods", "", "methods.html", (*site).methodsPage},
	}
	return slices.DeleteFunc(list, func(p page) bool { return p.name == "pool" && len(s.Pool) == 0 })
}

// body draws a page's own part.
func (s *site) body(p page) (template.HTML, error) {
	view, err := p.view(s)
	if err != nil {
		return "", fmt.Errorf("page %s: %w", p.name, err)
	}
	return layout.Render(s.set, p.template, view)
}

// frame is what every page has around its body.
func (s *site) frame(title string, body template.HTML) layout.Page {
	shop := s.settings.Name
	if shop == "" {
		shop = "The repair log"
	}
	period := ""
	if !s.AsOf.IsZero() {
		period = wording.Month(s.AsOf.Format("2006-01"))
	}
	return layout.Page{Title: title, Shop: shop, Period: period, Root: s.root, Body: body, Footer: s.foot}
}

func (s *site) nav(current string) []layout.Link {
	var list []layout.Link
	for _, p := range s.pages() {
		list = append(list, layout.Link{Text: p.nav, Href: s.place(p.name, ""), Current: p.name == current})
	}
	return list
}

// folder draws every page, every sheet and what they load. Pages know nothing of each other and are drawn side by side.
func (s *site) folder(ctx context.Context) ([]layout.File, error) {
	pages, sheets := s.pages(), head0(s.benches, mostSheets)
	files := make([]layout.File, len(pages)+len(sheets))
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	draw := func(i int, s *site, name, current, title string, body func() (template.HTML, error)) {
		group.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			html, err := body()
			if err != nil {
				return err
			}
			p := s.frame(title, html)
			p.Nav = s.nav(current)
			var b bytes.Buffer
			if err := p.Write(&b, layout.Folder); err != nil {
				return err
			}
			files[i] = layout.File{Name: name, Data: b.Bytes()}
			return nil
		})
	}
	for i, p := range pages {
		draw(i, s, p.name+".html", p.name, p.nav, func() (template.HTML, error) { return s.body(p) })
	}
	below := *s // one folder down
	below.root = "../"
	for i, b := range sheets {
		draw(len(pages)+i, &below, "sheets/"+s.slugs[b.Model]+".html", "", b.Model, func() (template.HTML, error) {
			view, err := below.sheetView(b)
			if err != nil {
				return "", fmt.Errorf("sheet of %s: %w", b.Model, err)
			}
			return layout.Render(s.set, "sheet.html", view)
		})
	}
	if err := group.Wait(); err != nil {
		return nil, err
	}
	assets, err := layout.Assets(s.index())
	if err != nil {
		return nil, err
	}
	return append(files, assets...), nil
}

// singleFile draws all pages but the sheets as the parts of one file.
func (s *site) singleFile(ctx context.Context) ([]byte, error) {
	var whole bytes.Buffer
	for i, p := range s.pages() {
		body, err := s.body(p)
		if err != nil {
			return nil, err
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		class := ` class="page"`
		if i == 0 {
			class = ""
		}
		fmt.Fprintf(&whole, "<section id=%q%s>\n%s</section>\n", p.name, class, body)
	}
	p := s.frame("The month in brief", template.HTML(whole.String())) // parts escaped by their templates
	p.Nav, p.Home, p.Search = s.nav("index"), "#index", s.index()
	var b bytes.Buffer
	if err := p.Write(&b, layout.SingleFile); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// index is what the search box finds: models and components.
func (s *site) index() []layout.Entry {
	at := *s
	at.root = "" // the index counts from the first folder
	var list []layout.Entry
	components := map[string]int{}
	for _, b := range s.benches {
		if href := at.sheet(b.Model); href != "" {
			list = append(list, layout.Entry{Name: b.Model, Kind: "model", Href: href})
		}
		for _, r := range b.Shares {
			components[r.Component] += r.Faults
		}
	}
	for _, c := range sortedCounts(components) {
		list = append(list, layout.Entry{Name: s.name(c), Kind: "component", Href: at.place("components", componentID(c))})
	}
	return list
}

// componentID is the place of a component on the page of components.
func componentID(component string) string { return "c-" + slug(component) }
