package ingest

import (
	"cmp"
	"slices"
	"strings"
)

// maxNotices bounds the distinct things a lane counts; further ones are counted together.
const maxNotices = 20_000

// note counts one thing noticed.
func (l *lane) note(n notice) { l.noteMany(n, 1) }

func (l *lane) noteMany(n notice, times int64) {
	if _, ok := l.notices[n]; !ok {
		if len(l.notices) >= maxNotices {
			n.subject = "further ones"
		}
		n.subject, n.note = strings.Clone(n.subject), strings.Clone(n.note) // they may lie in a held record
		n.topic = strings.Clone(n.topic)
	}
	l.notices[n] += times
}

// notes adds up what the lanes noticed, ordered by topic, then the most frequent first.
func (r *run) notes() []Note {
	sum := map[notice]int64{}
	for n, times := range r.notices {
		sum[n] += times
	}
	for _, l := range r.lanes {
		for n, times := range l.notices {
			sum[n] += times
		}
	}
	for n, times := range r.unreadFindings() {
		sum[n] += times
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
