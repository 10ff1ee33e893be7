package ingest

import (
	"cmp"
	"slices"
)

// heldLine is a held record with what decides which ticket it belongs to.
type heldLine struct {
	rec          heldRecord
	ticket, shop string
	lines        bool // from a log of part lines
}

// join puts together the held lines of one key, which are those of one ticket; of several only
// where shops number their tickets alike, or hashes collide.
func (l *lane) join(recs []heldRecord) error {
	l.group = l.group[:0]
	for _, rec := range recs {
		if err := readLine(&l.line, rec, l.run.ids); err != nil {
			return err
		}
		l.group = append(l.group, heldLine{rec, l.line.ticket, l.line.shop, l.line.lines})
	}
	group := l.group
	l.adopt(group)
	slices.SortStableFunc(group, func(a, b heldLine) int {
		return cmp.Or(cmp.Compare(a.ticket, b.ticket), cmp.Compare(a.shop, b.shop))
	})
	for i := 0; i < len(group); {
		j := i + 1
		for j < len(group) && group[j].ticket == group[i].ticket && group[j].shop == group[i].shop {
			j++
		}
		if err := l.joinTicket(group[i:j]); err != nil {
			return err
		}
		i = j
	}
	return nil
}

// adopt gives part lines that name no shop the shop of their ticket, where one shop alone has it.
func (l *lane) adopt(group []heldLine) {
	if !l.run.joinByTicket {
		return
	}
	type home struct {
		shop  string
		known bool
		many  bool
	}
	homes := map[string]home{}
	for _, g := range group {
		if h := homes[g.ticket]; !g.lines {
			homes[g.ticket] = home{g.shop, true, h.many || h.known && h.shop != g.shop}
		}
	}
	for i := range group {
		g := &group[i]
		if h := homes[g.ticket]; g.lines && g.shop == "" && h.known && !h.many {
			g.shop = h.shop
		}
	}
}

// joinTicket writes the ticket that lines of one ticket and shop make. Part lines alone make none.
func (l *lane) joinTicket(group []heldLine) error {
	if !slices.ContainsFunc(group, func(g heldLine) bool { return !g.lines }) {
		return l.refuseOrphans(group)
	}
	for i, g := range group {
		if err := readLine(&l.line, g.rec, l.run.ids); err != nil {
			return err
		}
		l.line.shop = g.shop
		if i == 0 {
			l.ticket.start(&l.line)
		} else {
			l.ticket.add(&l.line)
		}
	}
	return l.write(&l.ticket)
}

// refuseOrphans quarantines part lines whose ticket no log of the run has; repeated ones are duplicates.
func (l *lane) refuseOrphans(group []heldLine) error {
	seen := map[uint64]bool{}
	for _, g := range group {
		if err := readLine(&l.line, g.rec, l.run.ids); err != nil {
			return err
		}
		if seen[l.line.raw] {
			l.accounts[g.rec.file].duplicate++
			continue
		}
		seen[l.line.raw] = true
		q := l.line.refusal
		q.ticket, q.shop = g.ticket, g.shop
		if err := l.quarantine(&q, g.rec.file, g.rec.line); err != nil {
			return err
		}
	}
	return nil
}
