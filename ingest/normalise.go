package ingest

import (
	"context"

	"faultgrain/ingest/history"
	"faultgrain/ingest/logfile"

	"golang.org/x/sync/errgroup"
)

// laneCount is how many lanes the logs are dealt to. It follows from their size alone, so that the
// same logs give the same segments on every machine; a month of a shop's gets one.
func laneCount(bytes int64) int {
	switch {
	case bytes < 2<<20:
		return 1
	case bytes < 1<<30:
		return 2
	}
	return 3
}

// normalise reads the logs again: rows become lines, lines tickets, and tickets rows of the history.
func (r *run) normalise(ctx context.Context) error {
	var size int64
	for _, s := range r.sources {
		size += s.file.Size
	}
	for n := range laneCount(size) {
		r.lanes = append(r.lanes, newLane(r, n))
	}
	r.lines, r.refusals = newHeld(r.tx.Temp(), "line", r.opt.HoldBytes), newHeld(r.tx.Temp(), "refusal", r.opt.HoldBytes/2)
	defer r.lines.close()
	defer r.refusals.close()
	for _, s := range r.sources {
		if s.again {
			r.lanes[0].accounts[s.index].duplicate += s.rows
			continue
		}
		s.context = r.contextOf(s)
		err := s.file.Chunks(ctx, len(r.lanes), func(worker int, c *logfile.Chunk) error {
			r.turns <- struct{}{}
			defer func() { <-r.turns }()
			r.tell("read", s, int64(c.Bytes), int64(c.Rows()))
			return r.lanes[worker].chunk(s, c)
		})
		if err != nil {
			return err
		}
	}
	r.heldAny = r.lines.any()
	return r.inLanes(ctx, (*lane).settleHeld)
}

// inLanes runs work once per lane.
func (r *run) inLanes(ctx context.Context, work func(*lane, context.Context) error) error {
	g, ctx := errgroup.WithContext(ctx)
	for _, l := range r.lanes {
		g.Go(func() error {
			r.turns <- struct{}{}
			defer func() { <-r.turns }()
			return work(l, ctx)
		})
	}
	return g.Wait()
}

// chunk settles the rows of a chunk. Rows of one ticket that stand together become a ticket at once;
// those of a scattered ticket are held back as lines.
func (l *lane) chunk(s *source, c *logfile.Chunk) error {
	r := l.run
	l.accounts[s.index].repaired += int64(c.Repaired)
	rows := c.Rows()
	var next, nextShop []byte // ticket and shop of the row behind
	for row := 0; row < rows; {
		ticket, shop := next, nextShop
		if row == 0 {
			record := c.Row(0)
			ticket, shop = s.identity(&record)
		}
		end := row + 1
		for ; end < rows; end++ {
			record := c.Row(end)
			next, nextShop = s.identity(&record)
			if string(next) != string(ticket) || string(nextShop) != string(shop) {
				break
			}
		}
		key := r.runHash(shop, ticket)
		hold := r.holdAll || s.lines || r.scattered.has(key)
		if s.known && !hold {
			l.accounts[s.index].duplicate += int64(end - row)
			row = end
			continue
		}
		var raw uint64 // of a ticket that has no rows elsewhere
		if !hold {
			raw = s.rawHash(c, row, end)
			same, err := l.standsSo(r.tx.TicketHash(shop, ticket), raw)
			if err != nil {
				return err
			}
			if same {
				l.skip(s, c, row, end)
				row = end
				continue
			}
		}
		l.made = l.made[:0]
		started := false
		for ; row < end; row++ {
			record := c.Row(row)
			refused, ok := l.readRow(s, &record, c.Line(row), ticket, shop)
			switch {
			case !ok:
				raw = 0 // the row must be refused again
				if err := l.refuse(s, c, row, &refused); err != nil {
					return err
				}
			case hold:
				l.line.raw = s.rowHash(c.Raw(row))
				l.record = appendLine(l.record[:0], &l.line, r.ids)
				if err := r.lines.add(key, s.index, c.Line(row), l.record); err != nil {
					return err
				}
			case started:
				l.line.raw = s.rowHash(c.Raw(row))
				l.ticket.add(&l.line)
			default:
				if end-row > 1 {
					l.line.raw = s.rowHash(c.Raw(row))
				}
				l.ticket.start(&l.line)
				started = true
			}
		}
		if started {
			l.ticket.rawRows = raw
			if err := l.write(&l.ticket); err != nil {
				return err
			}
		}
	}
	return nil
}

// refuse keeps a row for the quarantine. It is settled at the end: a row that repeats a refused
// one is a duplicate.
func (l *lane) refuse(s *source, c *logfile.Chunk, row int, q *refusal) error {
	l.record = appendText(appendText(l.record[:0], q.ticket), q.shop)
	l.record = appendRefusal(l.record, q)
	return l.run.refusals.add(s.rowHash(c.Raw(row)), s.index, c.Line(row), l.record)
}

// settleHeld takes the lane's share of what was held back: first the lines, then the refusals.
func (l *lane) settleHeld(ctx context.Context) error {
	for p := l.number; p < heldParts; p += len(l.run.lanes) {
		recs, err := l.run.lines.take(p)
		if err != nil {
			return err
		}
		for i := 0; i < len(recs); {
			if err := ctx.Err(); err != nil {
				return err
			}
			j := sameKey(recs, i)
			if err := l.join(recs[i:j]); err != nil {
				return err
			}
			i = j
		}
		l.run.tellJoined(len(recs))
	}
	for p := l.number; p < heldParts; p += len(l.run.lanes) {
		recs, err := l.run.refusals.take(p)
		if err != nil {
			return err
		}
		for i := 0; i < len(recs); {
			if err := ctx.Err(); err != nil {
				return err
			}
			j := sameKey(recs, i)
			if err := l.settleRefusal(recs[i]); err != nil {
				return err
			}
			for _, again := range recs[i+1 : j] {
				l.accounts[again.file].duplicate++
			}
			i = j
		}
	}
	if l.number == 0 {
		return nil // stays open for what was noticed
	}
	return l.closeSegment()
}

// sameKey returns the end of the records with the key of the one at i.
func sameKey(recs []heldRecord, i int) int {
	j := i + 1
	for j < len(recs) && recs[j].key == recs[i].key {
		j++
	}
	return j
}

// settleRefusal puts one refused row into the quarantine.
func (l *lane) settleRefusal(rec heldRecord) error {
	r := recordReader{b: rec.body}
	ticket, shop := r.text(), r.text()
	q := r.refusal()
	if r.bad || len(r.b) > 0 {
		return errHeldForm
	}
	q.ticket, q.shop = ticket, shop
	return l.quarantine(&q, rec.file, rec.line)
}

// quarantine writes a refused row.
func (l *lane) quarantine(q *refusal, file int32, number int64) error {
	segment, err := l.openSegment()
	if err != nil {
		return err
	}
	s := l.run.sources[file]
	out := history.Refusal{Source: s.sha, File: s.file.Name, Line: number, Column: q.column, Reason: string(q.reason),
		Found: q.found, Want: q.want, Raw: q.raw, HasTicket: q.ticket != ""}
	if out.HasTicket {
		out.Ticket = l.run.tx.TicketHash(bytesOf(q.shop), bytesOf(q.ticket))
	}
	l.accounts[file].quarantined++
	return segment.AppendRefusal(&out)
}
