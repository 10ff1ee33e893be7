package stock

import (
	"cmp"
	"slices"
	"strings"
	"unicode"

	"faultgrain/schemas"
)

// orderLines is what to order now, by supplier and part.
func orderLines(rows []schemas.StockLine) []schemas.OrderLine {
	var list []schemas.OrderLine
	for _, r := range rows {
		if r.Order.V > 0 {
			list = append(list, schemas.OrderLine{Supplier: r.Supplier, Part: r.Part, Component: r.Component, Fits: r.Fits, Order: int(r.Order.V),
				UnitCost: r.UnitCost, LineCost: r.LineCost, Currency: r.Currency, WithPart: r.WithPart})
		}
	}
	slices.SortFunc(list, func(a, b schemas.OrderLine) int {
		return cmp.Or(cmp.Compare(a.Supplier, b.Supplier), cmp.Compare(a.Part, b.Part))
	})
	return list
}

// A SupplierOrder is the order list for one supplier.
type SupplierOrder struct {
	Slug  string // letters, digits and hyphens, different for every supplier
	Lines []schemas.OrderLine
}

// BySupplier cuts an order list, sorted by supplier, into one for each.
func BySupplier(list []schemas.OrderLine) []SupplierOrder {
	var orders []SupplierOrder
	taken := map[string]int{}
	for start := 0; start < len(list); {
		end := start
		for end < len(list) && list[end].Supplier == list[start].Supplier {
			end++
		}
		s := slug(list[start].Supplier)
		if taken[s]++; taken[s] > 1 {
			s += "-" + strings.Repeat("x", taken[s]-1)
		}
		orders = append(orders, SupplierOrder{s, list[start:end]})
		start = end
	}
	return orders
}

func slug(supplier string) string {
	words := strings.FieldsFunc(strings.ToLower(supplier), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	const most = 60 // bytes, well below what file systems allow
	s := strings.Join(words, "-")
	for len(s) > most {
		s = string([]rune(s)[:len([]rune(s))-1])
	}
	return cmp.Or(s, "no-supplier")
}
