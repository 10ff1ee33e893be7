package columns

import (
	"fmt"
	"sort"

	"faultgrain/ingest/cells"
)

// guess is what the draft says of one column.
type guess struct {
	meaning Meaning
	doubt   string // why a person should look; empty when the header says it all
}

// guessAll settles every column: by header where one is known, else by content, for meanings no
// column has yet.
func guessAll(m *Map, p []*profile) []guess {
	out := make([]guess, len(p))
	for i := range p {
		out[i].meaning = m.Of[i]
		if m.rank[i] >= rankMaybe && m.Of[i] != Unknown {
			out[i].doubt = fmt.Sprintf("the header may mean %s", m.Of[i])
		}
		if d := contradicts(m.Of[i], p[i]); d != "" {
			out[i].doubt = d
		}
	}
	for _, s := range m.Second {
		out[s.Column].doubt = fmt.Sprintf("%q is %s already", m.Header[s.First], m.Of[s.First])
		if m.Of[s.First] == Ignore { // what its name says does not go with the other columns
			out[s.Column].doubt = fmt.Sprintf("as little use as %q", m.Header[s.First])
		}
	}
	g := guesser{m: m, p: p, out: out, wrong: map[int]string{}}
	g.reconsider()
	g.dateColumns()
	for _, rule := range contentRules {
		g.apply(rule)
	}
	for i := range out {
		if out[i].meaning == Unknown {
			out[i].meaning = Ignore
			if out[i].doubt == "" {
				out[i].doubt = "not recognised, so left out"
			}
		}
		if w, ok := g.wrong[i]; ok {
			out[i].doubt = w + "; " + out[i].doubt
		}
	}
	return out
}

// contradicts says what speaks against a header in its column's cells.
func contradicts(m Meaning, p *profile) string {
	if p.filled == 0 {
		return ""
	}
	switch {
	case readable(m, p) < 0.5:
		return fmt.Sprintf("most cells don't read as %s", m)
	case m == Outcome && p.share(p.outcomes) < 0.5:
		return "most cells are no outcome we know: name them under [outcomes]"
	case m == Grade && p.share(p.grades) < 0.5:
		return "most cells are no grade we know: name them under [grades]"
	case m == Personal && p.share(p.phones+p.mails+p.names) < 0.2 && p.wordiness() < 4 && p.distinct() < 0.3 && p.filled >= 20:
		return "cells repeat a lot for customer data: if it is the model or the class, say so"
	case m == Ticket && p.filled >= 20 && p.distinct() < 0.1:
		return "few different values for a ticket number"
	}
	return ""
}

// contentRule guesses a meaning from cells.
type contentRule struct {
	meaning Meaning
	fits    func(p *profile) float64 // 0 no, up to 1
	why     string
	many    bool
}

// contentRules stand in the order they are tried: telling ones first. Thresholds are ours.
var contentRules = []contentRule{
	{Personal, func(p *profile) float64 { return over(p.share(p.mails), 0.3) }, "cells hold mail addresses", true},
	{Serial, func(p *profile) float64 { return over(p.share(p.imeis), 0.5) }, "cells are IMEIs by their check digit", false},
	{MadeWeek, func(p *profile) float64 { return over(p.share(p.weeks), 0.8) }, "cells are weeks", false},
	{Personal, func(p *profile) float64 { return over(p.share(p.phones), 0.6) }, "cells look like phone numbers", true},
	{Currency, func(p *profile) float64 { return over(p.share(p.ciphers), 0.9) }, "cells are currencies", false},
	{Outcome, func(p *profile) float64 { return few(p, 20) * over(p.share(p.outcomes), 0.6) }, "cells are outcomes", false},
	{Class, func(p *profile) float64 { return few(p, 40) * over(p.share(p.classes), 0.6) }, "cells are kinds of device", false},
	{Grade, func(p *profile) float64 { return few(p, 12) * over(p.share(p.grades), 0.8) }, "cells are grades of parts", false},
	{Ticket, ticketLike, "cells number the rows", false},
	{Charge, func(p *profile) float64 { return over(p.share(p.money), 0.5) }, "cells are amounts with a currency", false},
	{UnitCost, func(p *profile) float64 { return over(p.share(p.money), 0.5) }, "cells are amounts with a currency", false},
	{Minutes, func(p *profile) float64 { return over(p.share(p.spans), 0.6) }, "cells are durations", false},
	{Found, func(p *profile) float64 { return brief(p) * repeating(p) * over(p.share(p.parts), 0.6) }, "cells name components", false},
	{Part, func(p *profile) float64 { return brief(p) * repeating(p) * over(p.share(p.parts), 0.6) }, "cells name components", false},
	{Fault, func(p *profile) float64 { return texts(p) * over(p.share(p.parts), 0.15) }, "cells are texts that name components", false},
	{Fault, func(p *profile) float64 { return over(p.share(p.parts), 0.6) }, "cells name components", false},
	{Personal, func(p *profile) float64 { return over(p.share(p.names), 0.7) * over(p.distinct(), 0.2) }, "cells look like names", true},
	{Model, func(p *profile) float64 { return brief(p) * repeating(p) * over(p.share(p.things), 0.3) }, "cells repeat like names of models", false},
	{Notes, texts, "cells are texts", false},
}

