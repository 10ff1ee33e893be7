// Package report turns tables and findings into pages for people.
//
// In: OUT/tables/*.csv and OUT/findings.json, as analysis wrote them, and the shop's settings.
// Out: OUT/index.html with its pages, sheets and assets, or one single file to send by mail.
// It refuses to compute statistics: every figure on a page stands in a table beside it. Same input,
// same bytes; what is read from a log is shown as text and never as anything else.
package report

import (
	"context"
	"embed"
	"fmt"
	"html/template"
	"sync"

	"faultgrain/report/evidence"
	"faultgrain/report/layout"
	"faultgrain/schemas"
)

//go:embed pages/*.html
var pageFiles embed.FS

// Options of Build. Only Out is needed.
type Options struct {
	Out        string           // folder with tables/ and findings.json; the pages go there too
	SingleFile string           // write one file with everything in it instead of a folder of pages
	Settings   schemas.Settings // shop.toml: the shop's name, its lexicon and its notes
}

// A site is one report being drawn.
type site struct {
	*evidence.Tables
	benches  []evidence.Bench
	curves   map[[3]string][]evidence.CurvePoint // by component, attribute and value
	grades   map[string][]schemas.Return         // returns by grade, by component
	series   func() []series                     // the trends, put together once
	settings schemas.Settings
	lexicon  *schemas.Lexicon
	notes    []schemas.Note
	slugs    map[string]string // of the models that have a sheet
	set      *template.Template
	foot     []string // what every page rests on
	out      string
	root     string // from the page being drawn to the report's first folder
	single   bool
}

// Build draws the report. A folder without tables is evidence.ErrNone. Files are written aside and
// renamed, index.html last, so that a report that is there is whole.
func Build(ctx context.Context, opt Options) error {
	s, err := newSite(ctx, opt)
	if err != nil {
		return err
	}
	if opt.SingleFile != "" {
		data, err := s.singleFile(ctx)
		if err != nil {
			return err
		}
		return placeFile(opt.SingleFile, data)
	}
	files, err := s.folder(ctx)
	if err != nil {
		return err
	}
	return placeFolder(opt.Out, files)
}

func newSite(ctx context.Context, opt Options) (*site, error) {
	tables, err := evidence.Load(ctx, opt.Out)
	if err != nil {
		return nil, err
	}
	s := &site{Tables: tables, settings: opt.Settings, out: opt.Out, single: opt.SingleFile != ""}
	if s.lexicon, err = schemas.LoadLexicon(opt.Settings.Components); err != nil {
		return nil, err
	}
	if s.notes, err = schemas.LoadNotes(opt.Settings.Notes, s.lexicon); err != nil {
		return nil, err
	}
	if s.set, err = layout.Templates(pageFiles, "pages/*.html"); err != nil {
		return nil, fmt.Errorf("page templates: %w", err)
	}
	s.benches = tables.Benches()
	var names []string
	for _, b := range head0(s.benches, mostSheets) {
		names = append(names, b.Model)
	}
	s.slugs = slugs(names)
	s.curves = map[[3]string][]evidence.CurvePoint{}
	for _, p := range tables.Curves {
		key := [3]string{p.Component, p.By, p.Value}
		s.curves[key] = append(s.curves[key], p)
	}
	s.grades = tables.GradesOf()
	s.series = sync.OnceValue(s.allSeries)
	s.foot = s.footer()
	return s, nil
}
