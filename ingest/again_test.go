package ingest

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"faultgrain/ingest/history"
)

const firstExport = "ticket,opened,model,part,customer\n1,2026-01-05,Lark 7,display,Ann\n2,2026-01-06,Lark 8,battery,Bob\n3,2026-01-07,Lark 8,,Cid\n"

func files(t *testing.T, dir string) []string {
	t.Helper()
	var out []string
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			info, err := d.Info()
			if err != nil {
				return err
			}
			out = append(out, fmt.Sprintf("%s %d", path, info.Size()))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// The same file again changes nothing at all.
func TestSameFileAgain(t *testing.T) {
	dir, log := t.TempDir(), write(t, "log.csv", firstExport)
	ingest(t, dir, Options{}, log)
	before := files(t, dir)
	sum := ingest(t, dir, Options{}, log)
	if f := sum.Files[0]; f.Duplicate != 3 || f.Accepted != 0 || !f.Known || sum.Visits != 3 {
		t.Errorf("again: %+v, %d visits; want 3 duplicates", f, sum.Visits)
	}
	same(t, "files", files(t, dir), before)
}

// A later export replaces the tickets that changed and leaves the others alone.
func TestLaterExport(t *testing.T) {
	dir := t.TempDir()
	ingest(t, dir, Options{}, write(t, "january.csv", firstExport))
	later := strings.Replace(firstExport, "Lark 8,,Cid", "Lark 8,fan,Cid", 1) + "4,2026-02-01,Lark 9,hinge,Dora\n"
	sum := ingest(t, dir, Options{}, write(t, "february.csv", later))
	if sum.Visits != 4 || sum.New != 1 || sum.Replaced != 1 || sum.Unchanged != 2 || sum.Files[0].Duplicate != 2 || sum.Files[0].Accepted != 2 || sum.Files[0].Replaced != 1 {
		t.Errorf("summary %+v", sum)
	}
	same(t, "parts", table(t, dir, "parts", "ticket, component"), []string{"1 | display", "2 | battery", "3 | fan", "4 | hinge"})
	same(t, "visits", table(t, dir, "visits", "ticket"), []string{"1", "2", "3", "4"})
}

// A known log beside a new one that shares a ticket with it is read again: the ticket is put
// together from both.
func TestKnownLogSharesTicket(t *testing.T) {
	dir, log := t.TempDir(), write(t, "log.csv", firstExport)
	ingest(t, dir, Options{}, log)
	more := write(t, "more.csv", "ticket,part\n1,hinge\n")
	sum := ingest(t, dir, Options{}, log, more)
	if sum.Replaced != 1 || sum.Files[0].Duplicate+sum.Files[0].Accepted != 3 {
		t.Errorf("summary %+v", sum)
	}
	same(t, "parts", table(t, dir, "parts", "ticket, component"), []string{"1 | display", "1 | hinge", "2 | battery"})
}

// A log read another way is worth reading again.
func TestOtherReading(t *testing.T) {
	dir, log := t.TempDir(), write(t, "log.csv", "ticket,opened,model,part\n1,2026-01-05,Lark 7,wobblestick\n")
	ingest(t, dir, Options{}, log)
	own := write(t, "components.toml", "[components.wobblestick]\nwords.en = [\"wobblestick\"]\n")
	sum := ingest(t, dir, Options{Components: own}, log)
	if sum.Replaced != 1 || sum.Visits != 1 {
		t.Errorf("summary %+v, want the ticket replaced", sum)
	}
	same(t, "faults", table(t, dir, "faults", "component"), []string{"wobblestick"})
}

func refusals(t *testing.T, dir string) []string {
	t.Helper()
	h, err := history.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	err = h.Refusals(t.Context(), func(r *history.Refusal) error {
		out = append(out, fmt.Sprintf("%s:%d %s %s: found %q, want %s; %s", r.File, r.Line, r.Column, r.Reason, r.Found, r.Want, r.Raw))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(out)
	return out
}

// A quarantined row keeps its place and reason, shows nothing personal, and is cleared by a corrected one.
func TestQuarantine(t *testing.T) {
	dir := t.TempDir()
	log := write(t, "log.csv", `ticket,opened,model,customer,serial,fault,part
,2026-01-05,Lark 7,Ann Planted,SN1234567,screen of Ann Planted,display
2,,Lark 7,Ann Planted,,,
3,31/02/2026,Lark 7,Ann Planted,,,
4,Ann Planted,Lark 7,,,,
5,2026-01-05,,Ann Planted,,,"a, b"
6,2026-01-05,Lark 7,Ann Planted,x,y,z,too much
7,2026-01-05,Lark 7,Ann Planted,,,
8,2026-01-05,Lark 7
`)
	sum := ingest(t, dir, Options{}, log)
	if f := sum.Files[0]; f.Read != 8 || f.Accepted != 2 || f.Quarantined != 6 || f.Ragged != 1 || sum.Quarantined != 6 {
		t.Errorf("summary %+v", sum)
	}
	same(t, "quarantine", refusals(t, dir), []string{
		`log.csv:2 ticket missing: found "", want the ticket's number; ,2026-01-05,Lark 7,***,***,***,display`,
		`log.csv:3 opened missing: found "", want the date the device came in; 2,,Lark 7,***,,,`,
		`log.csv:4 opened bad-date: found "31/02/2026", want a day that exists, such as 2026-02-28; 3,31/02/2026,Lark 7,***,,,`,
		`log.csv:5 opened bad-date: found "a text of 11 characters", want a day that exists, such as 2026-02-28; ***`,
		`log.csv:6 model missing: found "", want the model, or at least the maker or the class; 5,2026-01-05,,***,,,"a, b"`,
		`log.csv:7  ragged: found "cells: 8", want 7 cells, as the header has; put quotes around a cell that holds the delimiter or a line break; ***`,
	})
	corrected := write(t, "corrected.csv", "ticket,opened,model\n2,2026-01-06,Lark 7\n3,2026-02-28,Lark 7\n6,2026-01-05,Lark 7\n")
	sum = ingest(t, dir, Options{}, corrected)
	if sum.Quarantined != 3 || sum.Visits != 5 {
		t.Errorf("after the correction %d quarantined and %d visits, want 3 and 5", sum.Quarantined, sum.Visits)
	}
}

// What can't be a log gives one line with the file and what to do, and leaves the history as it was.
func TestBadInput(t *testing.T) {
	folder := t.TempDir()
	good := write(t, "good.csv", firstExport)
	for _, tc := range []struct{ name, path, want string }{
		{"missing", filepath.Join(folder, "none.csv"), "no such file"},
		{"folder", folder, "is a folder"},
		{"empty", write(t, "empty.csv", ""), "is empty"},
		{"header only", write(t, "header.csv", "ticket,opened,model\n"), "no row below it"},
		{"no log", write(t, "other.csv", "alpha,beta\n1,2\n"), "faultgrain columns"},
		{"no ticket column", write(t, "half.csv", "opened,model\n2026-01-05,Lark 7\n"), "ticket"},
		{"no device column", write(t, "half2.csv", "ticket,opened\n1,2026-01-05\n"), "model"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			for _, with := range [][]string{{tc.path}, {good, tc.path}} {
				if tc.name == "no device column" && len(with) == 2 {
					continue // its rows may add to the tickets of the other log
				}
				dir := filepath.Join(t.TempDir(), "deep", "history")
				_, err := Run(t.Context(), with, Options{History: dir})
				if err == nil || !strings.Contains(err.Error(), tc.want) || !strings.Contains(err.Error(), tc.path) || strings.Contains(err.Error(), "\n") {
					t.Fatalf("error %v, want one line with %q and %q", err, tc.path, tc.want)
				}
				if _, err := os.Stat(filepath.Dir(dir)); err == nil {
					t.Error("a folder was made for the history")
				}
			}
		})
	}
}

// A row that stands as it stood in the last export is read anew where it reads otherwise now.
func TestRowsThatReadOtherwise(t *testing.T) {
	const plain = "ticket,opened,model,fault\n1,2026-01-05,Mowe 3,the flurb is bent\n2,2026-01-06,Mowe 3,battery flat\n"
	flurb := write(t, "flurb.toml", "[components.flurb]\nwords.en = [\"flurb\"]\n")
	for _, tc := range []struct {
		name, first, second string
		opt                 Options // of the second
		replaced, unchanged int64
	}{
		{"nothing else", plain, plain + "3,2026-02-01,Lark 9,\n", Options{}, 0, 2},
		{"another lexicon", plain, plain, Options{Components: flurb}, 1, 1},
		{"accents learnt", plain, plain + "3,2026-02-01,Möwe 3,\n", Options{}, 2, 0},
		{"month first", "ticket,opened,model\n1,03/04/2026,Lark 7\n2,13/04/2026,Lark 7\n", "ticket,opened,model\n1,03/04/2026,Lark 7\n3,04/13/2026,Lark 7\n", Options{}, 1, 0},
		{"other headers", "ticket,opened,ready,model\n1,2026-01-05,2026-01-06,Lark 7\n", "ticket,ready,opened,model\n1,2026-01-05,2026-01-06,Lark 7\n", Options{}, 1, 0},
		{"other columns", "ticket,opened,model\n1,2026-01-05,Lark 7\n", "model,ticket,opened\nLark 7,1,2026-01-05\n", Options{}, 0, 1},
	} {
		t.Run(tc.name, func(t *testing.T) {
			dir := t.TempDir()
			ingest(t, dir, Options{}, write(t, "first.csv", tc.first))
			sum := ingest(t, dir, tc.opt, write(t, "second.csv", tc.second))
			if sum.Replaced != tc.replaced || sum.Unchanged != tc.unchanged {
				t.Errorf("%d replaced, %d unchanged, want %d and %d", sum.Replaced, sum.Unchanged, tc.replaced, tc.unchanged)
			}
		})
	}
}

// A ticket of which a row is refused is read anew every time: the row is refused every time.
func TestRefusedRowsAreRefusedAgain(t *testing.T) {
	const log = "ticket,opened,model,part\n1,2026-01-05,Lark 7,display\n1,yesterday,Lark 7,battery\n"
	dir := t.TempDir()
	ingest(t, dir, Options{}, write(t, "first.csv", log))
	sum := ingest(t, dir, Options{}, write(t, "second.csv", log+"2,2026-02-01,Lark 7,fan\n"))
	if f := sum.Files[0]; f.Quarantined != 1 || f.Duplicate != 1 || f.Accepted != 1 || sum.Quarantined != 1 {
		t.Errorf("%+v, %d in quarantine", f, sum.Quarantined)
	}
}

// Rows with fewer cells than the header are counted, read anew or not.
func TestShortRowsAreCountedAgain(t *testing.T) {
	const log = "ticket,opened,model,part\n1,2026-01-05,Lark 7\n"
	dir := t.TempDir()
	ingest(t, dir, Options{}, write(t, "first.csv", log))
	sum := ingest(t, dir, Options{}, write(t, "second.csv", log+"2,2026-02-01,Lark 7,fan\n"))
	if f := sum.Files[0]; f.Ragged != 1 || f.Duplicate != 1 {
		t.Errorf("%+v, want one short row", f)
	}
}
