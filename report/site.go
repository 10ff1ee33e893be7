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
	settings schemas.Settings
	lexicon  *schemas.Lexicon
	set      *template.Template
	single   bool
}

// Build draws the report. A folder without tables is evidence.ErrNone. Files are written aside and
// renamed, index.html last, so that a report that is there is whole.
func Build(ctx context.Context, opt Options) error {
	s, err := newSite(ctx, opt)
	if err != nil {
		return err
	}
	files, err := s.files(ctx)
	if err != nil {
		return err
	}
	if opt.SingleFile != "" {
		return placeFile(opt.SingleFile, files[0].Data)
	}
	return placeFolder(opt.Out, files)
}

func newSite(ctx context.Context, opt Options) (*site, error) {
	tables, err := evidence.Load(ctx, opt.Out)
	if err != nil {
		return nil, err
	}
	lexicon, err := schemas.LoadLexicon(opt.Settings.Components)
	if err != nil {
		return nil, err
	}
	set, err := layout.Templates(pageFiles, "pages/*.html")
	if err != nil {
		return nil, fmt.Errorf("page templates: %w", err)
	}
	return &site{Tables: tables, settings: opt.Settings, lexicon: lexicon, set: set, single: opt.SingleFile != ""}, nil
}
