package returns

import (
	"cmp"
	"slices"
)

// A ledger gathers repairs as they come, by component and attribute. A log may have millions of them, so each takes one
// number: value, model, days and whether the device came back.
type ledger struct {
	models words
	pages  map[string]*page
}

// A page has the repairs of one component.
type page struct {
	component string
	by        [3]column // grade, supplier, lot
}

type column struct {
	values  words
	repairs []uint64 // in no order
}

// The bits of a repair, from the least on: back, days, model, value.
const (
	modelShift = 9
	valueShift = 36
)

var attributeNames = [3]string{ByGrade, BySupplier, ByLot}

// add takes a repair. Values that were not told complete the component, for its share of returns; that is the grade's task.
func (l *ledger) add(f *fitted) {
	p := l.pages[f.Component]
	if p == nil {
		if l.pages == nil {
			l.pages = map[string]*page{}
		}
		p = &page{component: f.Component}
		l.pages[f.Component] = p
	}
	fate := uint64(l.models.number(f.Model))<<modelShift | uint64(f.Days)<<1 | uint64(f.Back)
	for i, v := range [3]string{f.Grade, f.Supplier, f.Lot} {
		if v == "" && attributeNames[i] != ByGrade {
			continue
		}
		c := &p.by[i]
		c.repairs = append(c.repairs, uint64(c.values.number(v))<<valueShift|fate)
	}
}

// attributes puts what was gathered in order: component, then grade, supplier and lot; their values, models and days.
func (l *ledger) attributes() []*attribute {
	models := l.models.ranks()
	var out []*attribute
	for _, p := range l.pages {
		for i := range p.by {
			if c := &p.by[i]; len(c.repairs) > 0 {
				out = append(out, &attribute{component: p.component, by: attributeNames[i], groups: c.groups(models)})
			}
		}
	}
	slices.SortFunc(out, func(a, b *attribute) int {
		return cmp.Or(cmp.Compare(a.component, b.component), cmp.Compare(slices.Index(attributeNames[:], a.by), slices.Index(attributeNames[:], b.by)))
	})
	return out
}

// groups counts equal repairs and tells them apart by value. models are the places of the models in order.
func (c *column) groups(models []uint32) []group {
	values := c.values.ranks()
	for i, r := range c.repairs {
		model := r >> modelShift & (1<<(valueShift-modelShift) - 1)
		c.repairs[i] = uint64(values[r>>valueShift])<<valueShift | uint64(models[model])<<modelShift | r&(1<<modelShift-1)
	}
	slices.Sort(c.repairs)
	slices.Sort(c.values.list)
	var out []group
	for i := 0; i < len(c.repairs); {
		r := c.repairs[i]
		j := i + 1
		for ; j < len(c.repairs) && c.repairs[j] == r; j++ {
		}
		if value := c.values.list[r>>valueShift]; len(out) == 0 || out[len(out)-1].value != value {
			out = append(out, group{value: value})
		}
		g := &out[len(out)-1]
		g.lives = append(g.lives, life{model: int32(r >> modelShift & (1<<(valueShift-modelShift) - 1)), days: int32(r >> 1 & 0xff), back: int32(r & 1), repairs: int32(j - i)})
		i = j
	}
	c.repairs = nil
	return out
}

// words numbers texts as they come, from 0.
type words struct {
	at   map[string]uint32
	list []string
}

func (w *words) number(text string) uint32 {
	n, ok := w.at[text]
	if !ok {
		if w.at == nil {
			w.at = map[string]uint32{}
		}
		n = uint32(len(w.list))
		w.at[text], w.list = n, append(w.list, text)
	}
	return n
}

// ranks gives by number the place of the text among all in order.
func (w *words) ranks() []uint32 {
	order := make([]uint32, len(w.list))
	for i := range order {
		order[i] = uint32(i)
	}
	slices.SortFunc(order, func(a, b uint32) int { return cmp.Compare(w.list[a], w.list[b]) })
	ranks := make([]uint32, len(order))
	for place, n := range order {
		ranks[n] = uint32(place)
	}
	return ranks
}
