package ingest

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"faultgrain/ingest/cells"
	"faultgrain/ingest/columns"
	"faultgrain/ingest/logfile"
	"faultgrain/ingest/models"

	"github.com/zeebo/xxh3"
	"golang.org/x/sync/errgroup"
)

// survey reads every log once before anything is written: it counts rows, hashes the file, lets
// each column of dates and numbers settle how it writes them, and hashes the tickets in order.
func (r *run) survey(ctx context.Context) error {
	for _, s := range r.sources {
		if err := r.surveySource(ctx, s); err != nil {
			return err
		}
	}
	r.folder = r.folder.WithAccents(&r.accents)
	return nil
}

// surveyor is what one worker learns about one log.
type surveyor struct {
	orders []cells.OrderVote // by column of dates
	marks  []cells.MarkVote  // by column of numbers
	hashes *runHashes
	names  models.Accents // words of the columns of devices
	rows   int64
}

func (r *run) surveySource(ctx context.Context, s *source) error {
	workers := make([]*surveyor, r.workers)
	for w := range workers {
		workers[w] = &surveyor{
			orders: make([]cells.OrderVote, len(s.layout.dates)),
			marks:  make([]cells.MarkVote, len(s.layout.numbers)),
			hashes: &runHashes{},
		}
		s.hashes = append(s.hashes, workers[w].hashes)
	}
	g, ctx := errgroup.WithContext(ctx)
	g.Go(func() (err error) {
		s.sha, err = s.file.Hash(ctx)
		return err
	})
	g.Go(func() error {
		return s.file.Chunks(ctx, r.workers, func(worker int, c *logfile.Chunk) error {
			workers[worker].chunk(r, s, c)
			r.tell("survey", s, int64(c.Bytes), int64(c.Rows()))
			return nil
		})
	})
	if err := g.Wait(); err != nil {
		return err
	}
	all := workers[0]
	for _, w := range workers[1:] {
		for i := range all.orders {
			all.orders[i].Merge(&w.orders[i])
		}
		for i := range all.marks {
			all.marks[i].Merge(&w.marks[i])
		}
		all.names.Merge(&w.names)
		all.rows += w.rows
	}
	if s.rows = all.rows; s.rows == 0 {
		return fmt.Errorf("%s: a header and no row below it; export it again", s.path)
	}
	if err := s.settleDates(r.opt.Dates, all.orders); err != nil {
		return err
	}
	s.settleMarks(all.marks)
	r.accents.Merge(&all.names)
	return nil
}

func (v *surveyor) chunk(run *run, s *source, c *logfile.Chunk) {
	v.rows += int64(c.Rows())
	var last uint64
	for row := range c.Rows() {
		line, r := c.Line(row), c.Row(row)
		for i, d := range s.layout.dates {
			if cell := r.Cell(d.column); len(cell) > 0 {
				v.orders[i].Add(cell, line)
			}
		}
		for i, n := range s.layout.numbers {
			if cell := r.Cell(n.column); len(cell) > 0 {
				v.marks[i].Add(cell)
			}
		}
		for _, of := range [...]columns.Meaning{columns.Maker, columns.Family, columns.Model} {
			if col := s.layout.at[of]; col >= 0 {
				v.names.Add(r.Cell(col))
			}
		}
		ticket := cells.Trim(r.Cell(s.layout.at[columns.Ticket]))
		if len(ticket) == 0 {
			last = 0
			continue
		}
		if h := run.runHash(s.shopCell(&r), ticket); h != last || last == 0 {
			v.hashes.add(h)
			last = h
		}
	}
}

// runHash brings rows of one ticket together within a run. It is not the history's hash: it needs no key.
func (r *run) runHash(shop, ticket []byte) uint64 {
	if len(shop) == 0 || r.joinByTicket {
		return xxh3.Hash(ticket)
	}
	return xxh3.HashSeed(ticket, xxh3.Hash(shop))
}

// settleDates decides how the log's dates read: by what a person told, else by each column itself,
// else, where a column can't tell, by all of them together.
func (s *source) settleDates(told string, votes []cells.OrderVote) error {
	order, ok := cells.ParseOrder(told)
	if !ok {
		return fmt.Errorf("dates %q are not known, want day-first, month-first or year-first", told)
	}
	var together cells.OrderVote
	for i := range votes {
		together.Merge(&votes[i])
	}
	for i := range s.layout.dates {
		d := &s.layout.dates[i]
		if told := cmp.Or(order, s.columns.DateOrder(d.column)); told != cells.Unsettled {
			d.dates = votes[i].As(told)
			continue
		}
		own, err := votes[i].Settle()
		if err == nil {
			d.dates = own
			continue
		}
		all, unsettled := together.Settle()
		if unsettled != nil {
			return s.ambiguous(err, d.column)
		}
		d.dates = votes[i].As(all.Order)
	}
	return nil
}

// ambiguous names file and column in an error about dates.
func (s *source) ambiguous(err error, column int) error {
	var a *cells.AmbiguousDates
	if errors.As(err, &a) {
		a.File, a.Column = s.path, s.file.Header[column]
		return a
	}
	return fmt.Errorf("%s: column %q: %w", s.path, s.file.Header[column], err)
}
