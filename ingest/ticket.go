package ingest

import (
	"cmp"
	"encoding/binary"
	"slices"

	"faultgrain/ingest/history"
	"faultgrain/ingest/models"
	"faultgrain/schemas"

	"github.com/zeebo/xxh3"
)

// ticket is the lines of one ticket put together.
type ticket struct {
	line             // the merged cells; its parts, readings and notices are not used
	rows    []rowRef // every row of it, in order
	rawRows uint64   // hash of them as they stood; 0 where they did not stand together
	parts   []partLine
	named   bool // a part or finding names a component
	clear   bool // a finding says that there is no fault
	faults  []fault
	texts   []string // components of free text
	notices []notice
	differ  [fields]int64       // rows that contradict an earlier one, by field
	seen    map[uint64]struct{} // hashes of the rows, once they are many
	digest  []byte              // room for the digest's form
}

// fields of a line that can contradict each other: words, instants, amounts, keys.
const fields = wordFields + instantFields + amountFields + keyFields

// fieldColumn names them in quality notes.
func fieldColumn(i int) string {
	switch {
	case i < wordFields:
		return wordColumn[i]
	case i < wordFields+instantFields:
		return instantColumn[i-wordFields]
	case i < wordFields+instantFields+amountFields:
		return amountColumn[i-wordFields-instantFields]
	}
	return keyColumn[i-wordFields-instantFields-amountFields]
}

// manyRows is where looking through a ticket's rows for an equal one gives way to a map.
const manyRows = 32

// rowRef is a row's place in the accounts.
type rowRef struct {
	file      int32
	raw       uint64
	duplicate bool
}

type fault struct{ component, basis string }

// start begins a ticket with its first line.
func (t *ticket) start(l *line) {
	t.line = *l
	t.line.parts, t.line.notices = nil, nil
	t.rows, t.parts, t.faults, t.texts, t.notices = t.rows[:0], t.parts[:0], t.faults[:0], t.texts[:0], t.notices[:0]
	t.named, t.clear, t.seen, t.rawRows = false, false, nil, 0
	t.differ = [fields]int64{}
	t.take(l)
}

// repeats says whether an equal row is in the ticket already.
func (t *ticket) repeats(raw uint64) bool {
	if len(t.rows) <= manyRows {
		for i := range t.rows {
			if t.rows[i].raw == raw {
				return true
			}
		}
		return false
	}
	if t.seen == nil {
		t.seen = make(map[uint64]struct{}, 2*manyRows)
		for i := range t.rows {
			t.seen[t.rows[i].raw] = struct{}{}
		}
	}
	_, yes := t.seen[raw]
	t.seen[raw] = struct{}{}
	return yes
}

// add puts a further line to the ticket. A row equal to an earlier one is a duplicate and adds
// nothing. In cells that contradict each other the last one that is not empty wins; that is noted.
func (t *ticket) add(l *line) {
	if t.repeats(l.raw) {
		t.rows = append(t.rows, rowRef{file: l.file, raw: l.raw, duplicate: true})
		return
	}
	field := 0
	count := func(differs bool) {
		if differs {
			t.differ[field]++
		}
		field++
	}
	for i, w := range l.words {
		count(w != "" && t.words[i] != "" && t.words[i] != w)
		if w != "" {
			t.words[i] = w
		}
	}
	for i, at := range l.instants {
		count(at.set && t.instants[i].set && t.instants[i].micros != at.micros)
		if at.set {
			t.instants[i] = at
		}
	}
	for i, a := range l.amounts {
		count(a.OK && t.amounts[i].OK && t.amounts[i].V != a.V)
		if a.OK {
			t.amounts[i] = a
		}
	}
	for i, k := range l.keys {
		count(!k.IsZero() && !t.keys[i].IsZero() && t.keys[i] != k)
		if !k.IsZero() {
			t.keys[i] = k
		}
	}
	t.told = t.told || l.told
	t.lines = t.lines && l.lines
	t.take(l)
}

// take adds what piles up: the row, its components, part lines and notices.
func (t *ticket) take(l *line) {
	t.rows = append(t.rows, rowRef{file: l.file, raw: l.raw})
	t.notices = append(t.notices, l.notices...)
	t.named = t.named || l.part.named || l.found.named
	t.clear = t.clear || l.found.clear
	for _, c := range l.part.components {
		t.fault(c, schemas.BasisPart)
	}
	for _, c := range l.found.components {
		t.fault(c, schemas.BasisFound)
	}
	for _, c := range l.text.components {
		if !slices.Contains(t.texts, c) {
			t.texts = append(t.texts, c)
		}
	}
	for _, p := range l.parts {
		p.file = l.file
		t.parts = append(t.parts, p)
	}
}

// fault adds a component; a part line is the better basis than a finding.
func (t *ticket) fault(component, basis string) {
	for i := range t.faults {
		if t.faults[i].component == component {
			if basis == schemas.BasisPart {
				t.faults[i].basis = basis
			}
			return
		}
	}
	t.faults = append(t.faults, fault{component, basis})
}

// finish settles what only the whole ticket tells: faults from text, what a component is on its class of
// device, what else was read beside vague components, instants that contradict each other, part lines
// that two logs tell alike, and total orders.
func (t *ticket) finish(vague []string, on map[string]string) {
	if t.clear = t.clear && len(t.faults) == 0; t.clear && t.words[outcomeWord] == "" {
		t.words[outcomeWord] = schemas.NoFault
	}
	if !t.named && !t.clear && t.words[outcomeWord] != schemas.NoFault {
		for _, c := range t.texts {
			t.fault(c, schemas.BasisText)
		}
	}
	t.rename(on)
	t.giveUp(vague)
	slices.SortFunc(t.faults, func(a, b fault) int { return cmp.Compare(a.component, b.component) })
	opened := t.instants[openedAt]
	for i := readyAt; i <= collectedAt; i++ {
		at := &t.instants[i]
		switch {
		case !at.set || at.micros >= opened.micros:
		case !at.clock && at.day == opened.day:
			at.micros = opened.micros // a bare day, the same: not before it opened
		default:
			*at = instant{}
			t.notices = append(t.notices, notice{"emptied", instantColumn[i], "before opened"})
		}
	}
	t.mergeParts()
}

