package analysis

import (
	"context"
	"io"

	"faultgrain/analysis/batches"
	"faultgrain/analysis/stock"
	"faultgrain/schemas"
)

// readShelf reads stock.csv before any question is asked, so that a wrong line stops the run early. No file, no shelf.
func (r *run) readShelf(ctx context.Context) error {
	if r.opt.Stock == "" {
		return nil
	}
	known, err := stock.KnownTo(ctx, r.log, r.frame.Lexicon, r.opt.Settings.Currency)
	if err != nil {
		return err
	}
	r.shelf, err = stock.Load(r.opt.Stock, known)
	return err
}

// onShelf is how many pieces of a lot are on the shelf; nil where nothing is known of the shelf.
func (r *run) onShelf() func(lot string) (float64, bool) {
	if r.shelf == nil {
		return nil
	}
	return r.shelf.OnLot
}

func askStock(ctx context.Context, r *run) error {
	var res stock.Result
	var found []schemas.Finding
	if r.shelf != nil {
		s := r.opt.Settings
		var err error
		if res, err = stock.Compute(ctx, r.log, r.shelf, stock.Options{Service: s.Service(), Holding: s.HoldingRate, Review: s.Review(),
			Budget: r.opt.Budget, Currency: s.Currency, Prices: r.tables.prices, Pairs: firmPairs(r.foundBy("pairs")), Suspect: firmLots(r.foundBy("batches", "returns"))}); err != nil {
			return err
		}
		if found, err = res.Findings(r.frame); err != nil {
			return err
		}
	}
	r.note("stock", res.Notes...)
	if err := put(r, "backtest", res.Backtest, nil); err != nil {
		return err
	}
	if err := put(r, "order", res.Orders, nil); err != nil {
		return err
	}
	for _, o := range stock.BySupplier(res.Orders) {
		if err := r.out.write("tables/orders/"+o.Slug+".csv", func(w io.Writer) error { return schemas.WriteCSV(w, o.Lines) }); err != nil {
			return err
		}
	}
	return put(r, "stock", res.Rows, found)
}

// firmPairs are the pairs that are firm findings.
func firmPairs(list []schemas.Finding) []stock.Pair {
	var pairs []stock.Pair
	for _, f := range list {
		if f.Kind == schemas.KindPair && f.Grade == schemas.Firm {
			pairs = append(pairs, stock.Pair{Model: f.Row.Key["scope"], A: f.Subject.Component, B: f.Subject.ComponentB})
		}
	}
	return pairs
}

// firmLots are the lots whose parts come back, by a firm finding. A lot whose own jobs fall into the weeks of an alarm
// may only be what was fitted then: that says nothing against it.
func firmLots(list []schemas.Finding) []stock.Lot {
	var lots []stock.Lot
	for _, f := range list {
		back := f.Kind == schemas.KindReturn || f.Kind == schemas.KindBatch && f.Row.Key["link"] == batches.EarlierLot
		if back && f.Grade == schemas.Firm && f.Subject.Lot != "" {
			lots = append(lots, stock.Lot{Component: f.Subject.Component, Lot: f.Subject.Lot})
		}
	}
	return lots
}
