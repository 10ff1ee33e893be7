package ingest

import (
	"encoding/binary"
	"errors"
	"math"

	"faultgrain/ingest/history"
	"faultgrain/schemas"
)

// The form of a line in a held record: fields in order, numbers as varints, texts with their length
// in front. It lives for one run and has no version.

// appendLine appends the form of a line. ids gives each component its number.
func appendLine(b []byte, l *line, ids *componentIDs) []byte {
	b = binary.LittleEndian.AppendUint64(b, l.raw)
	b = appendText(b, l.ticket)
	b = appendText(b, l.shop)
	for i := range l.words {
		b = appendText(b, l.words[i])
	}
	for i := range l.instants {
		t := &l.instants[i]
		b = append(b, flags(t.set, t.clock))
		if t.set {
			b = binary.AppendVarint(b, t.micros)
			b = binary.AppendVarint(b, int64(t.day))
		}
	}
	for i := range l.amounts {
		b = appendFloat(b, l.amounts[i])
	}
	for i := range l.keys {
		if l.keys[i].IsZero() {
			b = append(b, 0)
			continue
		}
		b = append(append(b, 1), l.keys[i][:]...)
	}
	b = append(b, flags(l.told, l.lines))
	b = appendReading(b, l.part, ids)
	b = appendReading(b, l.found, ids)
	b = appendReading(b, l.text, ids)
	b = binary.AppendUvarint(b, uint64(len(l.parts)))
	for i := range l.parts {
		b = binary.LittleEndian.AppendUint64(appendPart(b, &l.parts[i].Part), l.parts[i].said)
	}
	if l.lines {
		b = appendRefusal(b, &l.refusal)
	}
	b = binary.AppendUvarint(b, uint64(len(l.notices)))
	for _, n := range l.notices {
		b = appendText(appendText(appendText(b, n.topic), n.subject), n.note)
	}
	return b
}

func appendText(b []byte, s string) []byte {
	return append(binary.AppendUvarint(b, uint64(len(s))), s...)
}

func appendFloat(b []byte, f schemas.Float) []byte {
	if !f.OK {
		return append(b, 0)
	}
	return binary.LittleEndian.AppendUint64(append(b, 1), math.Float64bits(f.V))
}

func appendReading(b []byte, r reading, ids *componentIDs) []byte {
	b = append(b, flags(r.named, r.clear))
	b = binary.AppendUvarint(b, uint64(len(r.components)))
	for _, c := range r.components {
		b = binary.AppendUvarint(b, uint64(ids.number[c]))
	}
	return b
}

func appendPart(b []byte, p *history.Part) []byte {
	for _, s := range [...]string{p.Component, p.PartNo, p.Supplier, p.Lot, p.Grade, p.Currency} {
		b = appendText(b, s)
	}
	return appendFloat(appendFloat(b, p.Quantity), p.UnitCost)
}

func appendRefusal(b []byte, r *refusal) []byte {
	for _, s := range [...]string{r.column, string(r.reason), r.found, r.want, r.raw} {
		b = appendText(b, s)
	}
	return b
}

func flags(a, b bool) byte {
	f := byte(0)
	if a {
		f = 1
	}
	if b {
		f |= 2
	}
	return f
}

var errHeldForm = errors.New("a held record is damaged; is the disk sound?")

// recordReader takes the fields of a held record off its front.
type recordReader struct {
	b   []byte
	bad bool
}

func (r *recordReader) take(n int) []byte {
	if n < 0 || n > len(r.b) {
		r.bad, r.b = true, nil
		return nil
	}
	out := r.b[:n]
	r.b = r.b[n:]
	return out
}

func (r *recordReader) number() uint64 {
	v, n := binary.Uvarint(r.b)
	if n <= 0 {
		r.bad, r.b = true, nil
		return 0
	}
	r.b = r.b[n:]
	return v
}

func (r *recordReader) signed() int64 {
	v, n := binary.Varint(r.b)
	if n <= 0 {
		r.bad, r.b = true, nil
		return 0
	}
	r.b = r.b[n:]
	return v
}

func (r *recordReader) count() int {
	n := r.number()
	if n > uint64(len(r.b)) { // every item takes a byte at least
		r.bad, r.b = true, nil
		return 0
	}
	return int(n)
}

func (r *recordReader) text() string { return view(r.take(r.count())) }

func (r *recordReader) flag() byte {
	if b := r.take(1); len(b) == 1 {
		return b[0]
	}
	return 0
}

func (r *recordReader) fixed64() uint64 {
	if b := r.take(8); len(b) == 8 {
		return binary.LittleEndian.Uint64(b)
	}
	return 0
}

func (r *recordReader) float() schemas.Float {
	if r.flag() == 0 {
		return schemas.Float{}
	}
	return schemas.Float{V: math.Float64frombits(r.fixed64()), OK: true}
}

func (r *recordReader) reading(ids *componentIDs) reading {
	f := r.flag()
	out := reading{named: f&1 != 0, clear: f&2 != 0}
	n := r.count()
	if n == 0 {
		return out
	}
	out.components = make([]string, n)
	for i := range out.components {
		c := r.number()
		if c >= uint64(len(ids.id)) {
			r.bad = true
			return out
		}
		out.components[i] = ids.id[c]
	}
	return out
}

func (r *recordReader) part() history.Part {
	var p history.Part
	for _, s := range [...]*string{&p.Component, &p.PartNo, &p.Supplier, &p.Lot, &p.Grade, &p.Currency} {
		*s = r.text()
	}
	p.Quantity, p.UnitCost = r.float(), r.float()
	return p
}

func (r *recordReader) refusal() refusal {
	var q refusal
	var reason string
	for _, s := range [...]*string{&q.column, &reason, &q.found, &q.want, &q.raw} {
		*s = r.text()
	}
	q.reason = Reason(reason)
	return q
}

// readLine fills l with what appendLine wrote; its texts lie in the record.
func readLine(l *line, rec heldRecord, ids *componentIDs) error {
	l.reset()
	l.file, l.number = rec.file, rec.line
	r := recordReader{b: rec.body}
	l.raw = r.fixed64()
	l.ticket, l.shop = r.text(), r.text()
	for i := range l.words {
		l.words[i] = r.text()
	}
	for i := range l.instants {
		f := r.flag()
		if f&1 != 0 {
			l.instants[i] = instant{micros: r.signed(), day: int32(r.signed()), set: true, clock: f&2 != 0}
		}
	}
	for i := range l.amounts {
		l.amounts[i] = r.float()
	}
	for i := range l.keys {
		if r.flag() != 0 {
			copy(l.keys[i][:], r.take(len(l.keys[i])))
		}
	}
	f := r.flag()
	l.told, l.lines = f&1 != 0, f&2 != 0
	l.part, l.found, l.text = r.reading(ids), r.reading(ids), r.reading(ids)
	for range r.count() {
		l.parts = append(l.parts, partLine{Part: r.part(), said: r.fixed64()})
	}
	if l.lines {
		l.refusal = r.refusal()
	}
	for range r.count() {
		l.notices = append(l.notices, notice{r.text(), r.text(), r.text()})
	}
	if r.bad || len(r.b) > 0 {
		return errHeldForm
	}
	return nil
}
