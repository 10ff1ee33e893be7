package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"strconv"
)

// generator writes a log of a made-up chain of shops: 24 plain columns, 200 models, 30 components,
// one ticket in eight with two or three part lines, and free text of which most is said once only.
type generator struct {
	rand *rand.Rand
	line []byte
	row  int64
}

const header = "ticket,shop,opened,ready,collected,outcome,class,maker,model,serial,made_week,fault,found,part,part_no,supplier,lot,grade,quantity,unit_cost,minutes,charge,currency,technician\n"

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

// write writes rows data rows below a header. The same seed gives the same bytes.
func (g *generator) write(ctx context.Context, w io.Writer, rows int64) error {
	out := bufio.NewWriterSize(w, 1<<20)
	if _, err := out.WriteString(header); err != nil {
		return err
	}
	for ticket := int64(1); g.row < rows; ticket++ {
		if ticket%(1<<16) == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		if err := g.ticket(out, ticket, rows); err != nil {
			return err
		}
	}
	return out.Flush()
}

// ticket writes the rows of one ticket.
func (g *generator) ticket(out *bufio.Writer, number, rows int64) error {
	r := g.rand
	lines := 1
	if r.IntN(8) == 0 {
		lines = 2 + r.IntN(2)
	}
	outcome := outcomes[r.IntN(len(outcomes))]
	component := r.IntN(len(parts))
	day := int(number * 913 / max(1, rows))
	b := g.line[:0]
	b = fmt.Appendf(b, "T%08d,shop %d,", number, 1+r.IntN(12))
	b = appendTime(b, day, 9+r.IntN(9), r.IntN(60))
	b = append(b, ',')
	b = appendTime(b, day+r.IntN(5), 18, r.IntN(60))
	b = append(b, ',')
	b = appendTime(b, day+5+r.IntN(5), 12, r.IntN(60))
	model := r.IntN(200)
	b = fmt.Appendf(b, ",%s,%s,%s,%s %d,", outcome, classes[model%len(classes)], makers[model%len(makers)], makers[model%len(makers)], 1+model/len(makers))
	for range 12 {
		b = append(b, "ABCDEFGHJKLMNPRSTUVWXYZ0123456789"[r.IntN(33)])
	}
	b = fmt.Appendf(b, ",%d-W%02d,", 2022+r.IntN(4), 1+r.IntN(52))
	b = fmt.Appendf(b, `"%s %s %s, %s`, parts[component], states[r.IntN(len(states))], since[r.IntN(len(since))], asks[r.IntN(len(asks))])
	if r.IntN(2) == 0 {
		b = fmt.Appendf(b, `, estimate %d`, 20+r.IntN(400))
	}
	b = append(b, '"', ',')
	if r.IntN(3) > 0 && outcome != "no-fault" {
		b = fmt.Appendf(b, "%s %s", parts[component], states[r.IntN(4)])
	}
	b = append(b, ',')
	fixed := len(b)
	minutes, charge := 10+r.IntN(80), 3000+r.IntN(20000)
	for i := range lines {
		if g.row == rows {
			break
		}
		g.row++
		b = b[:fixed]
		if outcome == "repaired" {
			part := component
			if i > 0 {
				part = r.IntN(len(parts))
			}
			b = fmt.Appendf(b, "%s,P%04d,%s,L%05d,%s,1,%d.%02d", parts[part], part*37+model, suppliers[r.IntN(len(suppliers))], day*10+part, grades[r.IntN(len(grades))], 3+r.IntN(90), r.IntN(100))
		} else {
			b = append(b, ",,,,,,"...)
		}
		b = fmt.Appendf(b, ",%d,%d.%02d,EUR,tech %d\n", minutes, charge/100, charge%100, 1+number%9)
		if _, err := out.Write(b); err != nil {
			return err
		}
	}
	g.line = b
	return nil
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
