package demo

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"io"
	"math"
	"testing"
)

func TestBulkIsACSVWithEveryTicketOnce(t *testing.T) {
	for _, opt := range []BulkOptions{{Tickets: 3_000}, {Tickets: 3_000, Texts: true}, {Tickets: 3_000, Personal: true, Models: 20, Days: 60}} {
		var out bytes.Buffer
		n, err := Bulk(t.Context(), &out, opt)
		if err != nil || n != opt.Tickets {
			t.Fatalf("Bulk(%+v) = %d, %v", opt, n, err)
		}
		rows, err := csv.NewReader(&out).ReadAll() // refuses rows of another width
		if err != nil {
			t.Fatal(err)
		}
		seen := map[string]bool{}
		for _, r := range rows[1:] {
			seen[r[0]] = true
		}
		if len(seen) != opt.Tickets {
			t.Errorf("%d tickets, want %d", len(seen), opt.Tickets)
		}
	}
}

// With nothing in it, the share of displays is the same in the first and the second half.
func TestBulkHoldsNothing(t *testing.T) {
	var out bytes.Buffer
	const n = 40_000
	if _, err := Bulk(t.Context(), &out, BulkOptions{Tickets: n, Seed: 5}); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&out).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var half [2]float64
	for i, r := range rows[1:] {
		if r[9] == "display" {
			half[i*2/n]++
		}
	}
	want := 0.28 * n / 2
	for i, got := range half {
		if z := (got - want) / math.Sqrt(want*0.72); math.Abs(z) > 4 {
			t.Errorf("half %d: %v displays, want about %v", i, got, want)
		}
	}
}

func TestBulkStopsWhenAsked(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Bulk(ctx, io.Discard, BulkOptions{Tickets: 10}); !errors.Is(err, context.Canceled) {
		t.Errorf("err = %v, want context.Canceled", err)
	}
}

func TestBulkTellsWhenTheDiskIsFull(t *testing.T) {
	if _, err := Bulk(t.Context(), full{}, BulkOptions{Tickets: 10}); !errors.Is(err, errFull) {
		t.Errorf("err = %v, want %v", err, errFull)
	}
}

var errFull = errors.New("no space left")

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errFull }

func BenchmarkBulk(b *testing.B) {
	b.ReportAllocs()
	if _, err := Bulk(b.Context(), io.Discard, BulkOptions{Tickets: b.N}); err != nil {
		b.Fatal(err)
	}
}
