package demo

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"
	"strings"
	"time"
)

// shelf is one line of stock.csv: the part of a component that fits a model, and how it is bought.
type shelf struct {
	model, component string
	onHand, onOrder  int // at a shop of size 1
	leadDays, pack   int
	supplier         string
	lot              string // empty where the shop does not sort the shelf by lot
}

// shelves holds a fast part, the pair, a shared part, a part with pieces of the bad lot left, a new model, a dying model, a part bought in
// tens, and the part of known demand.
var shelves = []shelf{
	{"Yonderly Bounder 2", DemandComponent, 3, 0, 10, 1, "Cellwarden", ""},
	{PairModel, PairA, 2, 0, 7, 1, "Ferrule Bros", ""},
	{PairModel, PairB, 4, 0, 7, 1, "Ferrule Bros", ""},
	{PairModel, "display", 5, 2, 5, 1, "Partquay", ""},
	{PairModel, "charge-port", 2, 0, 7, 5, "Ferrule Bros", ""},
	{"Ostrel Sedge 6", LotComponent, LotOnShelf, 0, 7, 10, LotSupplier, Lot},
	{"Ostrel Sedge 6", LotComponent, 3, 0, 7, 10, LotSupplier, "PA-1461"},
	{"Ostrel Sedge 6", "display", 3, 0, 5, 1, "Partquay", ""},
	{"Varnby Plover 8", "battery", 6, 0, 7, 10, "Cellwarden", ""},
	{PriceModel, PriceComponent, 1, 0, 12, 1, "Teilekontor Zwirn", ""},
	{PriceModel, "display", 2, 0, 5, 1, "Partquay", ""},
	{ShareModel, ShareComponent, 2, 0, 14, 1, "Teilekontor Zwirn", ""},
	{"Brindock Larder 15", "keyboard", 1, 1, 14, 1, "Teilekontor Zwirn", ""},
	{"Brindock Larder 15", "battery", 2, 0, 9, 1, "Cellwarden", ""},
	{"Ostrel Fathom 9", "display", 2, 0, 8, 1, "Partquay", ""},
	{"Kelpin Quire 12", "display", 1, 0, 5, 1, "Partquay", ""},
	{"Kelpin Quire 8", "display", 4, 0, 5, 1, "Partquay", ""},
	{"Noddick Tock 3", "battery", 3, 0, 9, 5, "Cellwarden", ""},
}

// writeStock writes stock.csv; part is the number the log's part lines carry.
func (e *exporter) writeStock() error {
	tree, lists := models(), classes()
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	if err := w.Write([]string{"part", "component", "fits", "on_hand", "on_order", "lead_days", "unit_cost", "pack", "supplier", "lot"}); err != nil {
		return err
	}
	for _, s := range shelves {
		var m *Model
		for _, candidate := range tree {
			if candidate.Name() == s.model {
				m = candidate
			}
		}
		k := byID(lists[m.Class], s.component)
		part := partNo(k, m)
		var fits []string
		for _, other := range tree {
			if o := byID(lists[other.Class], s.component); o != nil && o.code != "" && partNo(o, other) == part {
				fits = append(fits, other.Name())
			}
		}
		cost := k.cost * modelFactor(k, m)
		if s.model == PriceModel && s.component == PriceComponent {
			cost = PriceAfter
		}
		onHand := int(math.Ceil(float64(s.onHand) * e.shop.Size))
		if err := w.Write([]string{part, s.component, strings.Join(fits, ";"), strconv.Itoa(onHand), strconv.Itoa(s.onOrder),
			strconv.Itoa(s.leadDays), plainNumber(cost, 2), strconv.Itoa(s.pack), s.supplier, s.lot}); err != nil {
			return err
		}
	}
	w.Flush()
	var err error
	e.files.Stock, err = e.create("stock.csv", out.Bytes())
	return err
}

// writeFleet writes fleet.csv: the laptops and tablets the shop looks after under contract, by month.
func (e *exporter) writeFleet() error {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	if err := w.Write([]string{"model", "month", "units"}); err != nil {
		return err
	}
	first := time.Date(FirstDay.Year(), FirstDay.Month(), 1, 0, 0, 0, 0, time.UTC)
	for _, m := range models() {
		if m.Class != "laptop" && m.Class != "tablet" {
			continue
		}
		for month, n := first, 0; !month.After(LastDay); month, n = month.AddDate(0, 1, 0), n+1 {
			units := int(m.Weight * 40 * math.Pow(growth, float64(n)/12))
			if err := w.Write([]string{m.Name(), month.Format("2006-01"), strconv.Itoa(units)}); err != nil {
				return err
			}
		}
	}
	w.Flush()
	var err error
	e.files.Fleet, err = e.create("fleet.csv", out.Bytes())
	return err
}
