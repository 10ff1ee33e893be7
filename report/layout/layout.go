// Package layout is the frame of every page of the report: the head with its
// Content-Security-Policy, the skip link, the list of pages, the search box and the
// footer; and the parts pages are made of, a figure (chart, caption, table, CSV link)
// and a table that can be sorted and filtered.
//
// A page is written in two steps. The page's own template, made with Templates, is
// executed into a body; html/template escapes what came from a log. Page.Write puts
// the body into the frame:
//
//	t, err := layout.Templates(files, "pages/*.html")     // once
//	chart, err := charts.DotWhisker{...}.Chart()
//	body, err := layout.Render(t, "shares.html", map[string]any{
//		"Fig": layout.Figure{Chart: chart, Caption: "...", Table: table, CSV: "tables/shares.csv"},
//	})                                                    // in it: {{template "figure" .Fig}}
//	page := layout.Page{Title: "What fails", Shop: "Kiln Lane Repairs", Period: "May 2026",
//		Nav: []layout.Link{{Text: "The month", Href: "index.html"}, {Text: "What fails", Href: "shares.html", Current: true}},
//		Body: body, Footer: []string{"From 1,204 visits, 1 June 2025 to 31 May 2026."}}
//	err = page.Write(w, layout.Folder)
//
// In Folder mode the page loads assets/ beside it: write what Assets returns once,
// and set Root to "../" on pages one folder down. In SingleFile mode everything is in
// the page, and its policy allows exactly our scripts by their hashes.
//
// Classes of report.css for pages to use:
//
//	p.lead                         the page's answer in a sentence or two, under the h1
//	p.eyebrow                      a small line above the h1
//	ol.findings > li               the month in brief; inside: p.finding, p.action, p.meta
//	span.grade.grade-firm          also grade-leaning, grade-thin; or {{template "grade" "firm"}}
//	div.caution, div.note          a safety caution; a remark
//	dl.facts > div > dt, dd        a few large figures, a <small> in dd for n
//	div.columns                    two columns where there is room
//	section.page                   starts a new sheet of paper when printed
//	.quiet, .aside, .screen-only   small grey text; for screen readers only; not printed
package layout

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"regexp"
	"strings"
	"sync"

	"faultgrain/report/assets"
)

// A Mode says where a page keeps its styles and scripts.
type Mode int

const (
	Folder     Mode = iota // in assets/, beside the pages
	SingleFile             // in the page itself, to send by mail
)

// A Link is an entry of the list of pages. Href is as it should stand in the page.
type Link struct {
	Text    string
	Href    string
	Current bool
}

// An Entry is something the search box finds. Href counts from the report's first
// folder ("models/lark-p4.html"), or is a place in the page ("#lark-p4").
type Entry struct {
	Name string // "Lark P4", "earpiece"
	Kind string // "model", "component"
	Href string
}

// A Page is one HTML file.
type Page struct {
	Title  string // in the browser's tab, before the shop's name
	Shop   string
	Period string   // "May 2026"
	Root   string   // from this page to the report's first folder: "" or "../"
	Home   string   // link of the shop's name at the top; "" is Root + "index.html"
	Nav    []Link   // the list of pages; in SingleFile mode, places in the page
	Search []Entry  // SingleFile mode only; in Folder mode Assets takes them
	Footer []string // one paragraph each: what the report rests on
	Body   template.HTML
}

// A File is to be written at Name, with slashes, under the report's folder.
type File struct {
	Name string
	Data []byte
}

//go:embed base.html parts.html
var own embed.FS

// frame is the template around every page, parsed once.
var frame = sync.OnceValues(func() (*template.Template, error) {
	return template.New("").Funcs(Funcs()).ParseFS(own, "base.html")
})

// Templates parses page templates with the parts and the number words of this package.
func Templates(files fs.FS, patterns ...string) (*template.Template, error) {
	t, err := template.New("").Funcs(Funcs()).ParseFS(own, "parts.html")
	if err != nil {
		return nil, err
	}
	return t.ParseFS(files, patterns...)
}

// Render executes a page's own template into a body for Page.
func Render(t *template.Template, name string, data any) (template.HTML, error) {
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, name, data); err != nil {
		return "", err
	}
	return template.HTML(b.String()), nil // escaped by the template just executed
}

// Assets are the files that pages in Folder mode load, with the search box's index.
// It returns assets.ErrNotBuilt when the program holds no chart library.
func Assets(index []Entry) ([]File, error) {
	library, err := assets.EchartsJS()
	if err != nil {
		return nil, err
	}
	licences, err := assets.Licences()
	if err != nil {
		return nil, err
	}
	list, err := indexJSON(index)
	if err != nil {
		return nil, err
	}
	return []File{
		{"assets/report.css", []byte(assets.CSS())},
		{"assets/report.js", []byte(assets.JS())},
		{"assets/search-index.js", []byte("window.searchIndex = " + string(list) + ";\n")},
		{"assets/echarts.js", []byte(library)},
		{"assets/echarts-licences.txt", []byte(licences)},
	}, nil
}

// indexJSON writes the entries as a list of lists. json.Marshal escapes <, > and &
// and the line separators, so the text is inert in a script file and in a page.
func indexJSON(index []Entry) ([]byte, error) {
	rows := make([][3]string, len(index))
	for i, e := range index {
		rows[i] = [3]string{clean(e.Name), clean(e.Kind), e.Href}
	}
	return json.Marshal(rows)
}

// unfit is text that would end its element early, open a comment, or change when a
// browser reads the page and so miss its hash.
var unfit = regexp.MustCompile(`(?i)</script|</style|<!--|\r`)

// inlined is what a SingleFile page holds in full.
type inlined struct {
	Style, Library, Script template.HTML
	Index                  json.RawMessage
}

// Write writes the page. Its bytes depend on the page and the mode alone.
func (p Page) Write(w io.Writer, mode Mode) error {
	t, err := frame()
	if err != nil {
		return err
	}
	if p.Home == "" {
		p.Home = p.Root + "index.html"
	}
	data := struct {
		Page
		Policy string
		Inline *inlined
	}{Page: p}
	switch mode {
	case Folder:
		// Browsers refuse hashes for files beside the page, and 'self' is not
		// every browser's word for them.
		data.Policy = policy("script-src 'self' file:", "style-src 'self' file:")
	case SingleFile:
		library, err := assets.EchartsJS()
		if err != nil {
			return err
		}
		index, err := indexJSON(p.Search)
		if err != nil {
			return err
		}
		css, js := assets.CSS(), assets.JS()
		for _, text := range []string{library, js, css} {
			if unfit.MatchString(text) {
				return errors.New("a script or style of the report holds text that can't stand inside a page: " + unfit.FindString(text))
			}
		}
		data.Policy = policy("script-src "+hash(library)+" "+hash(js), "style-src "+hash(css))
		data.Inline = &inlined{
			Style:   template.HTML("<style>" + css + "</style>"),
			Library: template.HTML("<script>" + library + "</script>"),
			Script:  template.HTML("<script>" + js + "</script>"),
			Index:   index,
		}
	default:
		return fmt.Errorf("layout: mode %d: want Folder or SingleFile", mode)
	}
	var b bytes.Buffer // nothing is written unless the page is whole
	if err := t.ExecuteTemplate(&b, "base.html", data); err != nil {
		return fmt.Errorf("page %q: %w", p.Title, err)
	}
	_, err = w.Write(b.Bytes())
	return err
}

func policy(script, style string) string {
	return strings.Join([]string{"default-src 'none'", script, style, "img-src data:", "base-uri 'none'", "form-action 'none'"}, "; ")
}

func hash(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}
