package demo

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"strconv"
	"time"
)

// BulkOptions describes a history with nothing in it: every model of a class fails alike, week after
// week. It is for benchmarks and for measuring false alarms.
type BulkOptions struct {
	Tickets  int
	Models   int       // 0 means 200; makers take ten each, families five
	Days     int       // 0 means 913, thirty months; tickets are spread evenly over them, in order
	Start    time.Time // first day, UTC; zero means FirstDay
	Seed     uint64
	Texts    bool // faults from the customer's words instead of part lines
	Personal bool // customer, phone and mail columns too
}

// bulkComponents are the part names and weights in percent; the sum is 100.
var bulkComponents = []struct {
	part, says string
	percent    int
}{
	{"display", "screen cracked", 28}, {"battery", "battery flat by noon", 22}, {"charge port", "charge port loose", 12},
	{"loudspeaker", "loudspeaker crackles", 7}, {"earpiece", "earpiece silent", 6}, {"rear camera", "rear camera blurry", 5},
	{"back glass", "back glass broken", 5}, {"microphone", "microphone dead", 4}, {"power button", "power button stuck", 3},
	{"volume buttons", "volume buttons dead", 2}, {"front camera", "front camera black", 2}, {"SIM reader", "SIM reader bent", 1},
	{"vibration motor", "vibration motor rattles", 1}, {"mainboard", "mainboard dead", 1}, {"fingerprint sensor", "fingerprint sensor dead", 1},
}

// Bulk streams one CSV with plain headers to w, one row per ticket, in constant memory. It returns the
// number of rows written, the header aside, which is opt.Tickets unless an error is returned.
func Bulk(ctx context.Context, w io.Writer, opt BulkOptions) (int, error) {
	if opt.Models == 0 {
		opt.Models = 200
	}
	if opt.Days == 0 {
		opt.Days = 913
	}
	if opt.Start.IsZero() {
		opt.Start = FirstDay
	}
	out := bufio.NewWriterSize(w, 1<<20)
	b := newBulk(opt)
	if _, err := out.Write(b.header()); err != nil {
		return 0, fmt.Errorf("bulk log: %w", err)
	}
	for n := range opt.Tickets {
		if n%65_536 == 0 {
			if err := ctx.Err(); err != nil {
				return n, err
			}
		}
		if _, err := out.Write(b.row(n)); err != nil {
			return n, fmt.Errorf("bulk log: %w", err)
		}
	}
	if err := out.Flush(); err != nil {
		return opt.Tickets, fmt.Errorf("bulk log: %w", err)
	}
	return opt.Tickets, nil
}

// bulk holds what every row is put together from.
type bulk struct {
	opt     BulkOptions
	rand    *rand.Rand
	days    []string // 2026-05-30
	devices []string // class,maker,model
	parts   []int    // index into bulkComponents by percent
	line    []byte
}

func newBulk(opt BulkOptions) *bulk {
	b := &bulk{opt: opt, rand: rand.New(rand.NewPCG(opt.Seed, 77))}
	for d := range opt.Days + 30 {
		b.days = append(b.days, opt.Start.AddDate(0, 0, d).Format(time.DateOnly))
	}
	for m := range opt.Models {
		maker := spell(m / 10)
		b.devices = append(b.devices, fmt.Sprintf("%s,%s,%s %d", []string{"phone", "phone", "tablet"}[m/10%3], maker, spell(500+m/5), 3+m%5))
	}
	for i, k := range bulkComponents {
		for range k.percent {
			b.parts = append(b.parts, i)
		}
	}
	return b
}

// spell makes a pronounceable word for a number: each number its own word.
func spell(n int) string {
	heads, tails := "BDFGKLMNPRSTVZ", []string{"abel", "erno", "illu", "ompa", "ursk", "eddi", "ogly"}
	word := string(heads[n%len(heads)]) + tails[n/len(heads)%len(tails)]
	for n /= len(heads) * len(tails); n > 0; n /= len(tails) {
		word += tails[n%len(tails)]
	}
	return word
}

func (b *bulk) header() []byte {
	h := "ticket,opened,ready,outcome,class,maker,model,serial,fault,part,part_no,supplier,lot,grade,quantity,unit_cost,minutes,charge,currency"
	if b.opt.Personal {
		h += ",customer,phone,email"
	}
	return []byte(h + "\n")
}

// row writes ticket n; the result is valid until the next call.
func (b *bulk) row(n int) []byte {
	r := b.rand
	day := int(int64(n) * int64(b.opt.Days) / int64(b.opt.Tickets))
	kind := b.parts[r.IntN(100)]
	k := &bulkComponents[kind]
	draw := r.Uint64() // small independent choices from the bits of one draw
	l := append(b.line[:0], 'N')
	l = strconv.AppendInt(l, int64(n)+1, 10)
	l = append(l, ',')
	l = append(l, b.days[day]...)
	l = append(l, ' ', '0'+byte(draw%2), '0'+byte(draw>>1%8), ':', '0'+byte(draw>>4%4), '0'+byte(draw>>6%8), ',')
	l = append(l, b.days[day+1+int(draw>>9%6)]...)
	l = append(l, ",repaired,"...)
	l = append(l, b.devices[r.IntN(len(b.devices))]...)
	l = append(l, ',', 'S')
	l = strconv.AppendUint(l, 1_000_000_000+uint64(n), 10)
	l = append(l, ',')
	l = append(l, k.says...)
	if b.opt.Texts {
		l = append(l, ",,,,,,,,"...)
	} else {
		l = append(l, ',')
		l = append(l, k.part...)
		l = append(l, ",PN-"...)
		l = strconv.AppendInt(l, int64(kind), 10)
		l = append(l, ',')
		l = append(l, suppliers[draw>>12%4].name...)
		l = append(l, ",L"...)
		l = strconv.AppendInt(l, int64(day/70)*16+int64(draw>>14%4), 10)
		l = append(l, ',')
		l = append(l, []string{"original", "aftermarket", "pulled", "refurbished"}[draw>>16%4]...)
		l = append(l, ",1,"...)
		l = appendCents(l, uint64(300+100*kind)+draw>>18%512)
		l = append(l, ',')
	}
	l = strconv.AppendUint(l, 15+draw>>28%64, 10)
	l = append(l, ',')
	l = appendCents(l, 2900+100*(draw>>34%128))
	l = append(l, ",EUR"...)
	if b.opt.Personal {
		l = append(l, ",Zelda Quarrelmoor,+00 555 00 "...)
		l = strconv.AppendInt(l, int64(n%9000+1000), 10)
		l = append(l, ",zelda"...)
		l = strconv.AppendInt(l, int64(n), 10)
		l = append(l, "@example.org"...)
	}
	b.line = append(l, '\n')
	return b.line
}

func appendCents(l []byte, cents uint64) []byte {
	l = strconv.AppendUint(l, cents/100, 10)
	return append(l, '.', '0'+byte(cents/10%10), '0'+byte(cents%10))
}
