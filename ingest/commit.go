package ingest

import (
	"context"

	"faultgrain/ingest/cells"
	"faultgrain/ingest/history"
)

// commit checks the accounts, writes what was noticed and makes it all part of the history.
func (r *run) commit(ctx context.Context) (Summary, error) {
	out := Summary{Files: []FileSummary{}}
	var records []history.SourceRecord
	for i, s := range r.sources {
		f := s.summary()
		f.Read = s.rows
		for _, l := range r.lanes {
			a := &l.accounts[i]
			f.Accepted += a.accepted
			f.Quarantined += a.quarantined
			f.Duplicate += a.duplicate
			f.Replaced += a.replaced
			f.Repaired += a.repaired
			f.Ragged += a.ragged
		}
		if err := f.balance(); err != nil {
			return Summary{}, err
		}
		r.noteSource(&f)
		out.Files = append(out.Files, f)
		if !s.known && !s.again {
			records = append(records, history.SourceRecord{SHA256: s.sha, Reading: r.reading, Name: f.Name, Read: f.Read,
				Accepted: f.Accepted, Quarantined: f.Quarantined, Duplicate: f.Duplicate, Replaced: f.Replaced})
		}
	}
	for _, l := range r.lanes {
		out.New += l.fresh
		out.Replaced += l.replaced
		out.Unchanged += l.unchanged
	}
	all := r.allNoted()
	out.Notes = r.notes(all)
	if len(out.Notes) > 0 {
		segment, err := r.lanes[0].openSegment()
		if err != nil {
			return Summary{}, err
		}
		if err := r.writeNoted(segment, all); err != nil {
			return Summary{}, err
		}
	}
	if err := r.tx.Commit(ctx, records); err != nil {
		return Summary{}, err
	}
	if _, err := history.Compact(ctx, r.opt.History, r.log); err != nil {
		r.log.Warn("the logs are in the history; its segments could not be merged", "error", err)
	}
	h, err := history.Open(r.opt.History)
	if err != nil {
		return Summary{}, err
	}
	t := h.Totals()
	out.Visits, out.Faults, out.Parts, out.Quarantined = t.Visits, t.Faults, t.Parts, t.Quarantined
	return out, nil
}

// noteSource notes what is odd about a log as a whole.
func (r *run) noteSource(f *FileSummary) {
	if f.Accepted == 0 {
		return
	}
	if f.Encoding != "" && f.Encoding != "utf-8" {
		r.notices[notice{"encoding", f.Name, "read as " + f.Encoding}] += f.Read
	}
	for _, what := range f.Skipped {
		r.notices[notice{"skipped", f.Name + ": " + what, "holds something else than rows of a log"}]++
	}
	if f.Repaired > 0 {
		r.notices[notice{"encoding", f.Name, "lines that are no utf-8 were read as windows-1252"}] += f.Repaired
	}
	if f.Ragged > 0 {
		r.notices[notice{"ragged", f.Name, "rows with fewer cells than the header; the missing ones count as empty"}] += f.Ragged
	}
	if f.Dates == cells.DayFirst.String() || f.Dates == cells.MonthFirst.String() {
		r.notices[notice{"dates", f.Name, "read " + f.Dates + ", as the whole column tells"}] += f.Read
	}
}
