package lexicon

import (
	"bytes"
	"slices"
	"strings"
	"sync"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

// clauses that are whole in themselves: what one means doesn't depend on its neighbours.
var clauses = []string{
	"screen cracked", "the battery tested ok", "charging port bent", "microphone dead", "loudspeaker ok", "no water damage",
	"Kopfhörerbuchse verschmutzt", "Akku in Ordnung", "scherm gebarsten", "haut-parleur cassé", "mikrofon virker ikke",
	"la cámara funciona bien", "sim tray jammed", "front camera blurry", "screen replaced last year", "came with charger",
	"fell into a puddle", "wifi greyed out", "nothing else to say", "Ladebuchse defekt",
}

func TestOrderOfSentencesDoesNotMatter(t *testing.T) {
	r := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.SliceOfN(rapid.SampledFrom(clauses), 1, 6).Draw(t, "clauses")
		other := rapid.Permutation(list).Draw(t, "other order")
		for _, end := range []string{". ", "; ", "\n"} {
			a, b := r.Read(strings.Join(list, end), Text), r.Read(strings.Join(other, end), Text)
			if !slices.Equal(a.Components, b.Components) {
				t.Fatalf("%q reads %v, %q reads %v", list, a.Components, other, b.Components)
			}
		}
	})
}

func TestCaseAndAccentsDoNotMatter(t *testing.T) {
	r := builtin(t)
	plain := strings.NewReplacer("ä", "a", "ö", "o", "ü", "u", "é", "e", "á", "a", "ø", "o", "å", "a")
	digraphs := strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue")
	for _, c := range clauses {
		want := r.Read(c, Text).Components
		for _, v := range []string{strings.ToUpper(c), strings.ToLower(c), plain.Replace(c), digraphs.Replace(c), "  " + c + " !"} {
			if got := r.Read(v, Text).Components; !slices.Equal(got, want) {
				t.Errorf("%q reads %v, %q reads %v", c, want, v, got)
			}
		}
	}
}

// holds checks what is true of every reading of every text.
func holds(t interface{ Fatalf(string, ...any) }, r *Reader, text string, kind Kind) {
	got := r.Read(text, kind)
	if !slices.IsSorted(got.Components) || len(slices.Compact(slices.Clone(got.Components))) != len(got.Components) {
		t.Fatalf("%q: components %v are not sorted and unique", text, got.Components)
	}
	counted := map[string]bool{}
	for i, m := range got.Matches {
		if m.Start < 0 || m.End > len(text) || m.Start >= m.End || text[m.Start:m.End] != m.Surface {
			t.Fatalf("%q: match %d spans %d to %d, surface %q", text, i, m.Start, m.End, m.Surface)
		}
		if i > 0 && m.Start < got.Matches[i-1].Start {
			t.Fatalf("%q: match %d stands before match %d", text, i, i-1)
		}
		if m.Note == "" || m.Entry == "" {
			t.Fatalf("%q: match %d has no note or entry", text, i)
		}
		if m.Counted {
			counted[m.Component] = true
		}
		if _, ok := slices.BinarySearch(r.ids, m.Component); !ok {
			t.Fatalf("%q: unknown component %q", text, m.Component)
		}
	}
	for _, c := range got.Components {
		if !counted[c] {
			t.Fatalf("%q: component %q has no counted match", text, c)
		}
	}
	if len(counted) != len(got.Components) {
		t.Fatalf("%q: counted %v, components %v", text, counted, got.Components)
	}
	for line := range strings.Lines(r.Explain(text, kind)) {
		if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > 80 {
			t.Fatalf("%q: explained in a line of %d columns: %q", text, n, line)
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, c := range clauses {
		f.Add(c, uint8(Text))
	}
	f.Add("volume/power buttons", uint8(Found))
	f.Add("caf\xe9 \xff\xfe screen\x00ok", uint8(Part))
	f.Add("not not not screen not ok not", uint8(Text))
	f.Add("l’écran n’affiche rien", uint8(Text))
	f.Add("akkuakkuakkuakkuakkuakku", uint8(Text))
	f.Add("defektTastatur", uint8(Text))
	r := builtin(f)
	f.Fuzz(func(t *testing.T, text string, kind uint8) {
		holds(t, r, text, Kind(kind%3))
	})
}

// Texts of 64 kB that would take minutes if any rule looked at all pairs of words; BenchmarkRead
// gives the times.
func TestLongTexts(t *testing.T) {
	r := builtin(t)
	for _, unit := range []string{"screen ", "not ", "and ", "akku", "no problem with ", "a", ",", "volume and ", "ok screen ", "under screen ", "tested battery and ", "\xff"} {
		holds(t, r, strings.Repeat(unit, 64<<10/len(unit)), Text)
	}
	var junk bytes.Buffer
	for i := range 64 << 10 {
		junk.WriteByte(byte(i * 7))
	}
	holds(t, r, junk.String(), Text)
}

func TestReadsTogether(t *testing.T) {
	r := builtin(t)
	var want [][]string
	for _, c := range clauses {
		want = append(want, r.Read(c, Text).Components)
	}
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			for range 20 {
				for i, c := range clauses {
					if got := r.Read(c, Text).Components; !slices.Equal(got, want[i]) {
						t.Errorf("%q reads %v beside others, %v alone", c, got, want[i])
					}
				}
			}
		})
	}
	all.Wait()
}

func BenchmarkRead(b *testing.B) {
	r := builtin(b)
	for _, bm := range []struct{ name, text string }{
		{"ten-words", "screen cracked after a drop, battery ok, customer wants quote"},
		{"unknown-words", "the gentleman from yesterday wanted everything back before closing time today"},
		{"german", "Ladebuchse ausgeleiert und Displayaustausch nötig, Akku in Ordnung"},
		{"part", "LCD assembly black"},
		{"64kB", strings.Repeat("the customer said the loudspeaker is quiet and the charging port loose. ", 900)},
	} {
		b.Run(bm.name, func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(int64(len(bm.text)))
			for b.Loop() {
				r.Read(bm.text, Text)
			}
		})
	}
}

func BenchmarkNew(b *testing.B) {
	for b.Loop() {
		builtin(b)
	}
}
