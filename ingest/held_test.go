package ingest

import (
	"bytes"
	"fmt"
	"os"
	"reflect"
	"slices"
	"testing"

	"faultgrain/ingest/history"
	"faultgrain/schemas"

	"pgregory.net/rapid"
)

// Records come back whole and in order, whether they stayed in memory or went to disk.
func TestHeld(t *testing.T) {
	for _, limit := range []int64{1, 300, 1 << 20} {
		t.Run(fmt.Sprint(limit), func(t *testing.T) {
			dir := t.TempDir()
			h := newHeld(dir, "line", limit)
			var want []heldRecord
			for i := range 500 {
				rec := heldRecord{key: uint64(i%37) * 0x9e3779b97f4a7c15, file: int32(i % 3), line: int64(1000 - i), body: bytes.Repeat([]byte{byte(i)}, i%20)}
				want = append(want, rec)
				if err := h.add(rec.key, rec.file, rec.line, rec.body); err != nil {
					t.Fatal(err)
				}
			}
			spilled, err := os.ReadDir(dir)
			if err != nil || (len(spilled) > 0) != (limit < 1<<20) {
				t.Errorf("%d files on disk (%v) with a limit of %d bytes", len(spilled), err, limit)
			}
			var got []heldRecord
			for p := range heldParts {
				recs, err := h.take(p)
				if err != nil {
					t.Fatal(err)
				}
				for i := 1; i < len(recs); i++ {
					a, b := recs[i-1], recs[i]
					if a.key > b.key || a.key == b.key && (a.file > b.file || a.file == b.file && a.line >= b.line) {
						t.Fatalf("records out of order: %v before %v", a, b)
					}
				}
				got = append(got, recs...)
			}
			place := func(r heldRecord) string { return fmt.Sprintf("%d %d %d %x", r.key, r.file, r.line, r.body) }
			a, b := make([]string, 0, len(got)), make([]string, 0, len(want))
			for _, r := range got {
				a = append(a, place(r))
			}
			for _, r := range want {
				b = append(b, place(r))
			}
			slices.Sort(a)
			slices.Sort(b)
			same(t, "records", a, b)
			if left, _ := os.ReadDir(dir); len(left) > 0 {
				t.Errorf("%d files are left", len(left))
			}
		})
	}
}

// A line comes back from its held form as it was.
func TestLineForm(t *testing.T) {
	ids := newComponentIDs([]string{"battery", "display", "liquid"})
	text := rapid.StringN(0, 10, -1)
	float := rapid.Custom(func(t *rapid.T) schemas.Float {
		if rapid.Bool().Draw(t, "known") {
			return schemas.Known(rapid.Float64().Draw(t, "value"))
		}
		return schemas.Float{}
	})
	naming := rapid.Custom(func(t *rapid.T) reading {
		r := reading{named: rapid.Bool().Draw(t, "named")}
		for _, id := range ids.id {
			if rapid.Bool().Draw(t, id) {
				r.components = append(r.components, id)
			}
		}
		return r
	})
	rapid.Check(t, func(t *rapid.T) {
		l := line{file: 3, number: 17, raw: rapid.Uint64().Draw(t, "raw"), ticket: text.Draw(t, "ticket"), shop: text.Draw(t, "shop"),
			told: rapid.Bool().Draw(t, "told"), lines: rapid.Bool().Draw(t, "lines"),
			part: naming.Draw(t, "part"), found: naming.Draw(t, "found"), text: naming.Draw(t, "text")}
		for i := range l.words {
			l.words[i] = text.Draw(t, "word")
		}
		for i := range l.instants {
			if rapid.Bool().Draw(t, "set") {
				l.instants[i] = instant{rapid.Int64().Draw(t, "micros"), rapid.Int32().Draw(t, "day"), true, rapid.Bool().Draw(t, "clock")}
			}
		}
		for i := range l.amounts {
			l.amounts[i] = float.Draw(t, "amount")
		}
		for i := range l.keys {
			copy(l.keys[i][:], rapid.SliceOfN(rapid.Byte(), 0, 16).Draw(t, "key"))
		}
		for range rapid.IntRange(0, 2).Draw(t, "parts") {
			l.parts = append(l.parts, partLine{Part: history.Part{Component: text.Draw(t, "component"), PartNo: text.Draw(t, "no"), Supplier: text.Draw(t, "supplier"),
				Lot: text.Draw(t, "lot"), Grade: text.Draw(t, "grade"), Currency: text.Draw(t, "currency"), Quantity: float.Draw(t, "quantity"), UnitCost: float.Draw(t, "cost")},
				said: rapid.Uint64().Draw(t, "said")})
		}
		if l.lines {
			l.refusal = refusal{column: text.Draw(t, "column"), reason: ReasonNoTicketRow, found: text.Draw(t, "found"), want: text.Draw(t, "want"), raw: text.Draw(t, "rawtext")}
		}
		for range rapid.IntRange(0, 2).Draw(t, "notices") {
			l.notices = append(l.notices, notice{text.Draw(t, "topic"), text.Draw(t, "subject"), text.Draw(t, "note")})
		}
		form := appendLine(nil, &l, ids)
		var got line
		if err := readLine(&got, heldRecord{file: 3, line: 17, body: form}, ids); err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, l) {
			t.Fatalf("got  %+v\nwant %+v", got, l)
		}
		cut := rapid.IntRange(0, len(form)-1).Draw(t, "cut")
		if err := readLine(&got, heldRecord{body: form[:cut]}, ids); err == nil {
			t.Fatalf("a record cut at %d of %d bytes was taken for whole", cut, len(form))
		}
	})
}

func TestScattered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hashes := rapid.SliceOf(rapid.SampledFrom([]uint64{0, 1, 2, 1 << 56, 1<<56 + 1, 1<<64 - 1, 0x9e3779b97f4a7c15})).Draw(t, "hashes")
		collected := []*runHashes{{}, {}}
		times := map[uint64]int{}
		for i, h := range hashes {
			collected[i%2].add(h)
			times[h]++
		}
		set, all := scattered(collected, 2)
		if all {
			t.Fatal("too many to list")
		}
		for _, h := range []uint64{0, 1, 2, 1 << 56, 1<<56 + 1, 1<<64 - 1, 0x9e3779b97f4a7c15, 77} {
			if set.has(h) != (times[h] > 1) {
				t.Fatalf("%#x came %d times, has says %v", h, times[h], set.has(h))
			}
		}
	})
}

// Joining rows that lie apart is told as it goes on; where none lie apart there is nothing to tell.
func TestJoinIsTold(t *testing.T) {
	for log, want := range map[string]bool{
		"ticket,opened,model,part\n1,2026-01-05,Lark 7,display\n2,2026-01-05,Lark 7,battery\n1,2026-01-05,Lark 7,battery\n": true,
		"ticket,opened,model,part\n1,2026-01-05,Lark 7,display\n2,2026-01-05,Lark 7,battery\n":                              false,
	} {
		var last Progress
		opt := Options{Progress: func(p Progress) { last = p }}
		ingest(t, t.TempDir(), opt, write(t, "log.csv", log))
		if told := last.Stage == "join"; told != want || told && (last.Done != last.Total || last.Rows != 2) {
			t.Errorf("%q: last told %+v, want a join of 2 rows to its end: %v", log, last, want)
		}
	}
}
