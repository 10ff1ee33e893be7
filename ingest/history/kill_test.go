package history

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"faultgrain/ingest/history/historytest"
)

// killEnv names the history that the re-executed test binary writes until it is killed.
const killEnv = "FAULTGRAIN_TEST_KILL"

func TestMain(m *testing.M) {
	if dir := os.Getenv(killEnv); dir != "" {
		fmt.Fprintln(os.Stderr, ingestForever(dir))
		os.Exit(1)
	}
	os.Exit(m.Run())
}

const killTickets = 20

// ingestForever writes what ingest k writes, for k = 1, 2, ..., each time reading from the history how far it is.
func ingestForever(dir string) error {
	ctx := context.Background()
	fmt.Println("ready")
	for {
		tx, err := Begin(ctx, dir, nil)
		if err != nil {
			return err
		}
		k := len(tx.base.Sources) + 1
		if err := ingestNumber(tx, k); err != nil {
			return err
		}
		name := fmt.Sprint("log ", k)
		if err := tx.Commit(ctx, []SourceRecord{{SHA256: name, Name: name}}); err != nil {
			return err
		}
		if _, err := Compact(ctx, dir, nil); err != nil {
			return err
		}
	}
}

func ingestNumber(tx *Tx, k int) error {
	for part := range 2 {
		s, err := tx.NewSegment()
		if err != nil {
			return err
		}
		for i := part; i < killTickets; i += 2 {
			if (i+k)%3 != 0 {
				continue
			}
			ticket := fmt.Sprintf("T%02d", i)
			hash := tx.TicketHash(nil, []byte(ticket))
			old, seen, err := tx.Lookup(hash)
			if err != nil {
				return err
			}
			if seen {
				if err := s.Retire(old); err != nil {
					return err
				}
			}
			n, err := s.AppendVisit(&Visit{Ticket: ticket, Model: fmt.Sprint("Lark ", k)}, hash, uint64(k))
			if err != nil {
				return err
			}
			if err := s.AppendFault(n, ticket, "", "battery", "part"); err != nil {
				return err
			}
		}
	}
	return nil
}

// afterIngests is what current reads after k of them.
func afterIngests(k int) []string {
	var lines []string
	for i := range killTickets {
		for last := k; last > 0 && last > k-3; last-- {
			if (i+last)%3 == 0 {
				lines = append(lines, fmt.Sprintf("T%02d|Lark %d||faults T%02d battery", i, last, i))
			}
		}
	}
	return lines
}

// A process killed at any moment leaves the history as it was before its commit or after it, and the next one goes on from there.
func TestKilledAnywhere(t *testing.T) {
	kills := 100
	if testing.Short() {
		kills = 12
	}
	if text := os.Getenv("FAULTGRAIN_TORTURE"); text != "" { // make torture sets how many times as many
		more, err := strconv.Atoi(text)
		if err != nil || more < 1 {
			t.Fatalf("FAULTGRAIN_TORTURE is %q, want a number from 1 on", text)
		}
		kills *= more
	}
	dir := filepath.Join(historytest.MemoryDir(t), "h")
	rng := rand.New(rand.NewPCG(4, 2))
	// The first ingest is ours, and tells how long one takes here: a kill comes within the next two or so.
	begun := time.Now()
	tx := begin(t, dir)
	if err := ingestNumber(tx, 1); err != nil {
		t.Fatal(err)
	}
	commit(t, tx, SourceRecord{SHA256: "log 1", Name: "log 1"})
	within := max(40*time.Millisecond, 2*time.Since(begun))
	var interrupted, moving int
	for n := range kills {
		killOnce(t, dir, time.Duration(rng.Float64()*float64(within)))
		i, m := leftovers(t, dir)
		interrupted, moving = interrupted+i, moving+m
		h, err := Open(dir)
		if err != nil {
			t.Fatalf("after kill %d: %v", n+1, err)
		}
		k := len(h.Manifest.Sources)
		if got := current(t, dir); !slices.Equal(got, afterIngests(k)) {
			t.Fatalf("after kill %d and %d ingests: got %q, want %q", n+1, k, got, afterIngests(k))
		}
		if problems, err := Verify(t.Context(), dir); err != nil || len(problems) > 0 {
			t.Fatalf("after kill %d: verify found %v, %v", n+1, problems, err)
		}
	}
	h, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d kills, %d within a transaction, %d of them with files on the move; %d ingests in %d commits got through",
		kills, interrupted, moving, len(h.Manifest.Sources), h.Manifest.Ingests)
	if interrupted == 0 || h.Manifest.Ingests < 2 {
		t.Error("the kills came too early or too late to prove anything")
	}
	begin(t, dir).Rollback()
	if i, _ := leftovers(t, dir); i > 0 {
		t.Error("Begin did not remove what the last kill left")
	}
}

func killOnce(t *testing.T, dir string, after time.Duration) {
	t.Helper()
	child := exec.Command(os.Args[0])
	child.Env = append(os.Environ(), killEnv+"="+dir)
	var said strings.Builder
	child.Stderr = &said
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := out.Read(make([]byte, 6)); err != nil {
		t.Fatalf("the child did not start: %v: %s", err, said.String())
	}
	time.Sleep(after)
	if err := child.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = child.Wait() // killed
	if said.Len() > 0 {
		t.Fatalf("the child failed by itself: %s", said.String())
	}
}

// leftovers counts the folders of interrupted transactions, and those of them that had begun to move files.
func leftovers(t *testing.T, dir string) (interrupted, moving int) {
	t.Helper()
	all, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	}
	for _, e := range all {
		if strings.HasPrefix(e.Name(), tempPrefix) {
			interrupted++
			if len(readJournal(filepath.Join(dir, e.Name()))) > 0 {
				moving++
			}
		}
	}
	return interrupted, moving
}
