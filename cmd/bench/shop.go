package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"faultgrain/demo"
)

// threeShops are so many tickets over the demo's shops that the first of them gets some 20,000, a large shop's year.
const threeShops = 36_900

// writeShop makes the shops up in dir and writes down in file which files are the first one's.
func writeShop(ctx context.Context, dir, file string) error {
	files, err := demo.Write(ctx, filepath.Join(dir, "shops"), demo.Options{Seed: demo.DefaultSeed, Tickets: threeShops})
	if err != nil {
		return err
	}
	text, err := json.Marshal(files.Shops[0])
	if err != nil {
		return err
	}
	return os.WriteFile(file, text, 0o644)
}

// measureShop runs ours on a shop as the demo makes it up: notes, stock, fleet and all.
func (o *options) measureShop(ctx context.Context, t *table) error {
	file := filepath.Join(o.dir, "shop.json")
	if _, err := o.self(ctx, "shop", file, 0); err != nil { // its memory is not ours
		return err
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	var shop demo.ShopFiles
	if err := json.Unmarshal(text, &shop); err != nil {
		return err
	}
	t.heading(fmt.Sprintf("A shop's year: %s tickets", grouped(int64(shop.Tickets))))
	var totals []float64
	for range o.runs {
		if err := o.forget("history", "brief"); err != nil {
			return err
		}
		total := 0.0
		for _, verb := range []string{"ingest", "analyse", "report"} {
			c, err := o.ours(ctx, verb, shop.Logs, shop.Settings)
			if err != nil {
				return err
			}
			t.row(verb, c, int64(shop.Tickets))
			total += c.seconds
		}
		totals = append(totals, total)
	}
	slices.Sort(totals)
	fmt.Fprintf(t, "\nAll three: **%.2f s** (median), %.2f s (least).\n", totals[len(totals)/2], totals[0])
	return o.forget("history", "brief", "shops", "shop.json")
}
