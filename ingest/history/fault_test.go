package history

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"faultgrain/ingest/history/historytest"
)

// fill writes a history of three ingests: 0 to 9, 5 to 12, 3 and 20.
func fill(t *testing.T, dir string) {
	t.Helper()
	for i, tickets := range [][]int{{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, {5, 6, 7, 8, 9, 10, 11, 12}, {3, 20}} {
		tx := begin(t, dir)
		ingestLog(t, tx, i, tickets)
		commit(t, tx, SourceRecord{SHA256: fmt.Sprint("sha", i), Name: fmt.Sprintf("log%d.csv", i)})
	}
}

func ingestLog(t *testing.T, tx *Tx, number int, tickets []int) {
	t.Helper()
	s := segment(t, tx)
	for _, n := range tickets {
		put(t, tx, s, ticketLine{ticket: fmt.Sprintf("%02d", n), model: fmt.Sprint("Lark ", number), faults: []string{"battery"}})
	}
}

// Whatever of a commit's files stands in place when the process dies, the history is the one before.
func TestStoppedBetweenMoves(t *testing.T) {
	for _, ingests := range []int{0, 1} {
		for stop := range 9 {
			t.Run(fmt.Sprintf("after %d ingests, %d files moved", ingests, stop), func(t *testing.T) {
				dir := historytest.MemoryDir(t)
				var before []string
				if ingests > 0 {
					fill(t, dir)
					before = current(t, dir)
				}
				tx := begin(t, dir)
				ingestLog(t, tx, 7, []int{1, 30})
				m, moves, err := tx.finish(t.Context(), nil)
				if err != nil {
					t.Fatal(err)
				}
				places, err := tx.stage(m, moves)
				if err != nil {
					t.Fatal(err)
				}
				if err := tx.move(places[:min(stop, len(places))], moves); err != nil {
					t.Fatal(err)
				}
				if err := tx.lock.f.Close(); err != nil { // the process dies here
					t.Fatal(err)
				}
				if ingests > 0 {
					if problems, err := Verify(t.Context(), dir); err != nil || len(problems) > 0 {
						t.Errorf("verify: %v, %v", problems, err)
					}
					if got := current(t, dir); !slices.Equal(got, before) {
						t.Errorf("got %q, want %q", got, before)
					}
				}
				next := begin(t, dir)
				ingestLog(t, next, 8, []int{1, 31})
				commit(t, next)
				if problems, err := Verify(t.Context(), dir); err != nil || len(problems) > 0 {
					t.Errorf("verify after the next ingest: %v, %v", problems, err)
				}
				if got := current(t, dir); len(before) > 0 && len(got) != len(before)+1 {
					t.Errorf("got %q", got)
				}
			})
		}
	}
}

// diskWith lets so many bytes through, over all files, and is full then.
type diskWith struct{ left int }

func (d *diskWith) wrap(w io.Writer) io.Writer {
	return writerFunc(func(p []byte) (int, error) {
		if d.left < len(p) {
			return 0, &os.PathError{Op: "write", Path: "x", Err: syscall.ENOSPC}
		}
		d.left -= len(p)
		return w.Write(p)
	})
}

type writerFunc func([]byte) (int, error)

func (f writerFunc) Write(p []byte) (int, error) { return f(p) }

func TestDiskFullAnywhere(t *testing.T) {
	dir := historytest.MemoryDir(t)
	fill(t, dir)
	before, files := current(t, dir), listing(t, dir)
	full := 0
	for room := 0; ; room += 700 {
		tx := begin(t, dir)
		tx.wrap = (&diskWith{left: room}).wrap
		s := segment(t, tx)
		put(t, tx, s, ticketLine{ticket: "01", model: "Lark 7", parts: []string{"battery"}})
		err := tx.Commit(t.Context(), nil)
		if err == nil {
			break
		}
		full++
		if !errors.Is(err, syscall.ENOSPC) || strings.Count(err.Error(), "disk is full") != 1 {
			t.Fatalf("got %v, want one that says once that the disk is full", err)
		}
		if got := listing(t, dir); !slices.Equal(got, files) {
			t.Fatalf("with %d bytes: files %q, want %q", room, got, files)
		}
		if got := current(t, dir); !slices.Equal(got, before) {
			t.Fatalf("with %d bytes: got %q, want %q", room, got, before)
		}
	}
	if full < 5 {
		t.Errorf("the disk was full only %d times", full)
	}
}

// listing is every file below dir with its size.
func listing(t *testing.T, dir string) []string {
	t.Helper()
	var all []string
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		all = append(all, fmt.Sprint(strings.TrimPrefix(path, dir), " ", info.Size()))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func TestReadOnlyFolder(t *testing.T) {
	if runtime.GOOS == "windows" || os.Geteuid() == 0 {
		t.Skip("this user may write anywhere")
	}
	dir := t.TempDir()
	fill(t, dir)
	if err := os.Chmod(dir, 0o500); err != nil {
		t.Fatal(err)
	}
	defer os.Chmod(dir, 0o700)
	if _, err := Begin(t.Context(), dir, nil); !errors.Is(err, fs.ErrPermission) || !strings.Contains(err.Error(), "--history") {
		t.Errorf("got %v", err)
	}
}

func TestHistoryIsAFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "h")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Begin(t.Context(), path, nil); err == nil || !strings.Contains(err.Error(), "is a file") {
		t.Errorf("got %v", err)
	}
}

