package history

import (
	"errors"
	"fmt"
	"io/fs"
	"runtime"
	"syscall"
)

// windowsDiskFull is ERROR_DISK_FULL; the number means nothing on other systems.
const windowsDiskFull syscall.Errno = 112

// explain adds what to do to the failures a person can mend.
func explain(err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, syscall.ENOSPC), runtime.GOOS == "windows" && errors.Is(err, windowsDiskFull):
		return fmt.Errorf("%w: the disk is full; free some space and run it again (the history is as it was)", err)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return fmt.Errorf("%w: the folder can't be written; mend its permissions or name another with --history (the history is as it was)", err)
	}
	return err
}
