package demo

import (
	"math"
	"time"
)

// visit writes one ticket and draws whether the device will be back.
func (c *counter) visit(day int, d *Device, faults []string, back comeback) {
	r := c.events
	date := FirstDay.AddDate(0, 0, day)
	t := Ticket{
		Opened:     date.Add(9*time.Hour + time.Duration(r.IntN(8*60+30))*time.Minute),
		Device:     d,
		Faults:     faults,
		Technician: pick(r, c.shop.technicians),
		Return:     back.device != nil,
		FromLot:    back.fromLot,
	}
	d.lastSeen = date
	t.Outcome = c.outcome(faults)
	end := LastDay.Add(18 * time.Hour)
	t.Ready = openTime(t.Opened.Add(time.Duration(lognormal(r, 26, 0.9)*float64(time.Hour))), r.IntN(9*60))
	if t.Ready.After(end) {
		t.Outcome, t.Ready = "open", time.Time{}
	} else if at := openTime(t.Ready.Add(time.Duration(lognormal(r, 30, 1.0)*float64(time.Hour))), r.IntN(9*60)); !at.After(end) {
		t.Collected = at
	}
	minutes := c.minutes(d.Model.Class, faults)
	list := c.classes[d.Model.Class]
	if t.Outcome == "repaired" {
		t.Minutes = minutes
		for _, f := range faults {
			if k := byID(list, f); k.code != "" {
				t.Lines = append(t.Lines, c.line(k, d.Model, date))
			}
		}
		t.Charge = c.charge(d.Model, faults)
		for i := range t.Lines {
			c.followUp(day, &t, &t.Lines[i])
		}
	} else if t.Outcome != "open" {
		t.Minutes = lognormal(r, 14, MinutesSigma)
		t.Charge = 15 // looking costs the same everywhere
	}
	c.tell(&t)
	c.tickets = append(c.tickets, t)
}

func (c *counter) outcome(faults []string) string {
	if len(faults) == 0 {
		return "no-fault"
	}
	switch at := c.events.Float64(); {
	case at < repairedShare:
		return "repaired"
	case at < repairedShare+0.03:
		return "uneconomic"
	case at < repairedShare+0.07:
		return "declined"
	default:
		return "returned-unrepaired"
	}
}

// openTime moves a moment outside 9 to 18 o'clock, or on a closed day, to so many minutes into the
// next opening.
func openTime(at time.Time, minute int) time.Time {
	open := func(t time.Time) bool { return !closed(t) && t.Hour() >= 9 && t.Hour() < 18 }
	if open(at) {
		return at.Truncate(time.Minute)
	}
	day := at.Truncate(24 * time.Hour)
	if at.Hour() >= 18 {
		day = day.AddDate(0, 0, 1)
	}
	for closed(day) {
		day = day.AddDate(0, 0, 1)
	}
	return day.Add(9*time.Hour + time.Duration(minute)*time.Minute)
}

// minutes sums what each fault takes; the pair in one opening has a time of its own (truth 8).
func (c *counter) minutes(class string, faults []string) float64 {
	if !c.opt.Null && class == "phone" && len(faults) == 2 && has(faults, PairA) && has(faults, PairB) {
		return lognormal(c.events, MinutesBoth, MinutesSigma)
	}
	sum := 0.0
	for _, f := range faults {
		sum += lognormal(c.events, byID(c.classes[class], f).minutes, MinutesSigma)
	}
	if len(faults) == 0 {
		sum = lognormal(c.events, byID(c.classes[class], noFault).minutes, MinutesSigma)
	}
	return sum
}

func has(faults []string, id string) bool {
	for _, f := range faults {
		if f == id {
			return true
		}
	}
	return false
}

// charge is the list price of the job: usual parts and usual time with the usual margin, ending in 9.
// It does not follow a supplier's price (truth 5).
func (c *counter) charge(m *Model, faults []string) float64 {
	sum := 0.0
	for _, f := range faults {
		k := byID(c.classes[m.Class], f)
		sum += (k.cost*modelFactor(k, m)*1.15 + k.minutes*1.05*LabourRate/60) / (1 - TargetMargin - 0.16)
	}
	return math.Ceil(sum/10)*10 - 1
}

// followUp draws when a fitted part fails: truth 4's hazard, and truth 3 for the bad lot. Ports of
// consoles never fail early, so that their demand is the plain count of truth 7.
func (c *counter) followUp(day int, t *Ticket, l *Line) {
	r := c.events
	if l.Component == DemandComponent {
		return
	}
	fitted := int(t.Ready.Sub(FirstDay).Hours() / 24)
	if !c.opt.Null && l.Lot == Lot {
		onset := int(LotOnset.Sub(FirstDay).Hours() / 24)
		last := int(LastDay.Sub(FirstDay).Hours() / 24)
		// The day of failure is even over the onset weeks; those that would have failed before the
		// fitting never had the chance.
		at := onset + r.IntN(last-onset+1)
		if r.Float64() < LotFailing && at > fitted+2 {
			c.due[at] = append(c.due[at], comeback{t.Device, l.Component, true})
			return
		}
	}
	hazard := -math.Log(1-ReturnBase) / 90
	if !c.opt.Null && l.Component == ReturnComponent && l.Grade == ReturnGrade {
		hazard *= ReturnHazard
	}
	wait := r.ExpFloat64() / hazard
	if wait <= ReturnHorizon {
		at := fitted + max(1, int(math.Ceil(wait)))
		c.due[at] = append(c.due[at], comeback{device: t.Device, component: l.Component})
	}
}
