package ingest

import (
	"cmp"
	"encoding/binary"
	"slices"
	"strings"

	"faultgrain/ingest/history"
	"faultgrain/ingest/models"

	"github.com/zeebo/xxh3"
)

// noted is what was noticed about a ticket, and how many tickets were written of which just that was noticed. A ticket
// is stored with the number of it, so that what was noticed of one version of a ticket goes when another replaces it.
type noted struct {
	things  []thing
	tickets int64
}

// thing is something noticed, and how often on one ticket.
type thing struct {
	notice
	times int64
}

// maxNoted bounds the distinct things a lane knows; what else is noticed has no subject.
const maxNoted = 20_000

// gather collects what was noticed about a ticket into the lane's things, in a total order.
func (l *lane) gather(t *ticket, d *models.Device) {
	l.things = l.things[:0]
	if d.Folded != "" {
		l.things = append(l.things, thing{notice{"folded", d.Model, "left out: " + d.Folded}, 1})
	}
	for _, n := range t.notices {
		l.things = append(l.things, thing{n, 1})
	}
	for i, n := range t.differ {
		if n > 0 {
			l.things = append(l.things, thing{notice{"contradiction", fieldColumn(i), "rows of one ticket differ; the last one counts"}, n})
		}
	}
	if len(l.things) < 2 {
		return
	}
	slices.SortFunc(l.things, func(a, b thing) int { return compareNotices(a.notice, b.notice) })
	kept := l.things[:1]
	for _, th := range l.things[1:] {
		if last := &kept[len(kept)-1]; last.notice == th.notice {
			last.times += th.times
		} else {
			kept = append(kept, th)
		}
	}
	l.things = kept
}

func compareNotices(a, b notice) int {
	return cmp.Or(strings.Compare(a.topic, b.topic), strings.Compare(a.subject, b.subject), strings.Compare(a.note, b.note))
}

// note counts a ticket of which the lane's things were noticed.
func (l *lane) note(number int64) {
	if number == 0 {
		return
	}
	n, ok := l.noted[number]
	if !ok {
		n = &noted{}
		for _, th := range l.things { // their texts may lie in a chunk or a held record
			n.things = append(n.things, thing{notice{strings.Clone(th.topic), strings.Clone(th.subject), strings.Clone(th.note)}, th.times})
		}
		l.noted[number] = n
	}
	n.tickets++
}

// thingsNumber is a hash of the lane's things that is above 0, the same in every run; 0 where there is none. Where the lane
// knows too many distinct ones, further ones lose their subjects.
func (l *lane) thingsNumber() int64 {
	if len(l.things) == 0 {
		return 0
	}
	number := l.hashThings()
	if l.noted[number] == nil && len(l.noted) >= maxNoted {
		for i := range l.things {
			l.things[i].subject = "further ones"
		}
		number = l.hashThings()
	}
	return number
}

func (l *lane) hashThings() int64 {
	b := l.thingForm[:0]
	for i := range l.things {
		th := &l.things[i]
		b = appendText(appendText(appendText(b, th.topic), th.subject), th.note)
		b = binary.AppendVarint(b, th.times)
	}
	l.thingForm = b
	return max(1, int64(xxh3.Hash(b)>>1))
}

// allNoted puts together what the lanes noticed, subjects of findings told.
func (r *run) allNoted() map[int64]*noted {
	findings := r.findings()
	all := map[int64]*noted{}
	for _, l := range r.lanes {
		for number, n := range l.noted {
			if all[number] == nil {
				all[number] = &noted{things: slices.Clone(n.things)}
				for i := range all[number].things {
					if th := &all[number].things[i]; strings.HasPrefix(th.subject, findingMark) {
						th.subject = "found: " + findings[th.subject]
					}
				}
			}
			all[number].tickets += n.tickets
		}
	}
	return all
}

// writeNoted writes down what was noticed about tickets and logs.
func (r *run) writeNoted(segment *history.Segment, all map[int64]*noted) error {
	numbers := make([]int64, 0, len(all))
	for number := range all {
		numbers = append(numbers, number)
	}
	slices.Sort(numbers)
	var things []history.Quality
	for _, number := range numbers {
		things = things[:0]
		for _, th := range all[number].things {
			things = append(things, history.Quality{Topic: th.topic, Subject: th.subject, Count: th.times, Note: th.note})
		}
		if err := segment.AppendNoted(number, things); err != nil {
			return err
		}
	}
	logs := make([]notice, 0, len(r.notices))
	for n := range r.notices {
		logs = append(logs, n)
	}
	slices.SortFunc(logs, compareNotices)
	for _, n := range logs {
		if err := segment.AppendQuality(history.Quality{Topic: n.topic, Subject: n.subject, Count: r.notices[n], Note: n.note}); err != nil {
			return err
		}
	}
	return nil
}

// notes adds up what was noticed, ordered by topic, then the most frequent first.
func (r *run) notes(all map[int64]*noted) []Note {
	sum := map[notice]int64{}
	for n, times := range r.notices {
		sum[n] += times
	}
	for _, n := range all {
		for _, th := range n.things {
			sum[th.notice] += th.times * n.tickets
		}
	}
	out := make([]Note, 0, len(sum))
	for n, times := range sum {
		out = append(out, Note{Topic: n.topic, Subject: n.subject, Count: times, Note: n.note})
	}
	slices.SortFunc(out, func(a, b Note) int {
		return cmp.Or(cmp.Compare(a.Topic, b.Topic), cmp.Compare(b.Count, a.Count),
			cmp.Compare(a.Subject, b.Subject), cmp.Compare(a.Note, b.Note))
	})
	return out
}
