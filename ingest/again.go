package ingest

import (
	"encoding/binary"
	"runtime/debug"
	"sync"

	"faultgrain/ingest/logfile"

	"github.com/zeebo/xxh3"
)

// Most tickets of a full export stand in it as they stood in the last one. The history knows the hash of the rows each
// was read from, and of all that decides how they read; where it is the same, the rows need not be read again.

// contextOf is a hash of all that decides how the rows of a log read. It is keyed by the history's secret, for the hashes
// of rows that start from it are of personal data, too.
func (r *run) contextOf(s *source) uint64 {
	b := appendText(appendText(nil, r.reading), program())
	for _, text := range [...]string{s.file.Format, s.file.Encoding, s.file.Delimiter} {
		b = appendText(b, text)
	}
	b = append(binary.LittleEndian.AppendUint64(b, s.seed), flags(s.file.Backslash, false))
	for _, d := range s.layout.dates {
		b = append(b, byte(d.dates.Order), byte(d.dates.Count))
	}
	for _, n := range s.layout.numbers {
		b = append(b, byte(n.mark))
	}
	return r.tx.TicketHash(nil, r.folder.AppendSpellings(b))
}

// program tells builds of this program apart as far as they know themselves: another one may read the same rows otherwise.
var program = sync.OnceValue(func() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	version := info.Main.Version
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" || s.Key == "vcs.modified" {
			version += " " + s.Value
		}
	}
	return version
})

// rawHash is a hash of rows as they stood, in the log's context; never 0.
func (s *source) rawHash(c *logfile.Chunk, from, to int) uint64 {
	hash := s.context
	for row := from; row < to; row++ {
		hash = xxh3.HashSeed(c.Raw(row), hash)
	}
	return max(1, hash)
}

// standsSo says whether the history has a ticket from rows that read alike and stood alike.
func (l *lane) standsSo(ticket, raw uint64) (bool, error) {
	earlier, known, err := l.run.tx.Lookup(ticket)
	return known && earlier.Raw == raw, err
}

// skip accounts for the rows of a ticket that need not be read.
func (l *lane) skip(s *source, c *logfile.Chunk, from, to int) {
	l.unchanged++
	l.accounts[s.index].duplicate += int64(to - from)
	for row := from; row < to; row++ {
		if c.Width(row) < s.layout.width {
			l.accounts[s.index].ragged++
		}
	}
}
