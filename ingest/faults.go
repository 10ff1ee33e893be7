package ingest

import (
	"faultgrain/ingest/cells"
	"faultgrain/ingest/lexicon"
	"faultgrain/ingest/logfile"

	"github.com/zeebo/xxh3"
)

// readFaults reads components from part cells, findings and free text, and the part lines.
func (l *lane) readFaults(s *source, row *logfile.Row) {
	ln, ly := &l.line, &s.layout
	var part reading
	said := uint64(0) // hash of what the part cells say; 0 for nothing
	for _, col := range ly.parts {
		r := l.read.components.get(row.Cell(col))
		if !r.said {
			continue
		}
		part = unite(part, r.reading)
		said = max(1, xxh3.HashSeed(cells.Trim(row.Cell(col)), said))
		if r.unread {
			ln.unreadValue("part", row.Cell(col))
		}
	}
	ln.part = part
	for _, col := range ly.found {
		r := l.read.findings.get(row.Cell(col))
		ln.found = unite(ln.found, r.reading)
		ln.told = ln.told || r.said
		if r.unread {
			l.unreadFinding(row.Cell(col))
		}
	}
	if ln.part.named || ln.found.named {
		ln.told = true // what the customer said is not asked: a part or a finding names the component
		l.readParts(s, row, said)
		return
	}
	for _, col := range ly.text {
		r := l.run.texts.of(lexicon.Text, row.Cell(col))
		ln.text = unite(ln.text, r.reading)
		ln.told = ln.told || r.said
	}
	for _, col := range ly.notes {
		r := l.run.texts.of(lexicon.Text, row.Cell(col))
		ln.text = unite(ln.text, r.reading)
		if len(ly.found)+len(ly.text) == 0 {
			ln.told = ln.told || r.said
		}
	}
	l.readParts(s, row, said)
}

// unite is the union of two readings.
func unite(a, b reading) reading {
	if len(a.components) == 0 {
		b.clear = a.clear || b.clear
		return b
	}
	if len(b.components) == 0 {
		a.clear = a.clear || b.clear
		return a
	}
	out := reading{named: a.named || b.named, clear: a.clear || b.clear, components: make([]string, 0, len(a.components)+len(b.components))}
	for i, j := 0, 0; i < len(a.components) || j < len(b.components); {
		switch {
		case j == len(b.components) || i < len(a.components) && a.components[i] < b.components[j]:
			out.components = append(out.components, a.components[i])
			i++
		case i == len(a.components) || b.components[j] < a.components[i]:
			out.components = append(out.components, b.components[j])
			j++
		default:
			out.components = append(out.components, a.components[i])
			i, j = i+1, j+1
		}
	}
	return out
}