func TestOneWriterAtATime(t *testing.T) {
	dir := t.TempDir()
	tx := begin(t, dir)
	_, err := Begin(t.Context(), dir, nil)
	if !errors.Is(err, ErrLocked) || !strings.Contains(err.Error(), fmt.Sprint(os.Getpid())) || !strings.Contains(err.Error(), "old") {
		t.Errorf("got %v, want ErrLocked with the pid and the age", err)
	}
	tx.Rollback()
	begin(t, dir).Rollback()
}

func TestLockOfTheDeadIsTakenOver(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, lockName), []byte("4242\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	var said bytes.Buffer
	tx, err := Begin(t.Context(), dir, slog.New(slog.NewTextHandler(&said, nil)))
	if err != nil {
		t.Fatal(err)
	}
	tx.Rollback()
	if !strings.Contains(said.String(), "4242") {
		t.Errorf("the log says %q, want the old pid in it", said.String())
	}
}

// A clock set back: what was written lies in the future. Nothing goes by that, and a lock has no age below zero.
func TestClockSetBack(t *testing.T) {
	dir := historytest.MemoryDir(t)
	fill(t, dir)
	before := current(t, dir)
	ahead := time.Now().Add(1000 * time.Hour)
	err := filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		return errors.Join(err, os.Chtimes(path, ahead, ahead))
	})
	if err != nil {
		t.Fatal(err)
	}
	tx := begin(t, dir)
	if err := os.Chtimes(filepath.Join(dir, lockName), ahead, ahead); err != nil {
		t.Fatal(err)
	}
	if _, err := Begin(t.Context(), dir, nil); !errors.Is(err, ErrLocked) || strings.Contains(err.Error(), "old") {
		t.Errorf("got %v, want ErrLocked without an age", err)
	}
	ingestLog(t, tx, 9, []int{50})
	commit(t, tx)
	if got := current(t, dir); len(got) != len(before)+1 {
		t.Errorf("got %q, want one ticket more than %q", got, before)
	}
	if problems, err := Verify(t.Context(), dir); err != nil || len(problems) > 0 {
		t.Errorf("verify: %v, %v", problems, err)
	}
}

