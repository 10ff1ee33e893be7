package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"strconv"
)

// A generator writes logs of a made-up chain of twelve shops over two and a half years: 18 plain columns, 200 models,
// 30 components, a sixth of the repairs with two or three part lines, devices that come back, and free text of which
// most is said once only. A ticket's rows depend on the seed and its number alone, so a log can be written in pieces,
// and a ticket exported again.
type generator struct {
	seed   uint64
	visits int64 // tickets of the whole log; they spread over its days
	edited int64 // every so many tickets has another charge than in the first export; 0 for none
	line   []byte
}

const (
	days       = 913
	unfinished = 200 // every so many tickets one is exported while still open, and once more at the end
)

const header = "ticket,shop,opened,ready,outcome,class,maker,model,serial,fault,found,part,supplier,lot,grade,unit_cost,minutes,charge\n"

var (
	parts = []string{"display", "battery", "charge port", "earpiece", "loudspeaker", "microphone", "front camera", "rear camera",
		"headphone jack", "SIM reader", "power button", "volume buttons", "home button", "vibration motor", "proximity sensor",
		"fingerprint sensor", "antenna", "mainboard", "keyboard", "touchpad", "hinge", "fan", "optical drive", "power supply",
		"USB port", "housing", "back glass", "frame", "touch", "wifi module"}
	states = []string{"does not work", "is broken", "cracked", "no longer reacts", "is loose", "crackles", "is dead", "fails now and then",
		"stopped after a fall", "is worn out", "makes a noise", "gets hot"}
	since = []string{"since Monday", "since yesterday", "for two weeks", "after a fall on the stairs", "after the last update", "since the holiday",
		"now and then", "all the time", "in the cold", "when it is warm", "after charging overnight", "in the car"}
	asks = []string{"customer asks for a price first", "please call before ordering", "needs it by Friday", "data is saved", "data is not saved",
		"second visit", "waits in the shop", "no hurry", "will come on Saturday", "has a spare device"}
	makers    = []string{"Lark", "Corvo", "Tern", "Pipit", "Siskin", "Dunlin", "Avocet", "Fulmar"}
	classes   = []string{"phone", "phone", "phone", "phone", "phone", "tablet", "tablet", "laptop", "watch", "console"}
	outcomes  = []string{"repaired", "repaired", "repaired", "repaired", "repaired", "repaired", "repaired", "no-fault", "uneconomic", "declined"}
	grades    = []string{"original", "aftermarket", "aftermarket", "pulled", "refurbished"}
	suppliers = []string{"Northparts", "Southparts", "Eastparts", "Westparts", "Middleparts"}
)

// write writes the tickets from first to last below a header, those exported while open once more at the end.
func (g *generator) write(ctx context.Context, w io.Writer, first, last int64) error {
	out := bufio.NewWriterSize(w, 1<<20)
	if _, err := out.WriteString(header); err != nil {
		return err
	}
	for _, pass := range []bool{false, true} {
		step := int64(1)
		number := first
		if pass {
			step = unfinished
			number = (first + unfinished - 1) / unfinished * unfinished
		}
		for ; number <= last; number += step {
			if number%(1<<16) == 0 && ctx.Err() != nil {
				return ctx.Err()
			}
			if _, err := out.Write(g.ticket(number, !pass && number%unfinished == 0)); err != nil {
				return err
			}
		}
	}
	return out.Flush()
}

// A device is told by the number of the ticket that first brought it in.
func (g *generator) device(origin int64) (model, weak int, serial uint64) {
	r := rand.NewPCG(g.seed, uint64(origin)<<1|1)
	return int(r.Uint64() % 200), component(r.Uint64()), r.Uint64()
}

// component draws one of the parts; the first ones fail far more often than the last.
func component(random uint64) int {
	a, b := int(random%30), int(random>>32%30)
	return min(a, b)
}

