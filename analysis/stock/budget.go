package stock

// spend cuts the orders down to a budget. Pack after pack goes to the part where the next one saves most expected
// margin for its money; a part without a known margin counts its cost for it. Parts without a cost, or in another
// currency than the budget, can't be counted against it and are left out. The names of the parts cut are returned.
func spend(plans []plan, budget float64, currency string) (cut []string, err error) {
	wanted := make([]int, len(plans))
	for i := range plans {
		wanted[i], plans[i].order = plans[i].order, 0
	}
	for left := budget; ; {
		best, bestGain, bestStep := -1, 0.0, 0
		for i := range plans {
			p := &plans[i]
			step := p.lot().order(p.position()+p.order+1, p.position()+p.order)
			if p.order > 0 {
				step = max(p.item.Pack, 1) // the least order is met
			}
			cost := float64(step) * p.item.UnitCost.V
			if p.order+step > wanted[i] || !p.item.UnitCost.OK || p.item.Currency != currency || cost > left*(1+1e-12) {
				continue
			}
			gain, err := p.gain(step)
			if err != nil {
				return nil, err
			}
			if cost > 0 {
				gain /= cost
			} else {
				gain = 1e300 // free
			}
			if gain > bestGain {
				best, bestGain, bestStep = i, gain, step
			}
		}
		if best < 0 {
			break
		}
		plans[best].order += bestStep
		left -= float64(bestStep) * plans[best].item.UnitCost.V
	}
	for i := range plans {
		if plans[i].order < wanted[i] {
			plans[i].short = true
			cut = append(cut, plans[i].item.Part)
		}
	}
	return cut, nil
}

// gain is the margin that so many pieces more are expected to save until the order after this one arrives.
func (p *plan) gain(pieces int) (float64, error) {
	have := p.position() + p.order
	without, err := p.ahead.Backorders(have)
	if err != nil {
		return 0, err
	}
	with, err := p.ahead.Backorders(have + pieces)
	if err != nil {
		return 0, err
	}
	worth := p.item.UnitCost.V
	if p.margin.OK {
		worth = p.margin.V
	}
	return (without - with) * worth, nil
}
