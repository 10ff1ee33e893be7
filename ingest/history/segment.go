package history

import (
	"fmt"
	"path/filepath"
)

// A Segment is one file per table, written by one goroutine. Rows are held back up to a row group per table.
type Segment struct {
	tx       *Tx
	number   int
	*room    // until the segment is closed
	refusals *refusalRows
	quality  *qualityRows
	replaced *replacedRows
	indexed  int64         // entries written to the run file
	retired  map[int]int64 // visits retired, by the segment they stand in
	lost     Totals        // rows that those visits take with them
	closed   bool
	files    map[string]FileRecord // once closed; empty when the segment has no rows
	err      error                 // the first failure; the segment is unusable after it
}

// room is where a segment gathers its rows.
type room struct {
	visits  visitRows
	faults  faultRows
	parts   partRows
	entries []entry // one per visit, in order
	usages  []usage // of the part lines of one visit
}

func newSegment(tx *Tx, number int) *Segment {
	path := func(table string) string {
		return filepath.Join(tx.temp, fmt.Sprintf("%s-%06d.parquet", table, number))
	}
	s := &Segment{
		tx: tx, number: number, room: tx.takeRoom(), retired: map[int]int64{},
		refusals: newRefusalRows(path(QuarantineTable), tx.wrap),
		quality:  newQualityRows(path(QualityTable), tx.wrap),
		replaced: newReplacedRows(path(ReplacedTable), tx.wrap),
	}
	s.visits.begin(path(VisitsTable), tx.wrap)
	s.faults.begin(path(FaultsTable), tx.wrap)
	s.parts.begin(path(PartsTable), tx.wrap)
	return s
}

// visitNumber is segment x 2^32 + row.
func visitNumber(segment int, row int64) int64 { return int64(segment)<<32 | row }

func segmentOf(visit int64) int { return int(visit >> 32) }

// Number is the segment's number, from 1.
func (s *Segment) Number() int { return s.number }

// Rows is the number of visits appended so far. A segment keeps 40 bytes of memory per visit until it is closed, so
// a writer of many had better start another after about a million.
func (s *Segment) Rows() int64 { return s.visits.rows }

// AppendVisit adds a ticket version and returns its number. ticketHash is Tx.TicketHash of its shop and ticket; digest is any
// hash, but 0, of what is stored about it, faults and parts included; it comes back from Lookup when the ticket is seen
// again. The caller retires the version it replaces.
func (s *Segment) AppendVisit(v *Visit, ticketHash, digest uint64) (int64, error) {
	s.tx.touch(ticketHash)
	return s.appendVisit(v, ticketHash, digest)
}

func (s *Segment) appendVisit(v *Visit, ticketHash, digest uint64) (int64, error) {
	if err := s.usable(); err != nil {
		return 0, err
	}
	number := visitNumber(s.number, s.visits.rows)
	s.entries = append(s.entries, entry{hash: ticketHash, digest: digest, raw: v.Raw, visit: number})
	s.err = s.visits.add(number, v)
	return number, s.err
}

// AppendFault adds a component found bad on a visit of this segment. ticket and shop repeat the visit's.
func (s *Segment) AppendFault(visit int64, ticket, shop, component, basis string) error {
	e, err := s.entry(visit)
	if err != nil {
		return err
	}
	e.faults++
	s.err = s.faults.add(visit, ticket, shop, component, basis)
	return s.err
}

// AppendParts adds the part lines of a visit of this segment, all at once and ordered by component.
func (s *Segment) AppendParts(visit int64, v *Visit, lines []Part) error {
	if len(lines) == 0 {
		return nil
	}
	s.usages = usages(v, lines, s.usages[:0])
	for i := range s.usages {
		if err := s.appendPart(visit, v.Ticket, v.Shop, &s.usages[i]); err != nil {
			return err
		}
	}
	return nil
}

func (s *Segment) appendPart(visit int64, ticket, shop string, p *usage) error {
	e, err := s.entry(visit)
	if err != nil {
		return err
	}
	e.parts++
	s.err = s.parts.add(visit, ticket, shop, p)
	return s.err
}

