package main

import (
	"context"

	"github.com/spf13/pflag"

	"faultgrain/analysis/hunch"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

func hunchVerb() verb {
	return verb{
		name: "hunch", args: "--model M --component C", about: "ask the history about one suspicion",
		examples: []string{`faultgrain hunch --model "Plover 8" --component earpiece --with loudspeaker`, `faultgrain hunch --model "Sedge 6" --component battery --days 7`},
		setup: func(f *pflag.FlagSet) action {
			var q hunch.Query
			var t talk
			var dir, shop, components, asOf string
			f.StringVar(&q.Model, "model", "", "the model, loosely written")
			f.StringVar(&q.Component, "component", "", "the component, in any words the lexicon knows")
			f.StringVar(&q.With, "with", "", "a second component that seems to fail together with it")
			f.IntVar(&q.Days, "days", 0, "ask about the last so many days, against the time before (default: the whole log, against the class)")
			f.StringVar(&asOf, "as-of", "", "the last day that counts, 2026-05-31 (default: the last day in the log)")
			f.StringVar(&shop, "shop", "", "the shop's settings, a TOML file")
			f.StringVar(&components, "components", "", "the shop's own components, a TOML file")
			addHistory(f, &dir)
			t.add(f)
			return func(ctx context.Context, s streams, args []string) error {
				switch {
				case len(args) > 0:
					return usagef("unexpected %q; quote a name of several words", args[0])
				case q.Model == "":
					return usagef("missing --model")
				case q.Component == "":
					return usagef("missing --component")
				case f.Changed("days") && q.Days < 1:
					return usagef("--days: found %d, want 1 or more", q.Days)
				}
				settings, err := schemas.LoadSettings(shop)
				if err != nil {
					return err
				}
				over(components, &settings.Components)
				lexicon, err := schemas.LoadLexicon(settings.Components)
				if err != nil {
					return err
				}
				zone, err := settings.Location()
				if err != nil {
					return err
				}
				last, err := (&deciding{asOf: asOf}).day(zone)
				if err != nil {
					return err
				}
				log, err := tally.Open(ctx, dir, tally.Options{AsOf: last, Zone: zone, Causes: lexicon.Causes()})
				if err != nil {
					return err
				}
				defer log.Close()
				answer, err := hunch.Compute(ctx, log, lexicon, q)
				if err != nil {
					return err
				}
				if t.json {
					return writeJSON(s.out, answer)
				}
				return answer.Text(s.out)
			}
		},
	}
}
