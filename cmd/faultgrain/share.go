package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"faultgrain/analysis/bundle"
	"faultgrain/analysis/findings"
	"faultgrain/analysis/tally"
	"faultgrain/schemas"
)

// sharing are the flags of share.
type sharing struct {
	history, shop, components, notes string
	out, brief, name, finding        string
	threshold                        int
	preview                          bool
}

func shareVerb() verb {
	return verb{
		name: "share", args: "", about: "make a bundle of tallies that is safe to hand on, or tell one finding",
		examples: []string{"faultgrain share --preview", "faultgrain share --out may.zip", "faultgrain share --finding share-lark-p4-earpiece-1a2b"},
		setup: func(f *pflag.FlagSet) action {
			var g sharing
			var t talk
			f.BoolVar(&g.preview, "preview", false, "print exactly what would leave the shop, and write nothing")
			f.StringVar(&g.out, "out", "", "file of the bundle (default bundle.zip), or of the finding without its ending (default the finding's id)")
			f.StringVar(&g.name, "name", "", "the shop's name, to be told (default: it is not)")
			f.IntVar(&g.threshold, "threshold", bundle.LeastThreshold, "least count that is told, visits; it can only be raised")
			f.StringVar(&g.finding, "finding", "", "tell one finding, by its id in findings.json, as a page and as Markdown")
			f.StringVar(&g.brief, "brief", "brief", "folder with findings.json, for --finding")
			f.StringVar(&g.shop, "shop", "", "the shop's settings, a TOML file")
			f.StringVar(&g.components, "components", "", "the shop's own components, a TOML file")
			f.StringVar(&g.notes, "notes", "", "the shop's own remarks, a TOML file; those that say share are told")
			addHistory(f, &g.history)
			t.add(f)
			return func(ctx context.Context, s streams, args []string) error {
				if err := none(args); err != nil {
					return err
				}
				if g.threshold < bundle.LeastThreshold {
					return usagef("--threshold: found %d, want %d or more", g.threshold, bundle.LeastThreshold)
				}
				settings, err := schemas.LoadSettings(g.shop)
				if err != nil {
					return err
				}
				over(g.components, &settings.Components)
				over(g.notes, &settings.Notes)
				if g.finding != "" {
					return g.tellFinding(s, settings, t)
				}
				return g.makeBundle(ctx, s, settings, t)
			}
		},
	}
}

// sharedName is the last bundle made from a history: what was told once is told again as it was.
const sharedName = "shared.zip"

func (g sharing) makeBundle(ctx context.Context, s streams, settings schemas.Settings, t talk) error {
	made, err := g.tallies(ctx, settings)
	if err != nil {
		return err
	}
	if g.preview {
		if err := made.Preview(s.out); err != nil {
			return err
		}
		return printWithheld(s.err, made)
	}
	if g.out == "" {
		g.out = "bundle.zip"
	}
	if err := bundle.Save(g.out, made.Write); err != nil {
		return err
	}
	if err := bundle.Save(filepath.Join(g.history, sharedName), made.Write); err != nil {
		return errors.Join(err, os.Remove(g.out)) // the next bundle must know of this one
	}
	if t.json {
		return writeJSON(s.out, map[string]any{"bundle": g.out, "manifest": made.Manifest, "visits": len(made.Visits),
			"faults": len(made.Faults), "pairs": len(made.Pairs), "parts": len(made.Parts), "withheld": made.Withheld})
	}
	fmt.Fprintf(s.out, "bundle: %s (%s to %s: %d tallies of visits, %d of faults, %d of pairs, %d of parts)\n",
		g.out, made.Manifest.From, made.Manifest.To, len(made.Visits), len(made.Faults), len(made.Pairs), len(made.Parts))
	return printWithheld(s.out, made)
}

func (g sharing) tallies(ctx context.Context, settings schemas.Settings) (*bundle.Made, error) {
	zone, err := settings.Location()
	if err != nil {
		return nil, err
	}
	lexicon, err := schemas.LoadLexicon(settings.Components)
	if err != nil {
		return nil, err
	}
	notes, err := schemas.LoadNotes(settings.Notes, lexicon)
	if err != nil {
		return nil, err
	}
	log, err := tally.Open(ctx, g.history, tally.Options{Zone: zone, Causes: lexicon.Causes()})
	if err != nil {
		return nil, err
	}
	defer log.Close()
	mark, err := bundle.Mark(g.history)
	if err != nil {
		return nil, err
	}
	before, err := bundle.Open(ctx, filepath.Join(g.history, sharedName))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("what was shared before can't be read, and without it a new bundle could give away what changed since: %w", err)
	}
	return bundle.Make(ctx, log, bundle.Options{Threshold: g.threshold, Name: g.name, Mark: mark, Notes: notes, Before: before})
}

// printWithheld says what stays in the shop; it is never part of a bundle.
func printWithheld(w io.Writer, made *bundle.Made) error {
	var b strings.Builder
	for _, h := range made.Withheld {
		fmt.Fprintf(&b, "withheld: %s %s; of %s cases %s are told\n",
			findings.OfN(h.Silent, h.Keys), h.What, findings.Count(h.Cases), findings.Count(h.CasesTold))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (g sharing) tellFinding(s streams, settings schemas.Settings, t talk) error {
	list, err := readFindings(g.brief)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: no findings.json; run faultgrain analyse first, or name its folder with --brief", g.brief)
	}
	if err != nil {
		return err
	}
	var ids []string
	for _, f := range list {
		ids = append(ids, f.ID)
		if f.ID != g.finding {
			continue
		}
		told, err := bundle.Tell(f, []string{settings.Name})
		if err != nil {
			return err
		}
		return g.writeFinding(s, f.ID, told, t)
	}
	if near := schemas.Nearest(g.finding, ids); near != "" {
		return fmt.Errorf("no finding %q; did you mean %q?", g.finding, near)
	}
	return fmt.Errorf("no finding %q; %s has %d, each with its id", g.finding, filepath.Join(g.brief, "findings.json"), len(ids))
}

func (g sharing) writeFinding(s streams, id string, told *bundle.Told, t talk) error {
	if g.preview {
		_, err := io.WriteString(s.out, told.Markdown())
		return err
	}
	out := g.out
	if out == "" {
		out = id
	}
	page, text := out+".html", out+".md"
	if err := bundle.Save(page, told.Page); err != nil {
		return err
	}
	err := bundle.Save(text, func(w io.Writer) error {
		_, err := io.WriteString(w, told.Markdown())
		return err
	})
	if err != nil {
		return err
	}
	if t.json {
		return writeJSON(s.out, map[string]string{"page": page, "markdown": text})
	}
	fmt.Fprintf(s.out, "page: %s\nmarkdown: %s\n", page, text)
	return nil
}