// ticket gives the rows of one ticket, as they were while it was open or when it was done.
func (g *generator) ticket(number int64, open bool) []byte {
	r := rand.New(rand.NewPCG(g.seed, uint64(number)<<1))
	origin := number
	if r.IntN(8) == 0 { // a device seen before, more often lately
		span := number
		if r.IntN(2) == 0 {
			span = min(span, g.visits/10+1)
		}
		origin = number - r.Int64N(span)
	}
	model, weak, serial := g.device(origin)
	bad := component(r.Uint64())
	switch {
	case origin != number && r.IntN(3) == 0, r.IntN(12) == 0:
		bad = weak // the same again, or what this device suffers from
	case r.IntN(10) == 0:
		bad = model % len(parts) // what this model is prone to
	}
	day := int((number - 1) * days / g.visits)
	outcome := outcomes[r.IntN(len(outcomes))]
	if open {
		outcome = "open"
	}
	b := g.line[:0]
	b = fmt.Appendf(b, "T%08d,shop %d,", number, 1+r.IntN(12))
	b = appendTime(b, day, 9+r.IntN(9), r.IntN(60))
	b = append(b, ',')
	if after, minute := r.IntN(5), r.IntN(60); !open {
		b = appendTime(b, day+after, 18, minute)
	}
	maker := makers[model%len(makers)]
	b = fmt.Appendf(b, ",%s,%s,%s,%s %d,", outcome, classes[model%len(classes)], maker, maker, 1+model/len(makers))
	for range 12 {
		b = append(b, "ABCDEFGHJKLMNPRSTUVWXYZ0123456789"[serial%33])
		serial /= 33
	}
	b = fmt.Appendf(b, `,"%s %s %s, %s`, parts[bad], states[r.IntN(len(states))], since[r.IntN(len(since))], asks[r.IntN(len(asks))])
	if r.IntN(2) == 0 {
		b = fmt.Appendf(b, `, estimate %d`, 20+r.IntN(400))
	}
	b = append(b, `",`...)
	if r.IntN(3) > 0 && outcome != "no-fault" {
		b = fmt.Appendf(b, "%s %s", parts[bad], states[r.IntN(4)])
	}
	b = append(b, ',')
	lines := 1
	if outcome == "repaired" && r.IntN(6) == 0 {
		lines = 2 + r.IntN(2)
	}
	fixed, minutes, charge := string(b), 10+5*(r.IntN(8)+r.IntN(8)), 3000+r.IntN(20000)
	if g.edited > 0 && number%g.edited == 0 {
		charge += 500
	}
	for i := range lines {
		if i > 0 {
			b = append(b, fixed...)
		}
		if outcome == "repaired" {
			part, supplier := (bad+i)%len(parts), r.IntN(len(suppliers))
			b = fmt.Appendf(b, "%s,%s,L%d%02d%02d,%s,%s", parts[part], suppliers[supplier], supplier, day/14, part, grades[r.IntN(len(grades))], price(model, part, supplier, day))
		} else {
			b = append(b, ",,,,"...)
		}
		b = fmt.Appendf(b, ",%d,%d.%02d\n", minutes, charge/100, charge%100)
	}
	g.line = b
	return b
}

// price is what a supplier asks for a part of a model, once a quarter anew.
func price(model, part, supplier, day int) string {
	cents := 300 + (model*7919+part*104729)%9000
	return fmt.Sprintf("%d.%02d", cents*(95+3*supplier+day/91)/10000, cents*(95+3*supplier+day/91)/100%100)
}

// appendTime appends the day so many days after 2023-12-01 with a clock reading.
func appendTime(b []byte, day, hour, minute int) []byte {
	year, month := 2023, 12
	for day++; day > monthDays(year, month); {
		day -= monthDays(year, month)
		if month++; month > 12 {
			year, month = year+1, 1
		}
	}
	b = strconv.AppendInt(b, int64(year), 10)
	for i, n := range [...]int{month, day, hour, minute} {
		b = append(b, "-- :"[i], byte('0'+n/10), byte('0'+n%10))
	}
	return b
}

func monthDays(year, month int) int {
	switch month {
	case 2:
		if year%4 == 0 {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}