// rename calls components what they are on the ticket's class of device: a phone's USB port is its
// charge port.
func (t *ticket) rename(on map[string]string) {
	if !slices.ContainsFunc(t.faults, func(f fault) bool { return on[f.component] != "" }) {
		return
	}
	faults := slices.Clone(t.faults)
	t.faults = t.faults[:0]
	for _, f := range faults {
		t.fault(cmp.Or(on[f.component], f.component), f.basis)
	}
	for i := range t.parts {
		t.parts[i].Component = cmp.Or(on[t.parts[i].Component], t.parts[i].Component)
	}
}

// giveUp drops vague components where something else was read.
func (t *ticket) giveUp(vague []string) {
	if len(t.faults) < 2 {
		return
	}
	is := func(f fault) bool { return slices.Contains(vague, f.component) }
	if slices.ContainsFunc(t.faults, func(f fault) bool { return !is(f) }) {
		t.faults = slices.DeleteFunc(t.faults, is)
	}
}

// unread says that fault text was given and names no component, on a visit without a finding of no fault.
func (t *ticket) unread() bool {
	return t.told && !t.readSome() && !t.clear && t.words[outcomeWord] != schemas.NoFault
}

func (t *ticket) readSome() bool { return len(t.faults) > 0 }

// mergeParts sorts the part lines and keeps of equal ones as many as the log with most of them has:
// two logs that tell the same line tell it once.
func (t *ticket) mergeParts() {
	if len(t.parts) < 2 {
		return
	}
	slices.SortStableFunc(t.parts, func(a, b partLine) int {
		return cmp.Or(compareParts(&a, &b), cmp.Compare(a.file, b.file))
	})
	kept := t.parts[:0]
	for i := 0; i < len(t.parts); {
		most, n := 0, 0
		j := i
		for ; j < len(t.parts) && compareParts(&t.parts[i], &t.parts[j]) == 0; j++ {
			if j > i && t.parts[j].file != t.parts[j-1].file {
				n = 0
			}
			n++
			most = max(most, n)
		}
		first := t.parts[i]
		for range most {
			kept = append(kept, first)
		}
		i = j
	}
	t.parts = kept
}

func compareParts(a, b *partLine) int {
	return cmp.Or(cmp.Compare(a.Component, b.Component), cmp.Compare(a.PartNo, b.PartNo), cmp.Compare(a.Supplier, b.Supplier),
		cmp.Compare(a.Lot, b.Lot), cmp.Compare(a.Grade, b.Grade), compareFloats(a.Quantity, b.Quantity),
		compareFloats(a.UnitCost, b.UnitCost), cmp.Compare(a.Currency, b.Currency), cmp.Compare(a.said, b.said))
}

func compareFloats(a, b schemas.Float) int {
	if a.OK != b.OK {
		if b.OK {
			return -1
		}
		return 1
	}
	return cmp.Compare(a.V, b.V)
}

// visit is the ticket as a row of the history.
func (t *ticket) visit(d models.Device) history.Visit {
	return history.Visit{
		Ticket: t.ticket, Shop: t.shop,
		Opened: t.instants[openedAt].micros,
		Ready:  t.instants[readyAt].micros, HasReady: t.instants[readyAt].set,
		Collected: t.instants[collectedAt].micros, HasCollected: t.instants[collectedAt].set,
		Outcome: t.words[outcomeWord],
		Maker:   d.Maker, Family: d.Family, Model: d.Model, Class: d.Class,
		Device: t.keys[deviceKey], MadeWeek: t.words[weekWord], SerialPrefix: t.words[prefixWord],
		BenchMinutes: t.amounts[benchMinutes], Charge: t.amounts[charge], Currency: t.words[currencyWord],
		Technician: t.keys[technicianKey], Unread: t.unread(), Raw: t.rawRows,
	}
}

// sum is a hash of all that is stored about the ticket, never 0: an export that changes nothing of
// it gives the same. device is the hash of the device's names.
func (t *ticket) sum(v *history.Visit, device uint64) uint64 {
	b := binary.LittleEndian.AppendUint64(t.digest[:0], device)
	for _, s := range [...]string{v.Ticket, v.Shop, v.Outcome, v.MadeWeek, v.SerialPrefix, v.Currency} {
		b = appendText(b, s)
	}
	b = binary.LittleEndian.AppendUint64(b, uint64(v.Opened))
	b = append(b, flags(v.HasReady, v.HasCollected), flags(v.Unread, false))
	b = binary.LittleEndian.AppendUint64(b, uint64(v.Ready))
	b = binary.LittleEndian.AppendUint64(b, uint64(v.Collected))
	b = binary.LittleEndian.AppendUint64(b, uint64(v.Noted))
	b = append(append(b, v.Device[:]...), v.Technician[:]...)
	b = appendFloat(appendFloat(b, v.BenchMinutes), v.Charge)
	for _, f := range t.faults {
		b = appendText(appendText(b, f.component), f.basis)
	}
	b = append(b, 0xff)
	for i := range t.parts {
		b = appendPart(b, &t.parts[i].Part)
	}
	t.digest = b
	return max(1, xxh3.Hash(b))
}
