package ingest

import (
	"bytes"
	"slices"

	"faultgrain/ingest/history"
	"faultgrain/ingest/models"

	"github.com/zeebo/xxh3"
)

// device is a device as the history names it.
type device struct {
	models.Device
	sum uint64 // hash of its names
}

// lane writes tickets to segments of its own. Chunk i of a log goes to lane i modulo the number of
// lanes, which depends on the size of the logs and not on the machine, so that the same logs give
// the same segments anywhere.
type lane struct {
	run     *run
	number  int
	round   int // which of its segments is open
	segment *history.Segment

	ticket     ticket
	line       line
	used       []history.Part // room for the part lines of a ticket
	record     []byte         // room for the form of a held record
	group      []heldLine     // the lines being joined
	devices    memo[device]
	deviceForm []byte
	read       readings
	serial     []byte // room for a serial
	keyed      []byte // the serial that was keyed last
	keyOf      history.Key
	made       []byte // room for texts made for a ticket; grows, so that earlier views stay
	shown      []byte // room for a masked row

	accounts                   []account        // by log
	noted                      map[int64]*noted // what was noticed about the tickets written, by number
	things                     []thing          // room for that of one ticket
	thingForm                  []byte
	findings                   map[string]string // findings that no component reads, by their keyed hash
	fresh, replaced, unchanged int64
}

// account counts the rows of one log that a lane has settled.
type account struct {
	accepted, quarantined, duplicate, replaced, repaired, ragged int64
}

// visitsPerSegment bounds the memory a segment keeps for its index.
const visitsPerSegment = 1 << 19

// write settles a whole ticket: it is stored, unless the history has it just so.
func (l *lane) write(t *ticket) error {
	d := l.device(t.words[makerWord], t.words[familyWord], t.words[modelWord], t.words[classWord])
	t.finish(l.run.ids.vague, l.run.ids.on[d.Class])
	v := t.visit(d.Device)
	for _, f := range t.faults {
		v.Found.Add(f.component, f.basis, slices.Contains(l.run.ids.causes, f.component))
	}
	l.used = l.used[:0]
	for i := range t.parts {
		l.used = append(l.used, t.parts[i].Part)
	}
	v.PartsCost = history.CostOf(l.used, v.Currency)
	l.gather(t, &d.Device)
	v.Noted = l.thingsNumber()
	digest := t.sum(&v, d.sum)
	hash := l.run.tx.TicketHash(bytesOf(t.shop), bytesOf(t.ticket))
	earlier, known, err := l.run.tx.Lookup(hash)
	if err != nil {
		return err
	}
	if known && earlier.Digest == digest {
		l.unchanged++
		for _, r := range t.rows {
			l.accounts[r.file].duplicate++
		}
		return nil
	}
	segment, err := l.openSegment()
	if err != nil {
		return err
	}
	if known {
		l.replaced++
		l.accounts[t.rows[len(t.rows)-1].file].replaced++
		if err := segment.Retire(earlier); err != nil {
			return err
		}
	} else {
		l.fresh++
	}
	l.note(v.Noted)
	number, err := segment.AppendVisit(&v, hash, digest)
	if err != nil {
		return err
	}
	for _, f := range t.faults {
		if err := segment.AppendFault(number, t.ticket, t.shop, f.component, f.basis); err != nil {
			return err
		}
	}
	if err := segment.AppendParts(number, &v, l.used); err != nil {
		return err
	}
	for _, r := range t.rows {
		if r.duplicate {
			l.accounts[r.file].duplicate++
		} else {
			l.accounts[r.file].accepted++
		}
	}
	return nil
}

func newLane(r *run, number int) *lane {
	return &lane{
		run: r, number: number, round: -1, read: newReadings(r),
		devices:  rememberDevices(r.folder),
		accounts: make([]account, len(r.sources)), noted: map[int64]*noted{}, findings: map[string]string{},
	}
}

// openSegment gives the segment to write to. Segments are numbered by round and lane, whichever
// lane comes first.
func (l *lane) openSegment() (*history.Segment, error) {
	if l.segment != nil && l.segment.Rows() < visitsPerSegment {
		return l.segment, nil
	}
	if err := l.closeSegment(); err != nil {
		return nil, err
	}
	l.round++
	var err error
	l.segment, err = l.run.segmentOf(l.round, l.number)
	return l.segment, err
}

// closeSegment writes out the lane's segment.
func (l *lane) closeSegment() error {
	if l.segment == nil {
		return nil
	}
	err := l.segment.Close()
	l.segment = nil
	return err
}

// segmentOf gives the segment of a round and lane, starting those of the whole round at once.
func (r *run) segmentOf(round, number int) (*history.Segment, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for len(r.rounds) <= round {
		of := make([]*history.Segment, len(r.lanes))
		for i := range of {
			var err error
			if of[i], err = r.tx.NewSegment(); err != nil {
				return nil, err
			}
		}
		r.rounds = append(r.rounds, of)
	}
	return r.rounds[round][number], nil
}

// device folds a device's names; distinct ones are folded once.
func (l *lane) device(maker, family, model, class string) device {
	b := l.deviceForm[:0]
	for _, s := range [...]string{maker, family, model, class} {
		b = appendText(b, s)
	}
	l.deviceForm = b
	return l.devices.get(b)
}

// maxDevices bounds the devices a lane remembers.
const maxDevices = 1 << 17

// rememberDevices folds names in the form that device gives them.
func rememberDevices(folder *models.Folder) memo[device] {
	m := newMemo(func(names []byte) device {
		r := recordReader{b: bytes.Clone(names)} // the names may lie in a chunk
		d := folder.Fold(r.text(), r.text(), r.text(), r.text())
		var form []byte
		for _, name := range [...]string{d.Maker, d.Family, d.Model, d.Class} {
			form = appendText(form, name)
		}
		return device{d, xxh3.Hash(form)}
	})
	m.most = maxDevices
	return m
}
