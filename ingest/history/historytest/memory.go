// Package historytest gives tests of histories a place to work in.
package historytest

import (
	"os"
	"testing"
)

// MemoryDir is a folder that a sync costs nothing in, where the system has such a place; it goes when the test ends.
func MemoryDir(t testing.TB) string {
	dir, err := os.MkdirTemp("/dev/shm", "faultgrain-test-*")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	return dir
}
