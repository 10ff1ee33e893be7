package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"faultgrain/ingest/lexicon"
	"faultgrain/schemas"
)

func explainVerb() verb {
	return verb{
		name: "explain", args: "TEXT", about: "show which components are read from a text, and why",
		examples: []string{`faultgrain explain "no sound from ear speaker, battery tested ok"`},
		setup: func(f *pflag.FlagSet) action {
			var components, shop, as string
			f.StringVar(&components, "components", "", "the shop's own components, a TOML file")
			f.StringVar(&shop, "shop", "", "the shop's settings, a TOML file")
			f.StringVar(&as, "as", "text", "read it as part, found or text")
			return func(_ context.Context, s streams, args []string) error {
				if len(args) == 0 {
					return usagef("missing TEXT: quote the words to read")
				}
				kind, ok := map[string]lexicon.Kind{"part": lexicon.Part, "found": lexicon.Found, "text": lexicon.Text}[as]
				if !ok {
					return usagef("--as: found %q, want part, found or text", as)
				}
				settings, err := schemas.LoadSettings(shop)
				if err != nil {
					return err
				}
				over(components, &settings.Components)
				lex, err := schemas.LoadLexicon(settings.Components)
				if err != nil {
					return err
				}
				reader, err := lexicon.New(lex)
				if err != nil {
					return err
				}
				fmt.Fprintln(s.out, strings.TrimRight(reader.Explain(strings.Join(args, " "), kind), "\n"))
				return nil
			}
		},
	}
}
