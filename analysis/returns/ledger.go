package returns

import "slices"

// A ledger gathers repairs as they come, by component and attribute. A log may have millions of them, so words are numbers
// here, and each repair takes one: value, model, days and whether the device came back.
type ledger struct {
	models, suppliers, grades int64 // how many of each; the latter two with one more, for what is not told

	pages []page // by component
}

// A page has the repairs of one component.
type page struct {
	component string
	by        [3]column // grade, supplier, lot
}

type column struct {
	values  []string // in order, shared by all pages; a number is a place here and one more
	repairs []uint64 // in no order
}

// The bits of a repair, from the least on: back, days, model, value.
const (
	modelShift = 9
	valueShift = 36
)

var attributeNames = [3]string{ByGrade, BySupplier, ByLot}

// newLedger takes the words in the order of their numbers.
func newLedger(words []word) *ledger {
	l := &ledger{suppliers: 1, grades: 1}
	var values [3][]string
	for _, w := range words {
		if i := slices.Index(attributeNames[:], w.Kind); i >= 0 {
			values[i] = append(values[i], w.Word)
			continue
		}
		switch w.Kind {
		case "component":
			p := page{component: w.Word}
			for i := range p.by {
				p.by[i].repairs = make([]uint64, 0, int(w.Lines.V))
			}
			l.pages = append(l.pages, p)
		case "model":
			l.models++
		}
	}
	l.grades += int64(len(values[0]))
	l.suppliers += int64(len(values[1]))
	for i := range l.pages {
		for j := range l.pages[i].by {
			l.pages[i].by[j].values = values[j]
		}
	}
	return l
}

// add takes a repair. Values that were not told complete the component, for its share of returns; that is the grade's task.
func (l *ledger) add(f *fitted) {
	end, node := f.Fate&(1<<modelShift-1), f.Fate>>modelShift
	p := &l.pages[node/l.models]
	fate := uint64(node%l.models)<<modelShift | uint64(end)
	source := f.Origin / l.grades
	for i, v := range [3]int64{f.Origin % l.grades, source % l.suppliers, source / l.suppliers} {
		if v == 0 && attributeNames[i] != ByGrade {
			continue
		}
		p.by[i].repairs = append(p.by[i].repairs, uint64(v)<<valueShift|fate)
	}
}

// attributes gives what was gathered, component by component: grade, supplier and lot; their values, models and days.
func (l *ledger) attributes() []*attribute {
	var out []*attribute
	for i := range l.pages { // components are in order
		p := &l.pages[i]
		for i := range p.by {
			if c := &p.by[i]; len(c.repairs) > 0 {
				out = append(out, &attribute{component: p.component, by: attributeNames[i], groups: c.groups()})
			}
		}
	}
	return out
}

// groups counts equal repairs and tells them apart by value.
func (c *column) groups() []group {
	slices.Sort(c.repairs)
	var out []group
	for i := 0; i < len(c.repairs); {
		r := c.repairs[i]
		j := i + 1
		for ; j < len(c.repairs) && c.repairs[j] == r; j++ {
		}
		value := ""
		if n := r >> valueShift; n > 0 {
			value = c.values[n-1]
		}
		if len(out) == 0 || out[len(out)-1].value != value {
			out = append(out, group{value: value})
		}
		g := &out[len(out)-1]
		g.lives = append(g.lives, life{model: int32(r >> modelShift & (1<<(valueShift-modelShift) - 1)), days: int32(r >> 1 & 0xff), back: int32(r & 1), repairs: int32(j - i)})
		i = j
	}
	c.repairs = nil
	return out
}