func TestKeyIsGuarded(t *testing.T) {
	dir := t.TempDir()
	fill(t, dir)
	key := filepath.Join(dir, keyName)
	text, err := os.ReadFile(key)
	if err != nil {
		t.Fatal(err)
	}
	refused := func(name, want string) {
		t.Helper()
		if tx, err := Begin(t.Context(), dir, nil); err == nil || !strings.Contains(err.Error(), want) {
			if err == nil {
				tx.Rollback()
			}
			t.Errorf("%s: got %v, want %q", name, err, want)
		}
		if problems, err := Verify(t.Context(), dir); err != nil || len(problems) != 1 || problems[0].File != keyName {
			t.Errorf("%s: verify: %v, %v", name, problems, err)
		}
	}
	if runtime.GOOS != "windows" {
		if info, err := os.Stat(key); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("mode %v, %v, want 0600", info.Mode(), err)
		}
		if err := os.Chmod(key, 0o640); err != nil {
			t.Fatal(err)
		}
		refused("readable by the group", "chmod 600")
	}
	for name, c := range map[string]struct {
		text []byte
		want string
	}{
		"another key": {freshSecret().text(), "is not the key"},
		"cut short":   {text[:20], "damaged"},
	} {
		if err := errors.Join(os.Remove(key), os.WriteFile(key, c.text, 0o600)); err != nil {
			t.Fatal(err)
		}
		refused(name, c.want)
	}
	if err := os.Remove(key); err != nil {
		t.Fatal(err)
	}
	refused("gone", "missing")
	if err := os.WriteFile(key, text, 0o600); err != nil {
		t.Fatal(err)
	}
	begin(t, dir).Rollback()
}

// RFC 2104, section 2, written out: H(K xor opad, H(K xor ipad, text)).
func TestKeysAreHMAC(t *testing.T) {
	s := freshSecret()
	var ipad, opad [64]byte
	for i := range ipad {
		ipad[i], opad[i] = 0x36, 0x5c
	}
	for i, b := range s.raw {
		ipad[i] ^= b
		opad[i] ^= b
	}
	for _, serial := range []string{"A", "356938035643809", strings.Repeat("long ", 100), "A"} {
		inner := sha256.Sum256(append(ipad[:], "device\x00"+serial...))
		mac := sha256.Sum256(append(opad[:], inner[:]...))
		if got := s.key("device", serial); !bytes.Equal(got[:], mac[:16]) {
			t.Errorf("serial of %d bytes: not its HMAC", len(serial))
		}
	}
	if s.key("device", "A") == s.key("technician", "A") {
		t.Error("a serial and a name that read alike share a key")
	}
	if !s.key("device", "").IsZero() {
		t.Error("no serial gave a key")
	}
	if s.ticketHash([]byte("ab"), []byte("c")) == s.ticketHash([]byte("a"), []byte("bc")) {
		t.Error("shop and ticket run into each other")
	}
}

func TestVerifyFindsAndIngestMends(t *testing.T) {
	flip := func(path string) error {
		raw, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		raw[len(raw)/2] ^= 4
		return os.WriteFile(path, raw, 0o600)
	}
	cases := map[string]struct {
		file   string
		damage func(string) error
		what   string
	}{
		"flipped byte in visits": {"visits/seg-000002.parquet", flip, Changed},
		"flipped byte in faults": {"faults/seg-000002.parquet", flip, Changed},
		"cut short":              {"visits/seg-000002.parquet", func(p string) error { return os.Truncate(p, 100) }, Changed},
		"missing visits":         {"visits/seg-000002.parquet", os.Remove, Missing},
		"missing replaced":       {"replaced/seg-000002.parquet", os.Remove, Missing},
		"another segment's file": {"visits/seg-000002.parquet", func(p string) error {
			raw, err := os.ReadFile(filepath.Join(filepath.Dir(p), "seg-000001.parquet"))
			return errors.Join(err, os.WriteFile(p, raw, 0o600))
		}, Changed},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			dir := historytest.MemoryDir(t)
			fill(t, dir)
			before := current(t, dir)
			if err := c.damage(filepath.Join(dir, filepath.FromSlash(c.file))); err != nil {
				t.Fatal(err)
			}
			problems, err := Verify(t.Context(), dir)
			if err != nil || len(problems) != 1 || problems[0].File != c.file || problems[0].What != c.what ||
				!strings.Contains(problems[0].Error(), "ingest log1.csv again") {
				t.Fatalf("verify: %v, %v", problems, err)
			}
			tx := begin(t, dir)
			if _, known, err := tx.Known(t.Context(), "sha0"); err != nil || !known {
				t.Errorf("a log whose segments are whole: known %v, %v", known, err)
			}
			if _, known, err := tx.Known(t.Context(), "sha1"); err != nil || known {
				t.Errorf("a log whose segment is damaged: known %v, %v", known, err)
			}
			ingestLog(t, tx, 1, []int{5, 6, 7, 8, 9, 10, 11, 12})
			commit(t, tx, SourceRecord{SHA256: "sha1", Name: "log1.csv"})
			if got := current(t, dir); !slices.Equal(got, before) {
				t.Errorf("got %q, want %q", got, before)
			}
			if problems, err := Verify(t.Context(), dir); err != nil || len(problems) > 0 {
				t.Errorf("verify after ingesting again: %v, %v", problems, err)
			}
		})
	}
}