// over gives a share that reaches a least, else 0.
func over(share, least float64) float64 {
	if share < least {
		return 0
	}
	return share
}

func few(p *profile, most int) float64 { return truth(!p.overflow && len(p.values) <= most) }

func brief(p *profile) float64 { return truth(p.wordiness() <= 4) }

func repeating(p *profile) float64 { return truth(p.filled >= 10 && p.distinct() <= 0.5) }

func texts(p *profile) float64 { return truth(p.wordiness() >= 3 && p.distinct() > 0.3) }

// ticketLike tells short codes or whole numbers that hardly repeat, or repeat only row after row.
func ticketLike(p *profile) float64 {
	if p.filled < 2 || p.filled < p.rows || p.wordiness() > 1.2 || p.dated() > 0.5 || p.money > 0 || p.mails > 0 || p.share(p.phones) > 0.5 {
		return 0
	}
	if p.share(p.codes) < 0.9 {
		return 0
	}
	return over(float64(len(p.values)+p.runs)/float64(p.filled)*truth(!p.overflow)+truth(p.overflow), 0.97)
}

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

type guesser struct {
	m     *Map
	p     []*profile
	out   []guess
	wrong map[int]string // columns whose header and cells disagree
}

// reconsider drops a header's meaning where hardly a cell can have it, and takes a vague device for
// its class where its cells are kinds of device.
func (g *guesser) reconsider() {
	for i, p := range g.p {
		m := g.out[i].meaning
		if p.filled >= 5 && readable(m, p) < 0.2 {
			g.wrong[i] = fmt.Sprintf("the header says %s, the cells don't", m)
			g.out[i] = guess{}
		}
		if m == Model && g.m.rank[i] >= rankMaybe && !g.has(Class) && few(p, 40)*over(p.share(p.classes), 0.8) > 0 {
			g.out[i] = guess{}
		}
	}
}

// readable is the share of cells that can have the meaning at all, 1 for meanings any text may have.
func readable(m Meaning, p *profile) float64 {
	switch {
	case m.Date():
		return p.dated()
	case m.Money():
		return p.share(p.numbers + p.money)
	case m == Minutes:
		return p.share(p.numbers + p.spans)
	case m == Quantity:
		return p.share(p.numbers)
	}
	return 1
}

func (g *guesser) has(m Meaning) bool { return named(g.out, m) }

// apply gives a rule's meaning to the column it fits best, or to all where it may have many.
func (g *guesser) apply(r contentRule) {
	best, at := 0.0, -1
	for i := range g.out {
		if g.out[i].meaning != Unknown || g.p[i].filled == 0 || g.second(i) {
			continue
		}
		fit := r.fits(g.p[i])
		if fit > 0 && r.many {
			g.set(i, r.meaning, r.why)
		} else if fit > best {
			best, at = fit, i
		}
	}
	if at >= 0 && !r.many && !g.has(r.meaning) {
		g.set(at, r.meaning, r.why)
	}
}

// second tells a column whose header names what another column says for sure; its content is no news.
func (g *guesser) second(i int) bool {
	for _, s := range g.m.Second {
		if s.Column == i {
			return true
		}
	}
	return false
}

func (g *guesser) set(i int, m Meaning, why string) {
	g.out[i] = guess{meaning: m, doubt: "guessed, for " + why}
}

// dateColumns shares unnamed date columns out: the earliest on average is opened, then ready, then collected.
func (g *guesser) dateColumns() {
	var at []int
	for i, p := range g.p {
		if g.out[i].meaning == Unknown && !g.second(i) && p.filled > 0 && p.dated() >= 0.9 && p.share(p.weeks) < 0.5 && !countsOnly(p) {
			at = append(at, i)
		}
	}
	sort.SliceStable(at, func(a, b int) bool { return g.p[at[a]].meanDay() < g.p[at[b]].meanDay() })
	free := []Meaning{Opened, Ready, Collected}
	for _, i := range at {
		for len(free) > 0 && g.has(free[0]) {
			free = free[1:]
		}
		if len(free) == 0 {
			return
		}
		g.set(i, free[0], "cells are dates")
	}
}

// countsOnly tells a column whose dates are all bare numbers: more likely prices or numbers than dates.
func countsOnly(p *profile) bool {
	return p.dates.As(cells.Unsettled).Count != cells.NoCount && p.dates.Dates() == 0
}
