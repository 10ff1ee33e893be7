package history

import (
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

const lockName = "lock"

// ErrLocked is wrapped by the error of Begin when another process writes this history.
var ErrLocked = errors.New("history is in use")

// A lock is held through the operating system, which frees it when its process dies; the file left behind by a dead
// process is taken over.
type lock struct {
	path string
	f    *os.File
}

// takeLock locks dir or returns ErrLocked with the holder's pid and the age of its lock.
func takeLock(dir string, log *slog.Logger) (*lock, error) {
	path := filepath.Join(dir, lockName)
	for {
		f, err := openLocked(path)
		if errors.Is(err, errHeld) {
			return nil, lockedError(path)
		}
		if err != nil {
			return nil, fmt.Errorf("lock the history: %w", err)
		}
		if !stillThere(path, f) { // its holder removed it between our open and our lock
			_ = f.Close()
			continue
		}
		if left, err := io.ReadAll(f); err == nil && len(left) > 0 {
			log.Warn("taking over the lock of a process that ended without finishing", "pid", strings.TrimSpace(string(left)), "lock", path)
		}
		if err := errors.Join(f.Truncate(0), writeAt(f, strconv.Itoa(os.Getpid())+"\n")); err != nil {
			_ = f.Close()
			return nil, fmt.Errorf("lock the history: %w", err)
		}
		return &lock{path: path, f: f}, nil
	}
}

func writeAt(f *os.File, text string) error {
	_, err := f.WriteAt([]byte(text), 0)
	return err
}

func stillThere(path string, f *os.File) bool {
	a, err := os.Stat(path)
	if err != nil {
		return false
	}
	b, err := f.Stat()
	return err == nil && os.SameFile(a, b)
}

// lockedError describes the holder. The age is measured on the file system's own clock: a file touched now against the lock.
func lockedError(path string) error {
	pid := "unknown"
	if text, err := os.ReadFile(path); err == nil && len(text) > 0 {
		pid = strings.TrimSpace(string(text))
	}
	return fmt.Errorf("%w: process %s is writing %s%s; wait for it to finish", ErrLocked, pid, filepath.Dir(path), lockAge(path))
}

func lockAge(path string) string {
	held, err := os.Stat(path)
	if err != nil {
		return ""
	}
	probe, err := os.CreateTemp(filepath.Dir(path), ".age-*")
	if err != nil {
		return ""
	}
	now, err := probe.Stat()
	_ = probe.Close()
	_ = os.Remove(probe.Name())
	if err != nil {
		return ""
	}
	age := now.ModTime().Sub(held.ModTime()).Round(time.Second)
	if age < 0 {
		return "" // the clock was set back
	}
	return fmt.Sprintf(", its lock is %s old", age)
}

// release removes the lock file while still holding the lock, so that nobody can be shut out by a file without a holder.
func (l *lock) release() error {
	err := removeLocked(l.path, l.f)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	return err
}
