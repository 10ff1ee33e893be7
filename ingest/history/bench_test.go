package history

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"faultgrain/schemas"
)

// BenchmarkWrite is one worker's share of an ingest: visits with 1.2 faults and a part line each, through to the commit.
func BenchmarkWrite(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	pick := func(stem string, n int) []string {
		words := make([]string, n)
		for i := range words {
			words[i] = fmt.Sprint(stem, " ", i)
		}
		return words
	}
	models, components, lots, parts := pick("Lark Model", 200), pick("component", 30), pick("L", 900), pick("PN", 400)
	outcomes, technicians := []string{"repaired", "no-fault", "declined"}, pick("Tech", 9)
	b.ReportAllocs()
	tx := begin(b, b.TempDir())
	s := segment(b, tx)
	var text []byte
	b.ResetTimer()
	for i := range b.N {
		text = fmt.Appendf(text[:0], "T-%d", 1_000_000+i)
		r := rng.Uint64()
		ticket := string(text)
		v := Visit{Ticket: ticket, Shop: "North", Opened: int64(i) * 17e6, HasReady: true, Ready: int64(i)*17e6 + int64(r%1e9)*100,
			Outcome: outcomes[r%3], Maker: "Lark", Family: "Model", Model: models[r%200], Class: "phone", Device: tx.DeviceKey(ticket),
			MadeWeek: lots[r%100], BenchMinutes: schemas.Known(float64(r % 90)), Charge: schemas.Known(float64(r%20000) / 100),
			Currency: "EUR", Technician: tx.TechnicianKey(technicians[r%9])}
		number, err := s.AppendVisit(&v, tx.TicketHash([]byte("North"), text), r|1)
		if err != nil {
			b.Fatal(err)
		}
		for f := range 1 + (r>>8%5)/4 {
			if err := s.AppendFault(number, ticket, "North", components[(r>>16+f)%30], schemas.BasisPart); err != nil {
				b.Fatal(err)
			}
		}
		p := Part{Component: components[r>>16%30], PartNo: parts[r>>20%400], Supplier: "Marsh", Lot: lots[r>>30%900],
			Grade: schemas.GradeOriginal, Quantity: schemas.Known(1), UnitCost: schemas.Known(float64(r>>12%9000) / 100), Currency: "EUR"}
		if err := s.AppendParts(number, &v, []Part{p}); err != nil {
			b.Fatal(err)
		}
		if s.Rows() == 1<<20 {
			if err := s.Close(); err != nil {
				b.Fatal(err)
			}
			s = segment(b, tx)
		}
	}
	commit(b, tx)
}

// BenchmarkLookup asks a history of a million tickets.
func BenchmarkLookup(b *testing.B) {
	dir := b.TempDir()
	tx := begin(b, dir)
	s := segment(b, tx)
	const n = 1 << 20
	var text []byte
	for i := range n {
		text = fmt.Appendf(text[:0], "T-%d", i)
		if _, err := s.AppendVisit(&Visit{Ticket: string(text), Model: "Lark 7"}, tx.TicketHash(nil, text), 1); err != nil {
			b.Fatal(err)
		}
	}
	commit(b, tx)
	for _, where := range []string{"memory", "disk"} {
		b.Run(where, func(b *testing.B) {
			m, err := loadManifest(dir)
			if err != nil {
				b.Fatal(err)
			}
			rec := m.Indexes
			x, err := openIndex(dir+"/index/"+rec[0].Name, rec[0], where == "memory")
			if err != nil {
				b.Fatal(err)
			}
			defer x.close()
			for i := range b.N {
				text = fmt.Appendf(text[:0], "T-%d", i%n)
				if _, ok, err := x.find(tx.TicketHash(nil, text)); err != nil || !ok {
					b.Fatal(ok, err)
				}
			}
		})
	}
}
