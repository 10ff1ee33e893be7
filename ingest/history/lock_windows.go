package history

import (
	"errors"
	"os"
	"syscall"
)

var errHeld = errors.New("held")

const errorSharingViolation syscall.Errno = 32

// openLocked opens the lock file so that nobody else can open it for writing until it is closed, or returns errHeld.
func openLocked(path string) (*os.File, error) {
	name, err := syscall.UTF16PtrFromString(path)
	if err != nil {
		return nil, err
	}
	h, err := syscall.CreateFile(name, syscall.GENERIC_READ|syscall.GENERIC_WRITE, syscall.FILE_SHARE_READ, nil,
		syscall.OPEN_ALWAYS, syscall.FILE_ATTRIBUTE_NORMAL, 0)
	if errors.Is(err, errorSharingViolation) {
		return nil, errHeld
	}
	if err != nil {
		return nil, &os.PathError{Op: "open", Path: path, Err: err}
	}
	return os.NewFile(uintptr(h), path), nil
}

// removeLocked closes first, since an open file cannot be removed here. A process that takes the lock in between keeps it:
// then the removal fails, which is no loss.
func removeLocked(path string, f *os.File) error {
	err := f.Close()
	_ = os.Remove(path)
	return err
}

// syncDir has no counterpart here: the file system writes its own journal.
func syncDir(string) error { return nil }
