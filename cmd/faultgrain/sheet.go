package main

import (
	"context"
	"strings"

	"github.com/spf13/pflag"

	"faultgrain/report/evidence"
	"faultgrain/report/sheet"
	"faultgrain/schemas"
)

func sheetVerb() verb {
	return verb{
		name: "sheet", args: "MODEL", about: "print a model's bench sheet: what fails, what fails with it, how long it takes",
		examples: []string{`faultgrain sheet "Lark P4"`, "faultgrain sheet p4 --out brief"},
		setup: func(f *pflag.FlagSet) action {
			var out, shop, notes string
			addOut(f, &out)
			f.StringVar(&shop, "shop", "", "the shop's settings, a TOML file")
			f.StringVar(&notes, "notes", "", "the shop's own remarks, a TOML file")
			return func(ctx context.Context, s streams, args []string) error {
				if len(args) == 0 {
					return usagef("missing MODEL")
				}
				settings, err := schemas.LoadSettings(shop)
				if err != nil {
					return err
				}
				over(notes, &settings.Notes)
				tables, err := evidence.Load(ctx, out)
				if err != nil {
					return err
				}
				b, err := evidence.Find(tables.Benches(), strings.Join(args, " "))
				if err != nil {
					return err
				}
				opt := sheet.Options{Grades: tables.GradesOf(), Currency: settings.Currency}
				if opt.Lexicon, err = schemas.LoadLexicon(settings.Components); err != nil {
					return err
				}
				if opt.Notes, err = schemas.LoadNotes(settings.Notes, opt.Lexicon); err != nil {
					return err
				}
				return sheet.Write(s.out, b, opt)
			}
		},
	}
}
