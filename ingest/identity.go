package ingest

import (
	"faultgrain/ingest/cells"
	"faultgrain/ingest/columns"
	"faultgrain/ingest/logfile"
)

func (l *lane) readDevice(s *source, row *logfile.Row) {
	w := &l.line.words
	w[makerWord] = recall(&l.read.makers, s, row, columns.Maker)
	w[familyWord] = recall(&l.read.families, s, row, columns.Family)
	model := recall(&l.read.models, s, row, columns.Model)
	w[modelWord] = model.name
	if class := recall(&l.read.classes, s, row, columns.Class); class != "" {
		w[classWord] = class
	} else if model.class != "" {
		w[modelWord], w[classWord] = "", model.class // a kind of device under the header "Device"
	}
}

// readIdentity reads outcome, serial, week of manufacture and technician.
func (l *lane) readIdentity(s *source, row *logfile.Row) {
	ln := &l.line
	outcome := recall(&l.read.outcomes, s, row, columns.Outcome)
	if ln.words[outcomeWord] = outcome.word; outcome.unread {
		ln.empty("outcome", "no known outcome; name it under [outcomes] in columns.toml")
		ln.unreadValue("outcome", s.cell(row, columns.Outcome))
	}
	week := recall(&l.read.weeks, s, row, columns.MadeWeek)
	if ln.words[weekWord] = week.word; week.unread {
		ln.empty("made_week", "no week such as 2026-W07")
	}
	if cell := s.cell(row, columns.Serial); len(cell) > 0 {
		var ok bool
		if l.serial, ok = cells.AppendSerial(l.serial[:0], cell); ok {
			if string(l.serial) != string(l.keyed) { // the rows of one ticket name one device
				l.keyed, l.keyOf = append(l.keyed[:0], l.serial...), l.run.tx.DeviceKey(view(l.serial))
			}
			ln.keys[deviceKey] = l.keyOf
			l.readPrefix()
		} else {
			ln.empty("serial", "identifies no device")
		}
	}
	ln.keys[technicianKey] = recall(&l.read.technicians, s, row, columns.Technician)
}

// readPrefix keeps the first characters of the serial, as many as shop.toml allows for the maker, and
// never all of it.
func (l *lane) readPrefix() {
	if len(l.run.prefixes) == 0 {
		return
	}
	w := &l.line.words
	d := l.device(w[makerWord], w[familyWord], w[modelWord], w[classWord])
	n := l.run.prefixes[cells.Key(d.Maker)]
	if n > 0 && n < len(l.serial) {
		w[prefixWord] = l.keep(func(b []byte) []byte { return append(b, l.serial[:n]...) })
	}
}

// keep appends text to the lane's room and returns it. Texts are valid until the next ticket.
func (l *lane) keep(add func([]byte) []byte) string {
	from := len(l.made)
	l.made = add(l.made)
	return view(l.made[from:])
}
