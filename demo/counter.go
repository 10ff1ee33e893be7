package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"
)

// counter plays one shop day by day.
type counter struct {
	shop    *Shop
	opt     Options
	events  *rand.Rand // what happens
	prose   *rand.Rand // how it is told: other words never change the events
	models  map[string][]*Model
	classes map[string][]component
	start   float64 // expected visits on an average open day at the start, consoles aside
	devices []*Device
	tickets []Ticket
	due     map[int][]comeback // by day from FirstDay
	people  int
}

// comeback is a device that will stand at the counter again.
type comeback struct {
	device    *Device
	component string
	fromLot   bool
}

// growth of the visits per year; season is the swing over the year (more in autumn than in spring).
const (
	growth = 1.25
	season = 0.10
)

// weekdays weigh the days of the week, Sunday first; shops are closed on Sundays.
var weekdays = [7]float64{0, 1.35, 1.05, 0.95, 0.95, 1.10, 0.60}

func newCounter(shop *Shop, opt Options, stream uint64, tickets float64) *counter {
	c := &counter{shop: shop, opt: opt,
		events:  rand.New(rand.NewPCG(opt.Seed, 2*stream)),
		prose:   rand.New(rand.NewPCG(opt.Seed, 2*stream+1)),
		models:  map[string][]*Model{},
		classes: classes(),
		due:     map[int][]comeback{},
		people:  int(stream) * 200_000,
	}
	for _, m := range models() {
		c.models[m.Class] = append(c.models[m.Class], m)
	}
	// About one visit in twenty is a comeback of truth 3 or 4 or of the usual hazard.
	weight, days := 0.0, int(LastDay.Sub(FirstDay).Hours()/24)+1
	for day := range days {
		weight += c.busy(day)
	}
	console := c.consoles() * float64(days) / 7
	c.start = (tickets*0.95 - console) / weight
	return c
}

// consoles is the expected number of console visits a week: what gives DemandWeekly fitted ports.
func (c *counter) consoles() float64 {
	return c.shop.Size * DemandWeekly / (consolePortShare * repairedShare) * float64(c.opt.Tickets) / Tickets
}

// busy is the expected number of visits of a day, relative to an average day at the start.
func (c *counter) busy(day int) float64 {
	date := FirstDay.AddDate(0, 0, day)
	if closed(date) {
		return 0
	}
	years := float64(day) / 365.25
	yearly := 1 + season*math.Sin(2*math.Pi*(float64(date.YearDay())/365.25-0.58))
	return weekdays[date.Weekday()] * math.Pow(growth, years) * yearly
}

// closed says whether the shops rest: Sundays, Christmas and New Year.
func closed(date time.Time) bool {
	d, m := date.Day(), date.Month()
	return date.Weekday() == time.Sunday || m == time.December && d == 25 || m == time.January && d == 1
}

func (c *counter) run() []Ticket {
	days := int(LastDay.Sub(FirstDay).Hours()/24) + 1
	for day := range days {
		date := FirstDay.AddDate(0, 0, day)
		if closed(date) {
			c.due[day+1] = append(c.due[day+1], c.due[day]...)
			continue
		}
		for _, back := range c.due[day] {
			c.visit(day, back.device, []string{back.component}, back)
		}
		for range poisson(c.events, c.start*c.busy(day)) {
			class := pickWord(c.events, classShares)
			device := c.device(date, class)
			c.visit(day, device, c.faults(device.Model, date), comeback{})
		}
		// Six open days share the week's consoles evenly, so that no week differs from another.
		for range poisson(c.events, c.consoles()/6) {
			device := c.device(date, "console")
			c.visit(day, device, c.faults(device.Model, date), comeback{})
		}
	}
	slices.SortStableFunc(c.tickets, func(a, b Ticket) int { return a.Opened.Compare(b.Opened) })
	for i := range c.tickets {
		c.tickets[i].Number = fmt.Sprintf("%c%d", 'A'+c.shop.Key[0]-'a', 10_001+i)
	}
	return c.tickets
}

// device is a known one now and then, if it has not been in for longer than anyone follows a repair up.
func (c *counter) device(date time.Time, class string) *Device {
	if class != "console" && len(c.devices) > 0 && c.events.Float64() < repeatOwner {
		for range 8 {
			d := pick(c.events, c.devices)
			if d.Model.Class == class && date.Sub(d.lastSeen) > (ReturnHorizon+30)*24*time.Hour {
				d.lastSeen = date
				return d
			}
		}
	}
	c.people++
	d := newDevice(c.events, c.model(date, class), date, newCustomer(c.prose, c.people), c.shop.language, c.people)
	c.devices = append(c.devices, d)
	return d
}

func (c *counter) model(date time.Time, class string) *Model {
	months := date.Sub(FirstDay).Hours() / 24 / 30.44
	weight := func(m *Model) float64 {
		switch {
		case date.Before(m.From):
			return 0
		case m.Fading:
			return m.Weight * math.Exp2(-months/9)
		default:
			return m.Weight
		}
	}
	total := 0.0
	for _, m := range c.models[class] {
		total += weight(m)
	}
	at := c.events.Float64() * total
	for _, m := range c.models[class] {
		if at -= weight(m); at < 0 {
			return m
		}
	}
	return c.models[class][0]
}

// poisson draws by multiplying uniforms (Knuth, The Art of Computer Programming vol. 2, 3.4.1); means
// here are small.
func poisson(r *rand.Rand, mean float64) int {
	limit, n := math.Exp(-mean), 0
	for p := r.Float64(); p > limit; p *= r.Float64() {
		n++
	}
	return n
}

// lognormal draws with the given median and standard deviation of the log.
func lognormal(r *rand.Rand, median, sigma float64) float64 {
	return median * math.Exp(sigma*r.NormFloat64())
}

func byID(list []component, id string) *component {
	if i := slices.IndexFunc(list, func(k component) bool { return k.id == id }); i >= 0 {
		return &list[i]
	}
	return nil
}
