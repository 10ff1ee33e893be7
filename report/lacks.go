package report

import "faultgrain/schemas"

// A lacking is what a page could not say.
type lacking struct {
	Nothing string   // the page has nothing to show, and what would give it
	Keys    []string // what it would say more with keys of shop.toml
}

// A need is what a page rests on: what is missing when its table is empty, and the keys of shop.toml
// that give it more.
type need struct {
	table   string
	nothing string
	keys    []string
}

var needs = map[string]need{
	"shares": {"shares", "No diagnosed visit could be read. The columns fault, found or part say what was bad, model or class says on what.", []string{"fleet"}},
	"pairs":  {"pairs", "No two components were seen often enough to say how often they fail together. The columns fault, found and part give them; serial lets visits of one device be put together.", nil},
	"times":  {"times", "No bench times and no turnaround. The column minutes gives the first, opened and ready the second.", nil},
	"trends": {"trends", "No month could be compared with another. That needs several months of visits with a fault.", nil},
	"batches": {"batches", "No alarm and no link: nothing was unusual in the last 13 weeks, or the log is too short to say what is usual. " +
		"A year of visits gives the usual level; the columns lot, supplier, grade, made_week and serial show what goes with a fault.", nil},
	"returns": {"returns", "No repair could be followed up. That needs serial (to know the device again) and ready, and one of grade, supplier or lot on the part lines.", []string{"warranty_days"}},
	"prices":  {"prices", "No part costs. The columns part and unit_cost give them, currency or the key of that name in shop.toml says in what money; charge and minutes give the margin.", []string{"labour_rate", "target_margin", "currency"}},
	"stock":   {"stock", "No order list. A stock.csv with part, component, fits, on_hand, on_order, lead_days, unit_cost and pack gives it; name it with the key stock in shop.toml or --stock.", []string{"stock", "service_level", "holding_rate", "review_days"}},
	"quality": {"quality", "The table of data health is missing; run faultgrain analyse again.", nil},
}

// lacks says what a page could not work out and what would give it. rows is the length of its table.
func (s *site) lacks(page string, rows int) (l lacking) {
	n := needs[page]
	if rows == 0 {
		l.Nothing = n.nothing
	}
	for _, q := range s.missingKeys() {
		for _, key := range n.keys {
			if q.Subject == key {
				l.Keys = append(l.Keys, "Without the key "+key+" in shop.toml: "+q.Note+".")
			}
		}
	}
	return l
}

func (s *site) missingKeys() []schemas.QualityRow {
	var list []schemas.QualityRow
	for _, q := range s.Quality {
		if q.Topic == "missing-key" {
			list = append(list, q)
		}
	}
	return list
}
