package history

import (
	"errors"
	"fmt"
	"io/fs"
	"runtime"
	"syscall"
)

// windowsDiskFull is ERROR_DISK_FULL; the number means something else on other systems.
const windowsDiskFull syscall.Errno = 112

// An advised error has been told what to do about it.
type advised struct {
	error
	advice string
}

func (a *advised) Error() string { return a.error.Error() + ": " + a.advice }

func (a *advised) Unwrap() error { return a.error }

// explain adds, once, what to do to the failures a person can mend.
func explain(err error) error {
	var done *advised
	switch {
	case err == nil || errors.As(err, &done):
		return err
	case errors.Is(err, syscall.ENOSPC), runtime.GOOS == "windows" && errors.Is(err, windowsDiskFull):
		return &advised{err, "the disk is full; free some space and run it again (the history is as it was)"}
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return &advised{err, "the folder can't be written; mend its permissions or name another with --history (the history is as it was)"}
	}
	return err
}

// writing names the file in an error of writing it, unless the system has done so.
func writing(path string, err error) error {
	var named *fs.PathError
	if err == nil || errors.As(err, &named) {
		return err
	}
	return fmt.Errorf("write %s: %w", path, err)
}
