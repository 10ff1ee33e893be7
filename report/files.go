package report

import (
	"bytes"
	"context"
	"fmt"
	"html/template"

	"faultgrain/report/layout"
	"faultgrain/report/wording"
)

// A page is one of the report's pages. Its template is its name with .html.
type page struct {
	name string                   // file without .html, and id of its part in a single file
	nav  string                   // its text in the list of pages
	view func(*site) (any, error) // what its template is given
}

// pages in the order a reader meets them.
func (s *site) pages() []page {
	return []page{
		{"index", "The month", (*site).indexView},
	}
}

// files draws everything: the pages and what they load, or a single file.
func (s *site) files(ctx context.Context) ([]layout.File, error) {
	pages := s.pages()
	var files []layout.File
	for _, p := range pages {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		body, err := s.body(p)
		if err != nil {
			return nil, err
		}
		frame := s.frame(p.nav, body, "")
		for _, other := range pages {
			frame.Nav = append(frame.Nav, layout.Link{Text: other.nav, Href: other.name + ".html", Current: other.name == p.name})
		}
		mode := layout.Folder
		if s.single {
			mode = layout.SingleFile
		}
		var b bytes.Buffer
		if err := frame.Write(&b, mode); err != nil {
			return nil, err
		}
		files = append(files, layout.File{Name: p.name + ".html", Data: b.Bytes()})
	}
	if s.single {
		return files, nil
	}
	assets, err := layout.Assets(nil)
	if err != nil {
		return nil, err
	}
	return append(files, assets...), nil
}

func (s *site) body(p page) (template.HTML, error) {
	view, err := p.view(s)
	if err != nil {
		return "", fmt.Errorf("page %s: %w", p.name, err)
	}
	return layout.Render(s.set, p.name+".html", view)
}

// frame is what every page has around its body.
func (s *site) frame(title string, body template.HTML, root string) layout.Page {
	shop := s.settings.Name
	if shop == "" {
		shop = "The repair log"
	}
	period := ""
	if !s.AsOf.IsZero() {
		period = wording.Month(s.AsOf.Format("2006-01"))
	}
	return layout.Page{Title: title, Shop: shop, Period: period, Root: root, Body: body}
}
