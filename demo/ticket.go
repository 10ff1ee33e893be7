package demo

import "time"

// Ticket is one job as the generator knows it: the truth, before any dialect of a log hides it.
// Times are the shop's wall clock, carried as UTC; a zero time is not told.
type Ticket struct {
	Number     string
	Opened     time.Time
	Ready      time.Time
	Collected  time.Time
	Outcome    string // repaired, no-fault, uneconomic, declined, returned-unrepaired, open
	Device     *Device
	Faults     []string // components found bad, the first fault first; empty on no-fault visits
	Lines      []Line   // parts fitted
	Minutes    float64  // bench minutes; 0 when not told
	Charge     float64  // 0 when nothing was charged
	Technician string
	Found      string // what the technician wrote
	Fault      string // what the customer said
	Notes      string
	Return     bool // back for a component this shop fitted
	FromLot    bool // back because of the bad lot
	Unread     bool // a fault text that names no component, and nothing else
}

// Has says whether the component was found bad.
func (t *Ticket) Has(component string) bool {
	for _, f := range t.Faults {
		if f == component {
			return true
		}
	}
	return false
}

// Line is one part fitted.
type Line struct {
	Component string
	Part      string // the shop's words
	PartNo    string
	Supplier  string
	Lot       string // empty when not told
	Grade     string
	Quantity  int
	UnitCost  float64 // EUR
}

// Shop is one made-up shop and what went over its counter.
type Shop struct {
	Key     string  // folder name
	Name    string  // on the door
	Zone    string  // IANA
	Size    float64 // demand relative to shop one
	Tickets []Ticket

	language    string // of the counter: en, de or fr
	technicians []string
}

// Shops makes up the three shops' histories. The same options give the same tickets.
func Shops(opt Options) []Shop {
	opt = opt.withDefaults()
	shops := []Shop{
		{Key: "thimble-lane", Name: "Thimble Lane Bench", Zone: "Europe/Dublin", Size: 1, language: "en", technicians: technicians[0]},
		{Key: "pfennigbaum", Name: "Werkbank Pfennigbaum", Zone: "Europe/Berlin", Size: 0.5, language: "de", technicians: technicians[1]},
		{Key: "brindille", Name: "Atelier Brindille", Zone: "Europe/Brussels", Size: 0.35, language: "fr", technicians: technicians[2]},
	}
	total := 0.0
	for _, s := range shops {
		total += s.Size
	}
	for i := range shops {
		g := newCounter(&shops[i], opt, uint64(i), float64(opt.Tickets)*shops[i].Size/total)
		shops[i].Tickets = g.run()
	}
	return shops
}