func TestVerifyFindsForeignFilesAndAChangedManifest(t *testing.T) {
	dir := historytest.MemoryDir(t)
	fill(t, dir)
	raw, err := os.ReadFile(filepath.Join(dir, "visits", "seg-000001.parquet"))
	if err != nil {
		t.Fatal(err)
	}
	foreign := filepath.Join(dir, "visits", "seg-000004.parquet")
	if err := os.WriteFile(foreign, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	problems, err := Verify(t.Context(), dir)
	if err != nil || len(problems) != 1 || problems[0].What != Foreign || problems[0].File != "visits/seg-000004.parquet" {
		t.Fatalf("verify: %v, %v", problems, err)
	}
	tx := begin(t, dir)
	ingestLog(t, tx, 3, []int{40})
	commit(t, tx)
	if got, err := os.ReadFile(foreign); err != nil || !bytes.Equal(got, raw) {
		t.Errorf("an ingest touched a file that is not its own: %v", err)
	}
	manifest := filepath.Join(dir, manifestName)
	text, err := os.ReadFile(manifest)
	if err != nil {
		t.Fatal(err)
	}
	text = bytes.Replace(text, []byte(`"visits": 15`), []byte(`"visits": 75`), 1)
	if err := os.WriteFile(manifest, text, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Verify(t.Context(), dir); err == nil || !strings.Contains(err.Error(), "damaged") {
		t.Errorf("a changed manifest: got %v", err)
	}
}

// Two logs share a merged segment: when it is damaged, ingesting one again leaves the other named until it is ingested, too.
func TestLostLogsStayNamed(t *testing.T) {
	dir := historytest.MemoryDir(t)
	for i := range manySegments {
		tx := begin(t, dir)
		ingestLog(t, tx, i, []int{i, i + 20})
		commit(t, tx, SourceRecord{SHA256: fmt.Sprint("sha", i), Name: fmt.Sprintf("log%d.csv", i)})
	}
	before := current(t, dir)
	if did, err := Compact(t.Context(), dir, nil); err != nil || !did {
		t.Fatalf("compact: %v, %v", did, err)
	}
	if got := current(t, dir); !slices.Equal(got, before) {
		t.Fatalf("after compaction: got %q, want %q", got, before)
	}
	h, err := Open(dir)
	if err != nil || len(h.Manifest.Segments) != 1 {
		t.Fatalf("%d segments, %v, want 1", len(h.Manifest.Segments), err)
	}
	if err := os.Remove(h.Files(VisitsTable)[0]); err != nil {
		t.Fatal(err)
	}
	for i := range manySegments {
		tx := begin(t, dir)
		if _, known, err := tx.Known(t.Context(), fmt.Sprint("sha", i)); err != nil || known {
			t.Fatalf("log %d: known %v, %v", i, known, err)
		}
		ingestLog(t, tx, i, []int{i, i + 20})
		commit(t, tx, SourceRecord{SHA256: fmt.Sprint("sha", i), Name: fmt.Sprintf("log%d.csv", i)})
		problems, err := Verify(t.Context(), dir)
		if err != nil || len(problems) != manySegments-1-i {
			t.Fatalf("after log %d: %v, %v", i, problems, err)
		}
	}
	if got := current(t, dir); !slices.Equal(got, before) {
		t.Errorf("got %q, want %q", got, before)
	}
}
