package demo

import (
	"fmt"
	"math/rand/v2"
	"strings"
)

// Customer is an invented person. Nothing of it may outlive ingest.
type Customer struct {
	First, Last, Phone, Mail, Street string
}

// Name is first and last name.
func (c *Customer) Name() string { return c.First + " " + c.Last }

var (
	firstNames = strings.Fields(`Adalie Bastien Coralie Dorin Edwina Fabrice Gesine Hedley Ilona Jorun
		Katinka Lennart Maelle Norbert Odile Pascoe Quentin Rosamund Sunniva Thibault Ulrike Vincenz
		Wendeline Xenia Yorick Zelda`)
	lastHeads = strings.Fields(`Ambel Brasker Crindle Dwelling Eskel Fennim Gantel Hoddle Imber Jossel
		Krummen Lavend Mirkel Nettle Orvel Pinkel Quarrel Rumbel Sprindle Tamber Ulmen Vessel Wimpel Zwickel`)
	lastTails   = strings.Fields(`by croft dorf ey feld garde hurst ingham lund mere moor quist stad thwaite wick`)
	streets     = strings.Fields(`Thimblegate Lanternrow Bellowsgasse Cobblerhof Tinderlane Ropewalkstraat Quillrue Anvilsteig`)
	technicians = [][]string{
		{"Marisse Holloquist", "Tobin Ardlecroft", "Ines Fallowmere", "Radek Stemhurst"},
		{"Jorinde Kappelfeld", "Matthis Ohlenstad", "Silke Brunkwick"},
		{"Anouk Delaramoor", "Perrin Vaillegarde"},
	}
)

// lastName joins a head and a tail that a log of ordinary words never holds.
func lastName(r *rand.Rand) string {
	return pick(r, lastHeads) + pick(r, lastTails)
}

// newCustomer numbers phones and mails by n, so that each is one person's.
func newCustomer(r *rand.Rand, n int) *Customer {
	c := &Customer{First: pick(r, firstNames), Last: lastName(r)}
	c.Phone = fmt.Sprintf("+00 555 %02d %04d", n/10_000%100, n%10_000)
	c.Mail = strings.ToLower(fmt.Sprintf("%s.%s%d@example.org", c.First, c.Last, n))
	c.Street = fmt.Sprintf("%s %d", pick(r, streets), 1+r.IntN(180))
	return c
}

func pick[T any](r *rand.Rand, from []T) T { return from[r.IntN(len(from))] }

// pickWord draws one of the weighted words.
func pickWord(r *rand.Rand, from []weighted) string {
	total := 0.0
	for _, w := range from {
		total += w.weight
	}
	at := r.Float64() * total
	for _, w := range from {
		if at -= w.weight; at < 0 {
			return w.word
		}
	}
	return from[len(from)-1].word
}
