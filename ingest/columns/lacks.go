package columns

// lack says what a report can't work out for want of a column.
type lack struct {
	meaning Meaning
	what    string
}

// lacks lists what the report will do without. part lines are asked of files that have some.
func lacks(has func(Meaning) bool) []lack {
	var out []lack
	miss := func(m Meaning, what string) {
		if !has(m) {
			out = append(out, lack{m, what})
		}
	}
	miss(Ticket, "nothing can be read: every row needs the number of its job")
	miss(Opened, "rows can't be tickets of their own: trends, turnaround and the month in brief need the day a device came in")
	if !has(Model) {
		switch {
		case has(Family) || has(Maker) || has(Class):
			miss(Model, "devices are told apart by family, maker or class only")
		default:
			miss(Model, "rows can't be tickets of their own: they need a model, or at least a maker or a class")
		}
	}
	miss(Maker, "the same model name of two makers is one model")
	miss(Class, "no comparison with other models of the class; a constant does where the log has one class")
	if !has(Part) && !has(Found) && !has(Fault) {
		out = append(out, lack{Fault, "no component can be read: nothing about what fails"})
	} else {
		miss(Found, "components come from parts and the customer's words only")
	}
	miss(Outcome, "jobs without fault can't be told from jobs nobody read")
	miss(Ready, "no turnaround, no returns within the warranty days")
	miss(Serial, "a device can't be known again: no returns, no pairs of faults on one device")
	miss(Minutes, "no bench times, no minutes saved by doing two repairs in one opening, no labour in the price floor")
	miss(Charge, "no margins")
	miss(Part, "no part lines: no returns by part, no part prices, stock from faults only")
	if has(Part) {
		miss(UnitCost, "no part prices")
		miss(Supplier, "no comparison of suppliers")
		miss(Lot, "no search for a bad lot")
		miss(Grade, "no comparison of part grades")
		miss(PartNo, "stock counts components, not part numbers")
		miss(Quantity, "each part line counts as one piece")
	}
	miss(MadeWeek, "no search for a bad week of manufacture")
	if has(Charge) || has(UnitCost) {
		miss(Currency, "amounts that name no currency are taken in the currency of shop.toml")
	}
	return out
}
