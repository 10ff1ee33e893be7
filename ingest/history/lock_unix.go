//go:build unix

package history

import (
	"errors"
	"os"
	"syscall"
)

var errHeld = errors.New("held")

// openLocked opens the lock file and takes an exclusive flock on it, or returns errHeld.
func openLocked(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	for {
		err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		if err != syscall.EINTR {
			break
		}
	}
	if err != nil {
		_ = f.Close()
		if err == syscall.EWOULDBLOCK {
			return nil, errHeld
		}
		return nil, err
	}
	return f, nil
}

// removeLocked removes the file first: whoever opens the path after that makes a new file.
func removeLocked(path string, f *os.File) error {
	return errors.Join(os.Remove(path), f.Close())
}

// syncDir makes renames within dir last.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