// entry finds the index entry of a visit of this segment.
func (s *Segment) entry(visit int64) (*entry, error) {
	if err := s.usable(); err != nil {
		return nil, err
	}
	row := visit & (1<<32 - 1)
	if segmentOf(visit) != s.number || row >= int64(len(s.entries)) {
		return nil, fmt.Errorf("visit %d is not of segment %d", visit, s.number)
	}
	return &s.entries[row], nil
}

// AppendRefusal adds a row to the quarantine. What earlier ingests quarantined of the same ticket no longer counts.
func (s *Segment) AppendRefusal(q *Refusal) error {
	if err := s.usable(); err != nil {
		return err
	}
	s.tx.refuse(q)
	s.err = s.refusals.add(q)
	return s.err
}

// AppendQuality adds a count of something that was noticed about a log. It takes the place of what earlier ingests noticed
// of the same topic and subject.
func (s *Segment) AppendQuality(q Quality) error { return s.appendQuality(&q) }

// AppendNoted says what is the matter with visits whose Noted is the number: things, in the same order every time.
func (s *Segment) AppendNoted(number int64, things []Quality) error {
	for i, q := range things {
		q.noted, q.place = number, int64(i)
		if err := s.appendQuality(&q); err != nil {
			return err
		}
	}
	return nil
}

func (s *Segment) appendQuality(q *Quality) error {
	if err := s.usable(); err != nil {
		return err
	}
	if q.ingest == 0 {
		q.ingest = int64(s.tx.base.Ingests) + 1
	}
	s.err = s.quality.add(q)
	return s.err
}

// Retire says that v, which Lookup returned, is no longer the current version of its ticket. Once per version.
func (s *Segment) Retire(v Version) error {
	if err := s.usable(); err != nil {
		return err
	}
	s.retired[segmentOf(v.Visit)]++
	s.lost.Visits++
	s.lost.Faults += int64(v.faults)
	s.lost.Parts += int64(v.parts)
	s.err = s.replaced.retire(v.Visit)
	return s.err
}

func (s *Segment) usable() error {
	if s.err == nil && s.closed {
		return fmt.Errorf("segment %d is closed", s.number)
	}
	return s.err
}

// tables pairs the segment's tables with their names, in the order of Tables.
func (s *Segment) tables() []*table {
	return []*table{&s.visits.table, &s.faults.table, &s.parts.table, &s.refusals.table, &s.quality.table, &s.replaced.table}
}

// Close writes what is held back; the disk gets the files meanwhile. Commit closes what is still open; the goroutine that writes the segment
// had better do it, so that segments are finished side by side. Visits, faults and parts get a file, if only an empty one,
// in every segment that has rows at all.
func (s *Segment) Close() error {
	if s.err != nil || s.closed {
		return s.err
	}
	s.closed = true
	s.files = map[string]FileRecord{}
	if s.empty() {
		return nil
	}
	for i, t := range s.tables() {
		if i > 2 && t.rows == 0 {
			continue
		}
		rec, err := t.close(s.tx.settle)
		if err != nil {
			s.err = err
			return err
		}
		s.files[Tables()[i]] = rec
	}
	s.indexed = int64(len(s.entries))
	s.err = explain(writeRun(s.runPath(), sortEntries(s.entries), s.tx.wrap))
	s.release()
	return s.err
}

// release leaves the room of the columns to the next segment: a long ingest has many closed ones.
func (s *Segment) release() {
	kept := func(t *table) table { return table{path: t.path, rows: t.rows} }
	full := s.room
	s.room = &room{visits: visitRows{table: kept(&full.visits.table)}, faults: faultRows{table: kept(&full.faults.table)},
		parts: partRows{table: kept(&full.parts.table)}}
	s.tx.leaveRoom(full)
	s.refusals = &refusalRows{table: kept(&s.refusals.table)}
	s.quality = &qualityRows{table: kept(&s.quality.table)}
	s.replaced = &replacedRows{table: kept(&s.replaced.table)}
}

func (s *Segment) empty() bool {
	for _, t := range s.tables() {
		if t.rows > 0 {
			return false
		}
	}
	return true
}

func (s *Segment) runPath() string {
	return filepath.Join(s.tx.temp, fmt.Sprintf("run-%06d", s.number))
}

// abandon closes the files so that they can be removed.
func (s *Segment) abandon() {
	if s.closed && s.err == nil {
		return
	}
	for _, t := range s.tables() {
		t.abandon()
	}
	s.closed = true
}
